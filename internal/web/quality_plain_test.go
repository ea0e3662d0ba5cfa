package web

import (
	"context"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"gaugewright/internal/browser"
	"gaugewright/internal/job"
)

// form is one form of a page as a browser without scripts has it: where each of
// its buttons sends it, and with what.
type form struct {
	Method, Action, Type, Button string
	Shown                        bool
	Fields                       [][2]string
}

// formsOf lists the forms of a page, once for each button that sends them; one
// without a button in sight is listed with none.
const formsOf = `(() => {
	document.querySelectorAll("details").forEach((d) => { d.open = true; });
	const list = [];
	for (const f of document.forms) {
		if (f.id === "keep" && document.querySelector("#key-in > .lead")) continue; // there are no numbers to keep
		const fields = [...new FormData(f)].filter(([, v]) => typeof v === "string");
		const buttons = [...f.elements].filter((b) => b.type === "submit" && !b.disabled && b.checkVisibility());
		for (const b of buttons.length ? buttons : [null]) {
			list.push({
				Method: (b?.getAttribute("formmethod") ?? f.method).toUpperCase(), Action: b?.getAttribute("formaction") ?? f.getAttribute("action") ?? "", Type: f.enctype,
				Button: b?.textContent.trim() ?? "", Shown: Boolean(b), Fields: b?.name ? [...fields, [b.name, b.value]] : fields,
			});
		}
	}
	return list;
})()`

// scriptOnly lists what can be seen though it does nothing without scripts.
const scriptOnly = `(() => { ` + named + ` return [...document.querySelectorAll(".scriptonly, button[type=button]")].filter(seen).map(named); })()`

// Without scripts every page says what it has to say, shows nothing that would do
// nothing, and each of its forms has a button and is understood where it is sent.
// The store refuses every change meanwhile, as a full disk does, so that no form
// changes the page of another.
func TestEveryPageWithoutScripts(t *testing.T) {
	g := everyLook(t)
	for _, store := range []*memory{g.store, g.kinds} {
		store.mu.Lock()
		store.fail = job.ErrFull
		store.mu.Unlock()
	}
	var looks []look
	for _, l := range g.looks {
		if !l.bare && (l.status != http.StatusOK || !l.again()) {
			looks = append(looks, l)
		}
	}
	prepare := func(ctx context.Context) error {
		browser.View(t, ctx, 390, 844, false) // it waits for a script of its own
		_, err := chromedp.Call(ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true})
		return err
	}
	client := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	inTurn(t, looks, prepare, func(t *testing.T, ctx context.Context, l look) {
		if err := chromedp.Do(ctx, chromedp.Navigate(l.url)); err != nil {
			t.Fatal(err)
		}
		if text := textOf(t, ctx, "main"); len(text) < 40 {
			t.Errorf("the page says no more than %q", text)
		}
		finds(t, ctx, "does nothing without scripts", scriptOnly)
		finds(t, ctx, "sideways", `document.documentElement.scrollWidth > 390 ? ["the page is " + document.documentElement.scrollWidth + " wide"] : []`)
		forms, err := chromedp.Run(ctx, chromedp.Evaluate[[]form](formsOf))
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range forms {
			if !f.Shown {
				t.Errorf("the form to %s has no button", f.Action)
				continue
			}
			f.isUnderstood(t, client, l.url)
		}
	})
}

// isUnderstood sends a form as it stands on its page.
func (f form) isUnderstood(t *testing.T, client *http.Client, page string) {
	t.Helper()
	base, err := url.Parse(page)
	if err != nil {
		t.Fatal(err)
	}
	to, err := base.Parse(f.Action)
	if err != nil {
		t.Errorf("the form goes to %q: %v", f.Action, err)
		return
	}
	fields := url.Values{}
	for _, kv := range f.Fields {
		fields.Add(kv[0], kv[1])
	}
	var r *http.Request
	switch {
	case f.Method == http.MethodGet:
		to.RawQuery = fields.Encode()
		r, err = http.NewRequest(http.MethodGet, to.String(), nil)
	default:
		r, err = http.NewRequest(f.Method, to.String(), strings.NewReader(fields.Encode()))
	}
	if err != nil {
		t.Fatal(err)
	}
	if f.Method != http.MethodGet {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		if f.Type == "multipart/form-data" {
			asUpload(t, r, []string{"a.json", "{}"})
		}
	}
	answer, err := client.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	answer.Body.Close()
	switch answer.StatusCode {
	case http.StatusOK, http.StatusSeeOther, http.StatusUnprocessableEntity, http.StatusInsufficientStorage, http.StatusUnauthorized, http.StatusConflict:
	default:
		t.Errorf("“%s”, %s to %s, is answered %s", f.Button, f.Method, to.Path, answer.Status)
	}
}
