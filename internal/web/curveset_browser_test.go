package web

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"gaugewright/internal/browser"
)

func runScript(t *testing.T, ctx context.Context, script string) {
	t.Helper()
	if err := chromedp.Do(ctx, chromedp.Evaluate[chromedp.Void](script)); err != nil {
		t.Fatalf("%s: %v", script, err)
	}
}

func scriptText(t *testing.T, ctx context.Context, script string) string {
	t.Helper()
	text, err := chromedp.Run(ctx, chromedp.Evaluate[string](script))
	if err != nil {
		t.Fatalf("%s: %v", script, err)
	}
	return text
}

// stepping moves a slider step by step and measures, for each, how long it is until
// what the server drew for it is on the screen: the task after the frame that shows
// it (HTML, "update the rendering"; a message posted in an animation frame comes
// after that frame was painted). Before each step it measures the same of a small
// file that is only fetched, which is what the machine needs for anything at all.
const stepping = `(async () => {
	const slider = document.getElementById("s-upper"), field = document.getElementById("n-upper");
	const rest = () => new Promise(done => setTimeout(done, 20));
	const frame = () => new Promise(done => requestAnimationFrame(() => {
		const c = new MessageChannel();
		c.port1.onmessage = () => done(performance.now());
		c.port2.postMessage(0);
	}));
	const least = [], took = [];
	for (let i = 0; i < %d; i++) {
		await rest();
		let from = performance.now();
		await (await fetch(document.querySelector("link[rel=icon]").href, {cache: "no-store"})).text();
		least.push(await frame() - from);
		await rest();
		const drawn = new Promise(done => document.addEventListener("drawn", done, {once: true}));
		from = performance.now();
		slider.value = 60 + i %% 60;
		slider.dispatchEvent(new Event("input", {bubbles: true}));
		await drawn;
		took.push(await frame() - from);
		if (!document.getElementById("trial").dataset.said.includes("and " + field.value + ":")) throw new Error("drawn for other numbers");
	}
	return [least, took];
})()`

// A step of a slider is on the screen within 50 ms, but for one in twenty. Where
// other work keeps the machine from being quick, what it needs for a small file is
// allowed on top.
func TestSliderIsQuick(t *testing.T) {
	b := open(t)
	id := b.start(sample(t))
	ctx := browser.Open(t)
	browser.View(t, ctx, 820, 1180, false)
	browser.Go(t, ctx, b.url+setPath(id, 1))
	measure := func(n int) (least, took []float64) {
		both, err := chromedp.Run(ctx, chromedp.Evaluate[[2][]float64](fmt.Sprintf(stepping, n), chromedp.EvalAwaitPromise))
		if err != nil {
			t.Fatal(err)
		}
		slices.Sort(both[0])
		slices.Sort(both[1])
		return both[0], both[1]
	}
	at := func(list []float64, pct int) float64 { return list[len(list)*pct/100] }
	measure(20) // the first ones compile the scripts
	for round := 1; ; round++ {
		least, took := measure(40)
		p50, p95 := at(took, 50), at(took, 95)
		t.Logf("%d steps: p50 %.1f ms, p95 %.1f ms; a small file alone: p50 %.1f ms, p95 %.1f ms", len(took), p50, p95, at(least, 50), at(least, 95))
		// In one of the rounds, with what the machine needed then.
		if p95 <= 50 || p50 <= 50+at(least, 50) && p95 <= 50+at(least, 95) {
			return
		}
		if round == 6 {
			t.Fatalf("a step takes %.1f ms (p50) and %.1f ms (p95); expected 50 ms", p50, p95)
		}
	}
}

// A quick hand asks more often than is answered: in the end what stands there is
// for the last numbers, and no two questions were on their way at a time.
func TestSliderLatestWins(t *testing.T) {
	b := open(t)
	id := b.start(sample(t))
	ctx := browser.Open(t)
	browser.Go(t, ctx, b.url+setPath(id, 1))
	runScript(t, ctx, `window.most = 0; window.open_ = 0; window.asked = 0;
		const real = window.fetch;
		window.fetch = async (...a) => { asked++; open_++; most = Math.max(most, open_); try { return await real(...a); } finally { open_--; } };
		const s = document.getElementById("s-upper");
		for (let v = 60; v <= 110; v++) { s.value = v; s.dispatchEvent(new Event("input", {bubbles: true})); }`)
	waitText(t, ctx, "#trial .said", "With 0 and 110: worst error")
	if got := scriptText(t, ctx, `most + " " + (asked < 10)`); got != "1 true" {
		t.Errorf("at most so many at a time, few in all: %s; expected 1 true", got)
	}
	// The best stays behind, and the outcome is told to who can't see it.
	if got := scriptText(t, ctx, `String(document.querySelectorAll("#trial .gw-ghost").length > 0)`); got != "true" {
		t.Error("the best numbers left no ghost")
	}
	waitText(t, ctx, "#heard", "With 0 and 110")
	if got := scriptText(t, ctx, `location.search`); !strings.Contains(got, "upper=110") {
		t.Errorf("the address is %s; loading it again would show other numbers", got)
	}
	// Letters are refused in the same place.
	runScript(t, ctx, `{const n = document.getElementById("n-lower"); n.value = "ten"; n.dispatchEvent(new Event("input", {bubbles: true}));}`)
	waitText(t, ctx, "#trial .fault", `At 0 %: "ten" isn’t a number`)
}

func TestSetPageByKeyboard(t *testing.T) {
	b := open(t)
	id := b.start(sample(t))
	ctx := browser.Open(t)
	browser.Go(t, ctx, b.url+setPath(id, 1))
	// The slider by its own keys, the field by the arrows.
	runScript(t, ctx, `document.getElementById("s-upper").focus()`)
	if err := chromedp.Do(ctx, chromedp.KeyEvent(kb.ArrowUp)); err != nil { // arrow up
		t.Fatal(err)
	}
	waitText(t, ctx, "#trial .said", "With 0 and 76:")
	runScript(t, ctx, `document.getElementById("n-lower").focus()`)
	if err := chromedp.Do(ctx, chromedp.KeyEvent(kb.ArrowUp)); err != nil {
		t.Fatal(err)
	}
	waitText(t, ctx, "#trial .said", "With 1 and 76:")
	if got := scriptText(t, ctx, `document.activeElement.id + " " + document.getElementById("s-lower").value`); got != "n-lower 1" {
		t.Errorf("after the arrow the focus and the slider are at %q", got)
	}
	// One's own numbers are kept without leaving the page.
	runScript(t, ctx, `document.querySelector("#trial [name=keyed]").click()`)
	waitText(t, ctx, "#key-in", "Kept in the job: 1 and 76.")
	if got := setOf(t, b.job(id), 1); got != "1:76" {
		t.Errorf("kept %s", got)
	}
	// Another scale is worked out without leaving the page, and stays chosen.
	runScript(t, ctx, `document.querySelector("[name=scale][value=mark]").click()`)
	waitText(t, ctx, "#key-in", "100 % = the dial's own scale")
	if got := scriptText(t, ctx, `document.querySelector("#keep-wish [name=scale]").value + location.search`); !strings.HasPrefix(got, "mark?") || !strings.Contains(got, "scale=mark") {
		t.Errorf("the choice isn't carried along: %s", got)
	}
	runScript(t, ctx, `document.querySelector("#keep-best [name=keyed]").click()`)
	for end := time.Now().Add(time.Minute); b.job(id).Tanks[0].Setting.Scale != "mark" && time.Now().Before(end); {
		time.Sleep(20 * time.Millisecond)
	}
	if got := b.job(id).Tanks[0].Setting; got.Scale != "mark" || got.By != "R. Fitter" {
		t.Errorf("kept %+v", got)
	}
}

// A table has no sliders; going there and back brings them again.
func TestSetPageFromEndsToTable(t *testing.T) {
	b := open(t)
	id := b.start(sample(t))
	ctx := browser.Open(t)
	browser.Go(t, ctx, b.url+setPath(id, 3))
	waitText(t, ctx, "#key-in", "Key in this table")
	runScript(t, ctx, `document.querySelector("[name=readout][value=two-point]").click()`)
	waitText(t, ctx, "#key-in", "at 100 %")
	runScript(t, ctx, `{const s = document.getElementById("s-lower"); s.value = 200; s.dispatchEvent(new Event("input", {bubbles: true}));}`)
	waitText(t, ctx, "#trial .said", "With 200 and ")
	runScript(t, ctx, `document.querySelector("[name=readout][value=table]").click()`)
	waitText(t, ctx, "#key-in", "Key in this table")
	if got := scriptText(t, ctx, `String(document.getElementById("own-form")) + document.querySelector("#trial .said").textContent.slice(0, 15)`); got != "nullWith this table" {
		t.Errorf("beside a table stands %q", got)
	}
}

// Without scripts the forms do the same.
func TestSetPageWithoutScripts(t *testing.T) {
	b := open(t)
	id := b.start(sample(t))
	ctx := browser.Open(t)
	if _, err := chromedp.Call(ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true}); err != nil {
		t.Fatal(err)
	}
	if err := chromedp.Do(ctx, chromedp.Navigate(b.url+setPath(id, 1))); err != nil {
		t.Fatal(err)
	}
	visible := func(sel string) {
		t.Helper()
		if err := chromedp.Do(ctx, chromedp.WaitVisible(sel)); err != nil {
			t.Fatalf("%s isn't there: %v", sel, err)
		}
	}
	visible(".by-hand button")
	press := func(sel string) {
		t.Helper()
		if err := chromedp.Do(ctx, chromedp.Click(sel)); err != nil {
			t.Fatalf("%s: %v", sel, err)
		}
	}
	if err := chromedp.Do(ctx, chromedp.SetValue("#n-lower", "3"), chromedp.SetValue("#n-upper", "98")); err != nil {
		t.Fatal(err)
	}
	press(".by-hand button")
	waitText(t, ctx, "#trial .said", "With 3 and 98: worst error 25.9 points")
	press(".keep-own button")
	waitText(t, ctx, "#key-in", "Kept in the job: 3 and 98.")
	if got := setOf(t, b.job(id), 1); got != "3:98" {
		t.Errorf("kept %s", got)
	}
	press("[name=readout][value=table]")
	press("#work-out")
	waitText(t, ctx, "#key-in", "Key in this table")
	press("#keep-best button")
	waitText(t, ctx, "#key-in", "Kept in the job: a table of")
	if got := b.job(id).Tanks[0].Setting.Readout; got != "table" {
		t.Errorf("kept a %s", got)
	}
}
