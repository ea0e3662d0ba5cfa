package web

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"gaugewright/internal/browser"
)

// A language is chosen with one press, stays on the device, and is the scripts' own
// as well.
func TestLanguageInABrowser(t *testing.T) {
	t.Parallel()
	books, _ := german(t)
	b := open(t, func(o *Options) { o.Languages = books })
	id := b.start(sample(t))
	ctx := browser.Open(t)
	browser.View(t, ctx, 820, 1000, false)
	browser.Go(t, ctx, b.url+"/words")
	if got := scriptText(t, ctx, `document.documentElement.lang`); got != "en" {
		t.Fatalf("the page begins in %q", got)
	}
	runScript(t, ctx, `document.querySelector(".languages [value=de]").click()`)
	if err := chromedp.Do(ctx, chromedp.WaitVisible(`html[lang=de]`)); err != nil {
		t.Fatal(err)
	}
	if got := scriptText(t, ctx, `document.querySelector(".languages [aria-current]").textContent`); got != "Deutsch" {
		t.Errorf("the choice shows %q", got)
	}
	browser.Go(t, ctx, b.url+jobPath(id)+"/1/bench")
	runScript(t, ctx, `document.getElementById("mark").value = ""; document.getElementById("takebutton").click()`)
	if err := chromedp.Do(ctx, chromedp.WaitVisible(`#said`)); err != nil {
		t.Fatal(err)
	}
	if got := scriptText(t, ctx, `document.getElementById("said").textContent`); got != "Erst die Marke angeben." {
		t.Errorf("the script says %q", got)
	}
	runScript(t, ctx, `document.getElementById("ohm").value = "36.2"; document.getElementById("mark").value = "40"; document.getElementById("mark").dispatchEvent(new Event("input", { bubbles: true }))`)
	if got := scriptText(t, ctx, `document.getElementById("takes").textContent`); !strings.Contains(got, "36,2") {
		t.Errorf("the button says %q; expected the figure with a comma", got)
	}
	for _, r := range browser.Blocked(ctx) {
		t.Errorf("blocked: %s", r)
	}
	for name, path := range map[string]string{"bench": "/1/bench", "curve": "/1/curve", "card": "", "set": "/1/set", "record": "/record"} {
		browser.Go(t, ctx, b.url+jobPath(id)+path)
		shoot(t, ctx, "german-"+name, 820, false)
		browser.NoSidewaysScroll(t, ctx, 320)
	}
}
