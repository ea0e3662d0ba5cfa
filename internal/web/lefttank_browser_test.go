package web

import (
	"fmt"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"gaugewright/internal/browser"
	"gaugewright/internal/history"
	"gaugewright/internal/watch"
)

// A value is read off by keyboard and by pointer, the page follows what is left, and
// asks for its drawing again when a part of it is over.
func TestLeftTankInBrowser(t *testing.T) {
	t.Parallel()
	w := stall(t)
	past := keptDay(dayBefore)
	w.past = past
	var ahead atomic.Int64
	b := open(t, w.options, func(o *Options) { o.Now = func() time.Time { return sunday.Add(time.Duration(ahead.Load())) } })
	ctx := browser.Open(t)
	browser.View(t, ctx, 820, 1180, false)
	browser.Go(t, ctx, b.url+"/left/fresh")
	runScript(t, ctx, `document.getElementById("at").focus()`)
	if err := chromedp.Do(ctx, chromedp.KeyEvent(kb.Home)); err != nil {
		t.Fatal(err)
	}
	waitText(t, ctx, "#at-said", "1 Nov, 09:30 · 45 % · 42 to 48 % · 40.5 L")
	if got := scriptText(t, ctx, `document.getElementById("at").getAttribute("aria-valuetext")`); !strings.Contains(got, "45 %") {
		t.Errorf("the slider is said to stand at %q", got)
	}
	// In the middle of the drawing, by a pointer: twelve hours on, where no level could be told.
	runScript(t, ctx, `{
		const plot = [...document.querySelectorAll(".plot")].find((p) => p.offsetWidth > 0);
		const box = plot.getBoundingClientRect();
		const middle = box.left + box.width * (Number(plot.dataset.left) + Number(plot.dataset.right)) / 200 + 5;
		plot.dispatchEvent(new PointerEvent("pointermove", { clientX: middle, clientY: box.top + 80, bubbles: true }));
	}`)
	waitText(t, ctx, "#at-said", "read, but no level: failure")
	w.sets(1, func(v *watch.Level) { *v = lost(*v, watch.BrokenWire, time.Minute) })
	waitText(t, ctx, "#tank-2-now", "No level")
	// Looked at again after an hour it is drawn anew; what was read off still is.
	ahead.Store(int64(time.Hour))
	past.mu.Lock()
	past.rolls = append(past.rolls, history.LevelRoll(rollAt(sunday.Add(30*time.Minute), 33, 1)))
	past.mu.Unlock()
	runScript(t, ctx, `document.dispatchEvent(new Event("visibilitychange"))`)
	waitText(t, ctx, "#past .shown", "1 Nov, 10:30 to 2 Nov, 10:30")
	if n := scriptText(t, ctx, `String(document.querySelectorAll(".hairline").length)`); n != "2" {
		t.Errorf("%s hair lines after the drawing was made anew; expected one in each", n)
	}
}

// The reading beside the form goes on while someone types, and Enter keeps the look.
func TestProveLiveInBrowser(t *testing.T) {
	t.Parallel()
	j := sample(t)
	for i := range j.Tanks {
		j.Tanks[i].Checks = nil
	}
	w := provedLive(t)
	b := open(t, w.options)
	id := b.start(j)
	ctx := browser.Open(t)
	browser.Go(t, ctx, fmt.Sprintf("%s/jobs/%s/1/prove/live", b.url, id))
	if _, err := chromedp.Run(ctx, chromedp.SendKeys("#shown", "2")); err != nil {
		t.Fatal(err)
	}
	w.sets(0, func(v *watch.Level) { v.Raw, v.Ohm, v.Time = 18.8, 18.8, sunday.Add(-3*time.Second) })
	waitText(t, ctx, "#feed", "18.8")
	if got := scriptText(t, ctx, `document.activeElement.id + document.getElementById("shown").value`); got != "shown2" {
		t.Errorf("while a reading came the field is %q", got)
	}
	if _, err := chromedp.Run(ctx, chromedp.SendKeys("#shown", kb.Enter)); err != nil {
		t.Fatal(err)
	}
	waitText(t, ctx, "#verdict", "2.0")
	waitText(t, ctx, "#go .huge", "20 %")
	runScript(t, ctx, `document.querySelector("#asread button").click()`)
	waitText(t, ctx, "#verdict", "61.0")
	if c := b.job(id).Tanks[0].Checks; len(c) != 1 || len(c[0].Readings) != 2 {
		t.Errorf("the checks: %+v", c)
	}
}
