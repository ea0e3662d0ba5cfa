package web

import (
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"gaugewright/internal/browser"
)

// badPage breaks each rule that the audit asks about, once.
const badPage = `<!DOCTYPE html><html><head><title>Bad</title><meta name="viewport" content="width=device-width">
<style>:root { background: #eee; color: #ddd } * { outline: none !important } .slow { transition: all 1s } .wide { overflow: hidden; width: 50px; white-space: nowrap } .lid { position: relative } .lid i { position: absolute; inset: 0 }</style></head>
<body><nav></nav><nav></nav><header>head</header><main>
<h1>One</h1><h3 id="twice">Three</h3><p id="twice" class="slow evil">pale</p>
<form><input type="text" size="1"></form><button type="button" class="scriptonly">x</button>
<a href="/last" tabindex="-1">never reached</a><div><a href="/a">a</a></div><div class="lid"><b id="trap" tabindex="0">trap</b><i></i></div><a href="/b">b</a>
<p class="wide">longer than there is room for it on this line</p>
<svg width="50" height="20"><text y="10" fill="#ccc">pale</text></svg>
<img src="/nowhere.png" alt=""><script>alert(1); console.error("said"); document.getElementById("trap").addEventListener("keydown", (e) => e.preventDefault());</script></main></body></html>`

// The audit finds what is wrong with a page on which everything is.
func TestAuditSees(t *testing.T) {
	ctx := browser.Open(t)
	if _, err := chromedp.Call(ctx, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: listening}); err != nil {
		t.Fatal(err)
	}
	browser.View(t, ctx, 390, 844, false)
	browser.Go(t, ctx, browser.Serve(t, []byte(badPage)))
	sees := func(script string, wants ...string) {
		t.Helper()
		got := strings.Join(lines(t, ctx, script), "\n")
		for _, want := range wants {
			if !strings.Contains(got, want) {
				t.Errorf("not seen: %s, in\n%s", want, got)
			}
		}
	}
	sees(fmt.Sprintf(madeUp, false), "no language", "“Bad”", "after a heading of level 1", "landmarks of the same name", "nothing leads past", "the id twice")
	sees(evil, "slow evil", "<script>alert")
	sees("wrong", "alert was called: 1", "console: said", "not loaded:")
	sees(fmt.Sprintf(smallOnes, 48), "<input", "<button", `<a href="/a">`)
	sees(pale, "pale")
	sees(scriptOnly, "scriptonly")
	emulate := func(media string, name, value string) {
		t.Helper()
		if _, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: media, Features: []*emulation.MediaFeature{{Name: name, Value: value}}}); err != nil {
			t.Fatal(err)
		}
	}
	emulate("", "prefers-reduced-motion", "reduce")
	sees(moving, "slow")
	emulate("print", "prefers-color-scheme", "dark")
	sees(printed, "printed: <header", "printed: <form", "cut: <p", "the ground of HTML", "the ink is")
	emulate("", "prefers-color-scheme", "light")
	tabs(t, ctx)
	sees(tabbed, "can't be seen on <input", `Tab doesn't come to <a href="/b">`)
	sees(covered, `<b id="trap"`)
	if forms, err := chromedp.Run(ctx, chromedp.Evaluate[[]form](formsOf)); err != nil || len(forms) != 1 || forms[0].Shown {
		t.Errorf("forms: %+v, %v; expected one without a button", forms, err)
	}
}
