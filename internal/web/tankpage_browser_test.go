package web

import (
	"context"
	"fmt"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"gaugewright/internal/browser"
	"gaugewright/internal/tankfile"
)

// act does things to a page, one after the other.
func act(t *testing.T, ctx context.Context, list ...chromedp.Action[chromedp.Void]) {
	t.Helper()
	for _, a := range list {
		if _, err := chromedp.Run(ctx, a); err != nil {
			t.Fatal(err)
		}
	}
}

// The drawing follows what is typed, and what is kept is what was drawn.
func TestTankInBrowser(t *testing.T) {
	t.Parallel()
	b := open(t)
	id := b.start(sample(t))
	ctx := browser.Open(t)
	address := fmt.Sprintf("%s/jobs/%s/3/tank", b.url, id)
	browser.Go(t, ctx, address)
	browser.View(t, ctx, 1440, 900, false)
	waitText(t, ctx, "#look", "Pick the drawing")
	act(t, ctx, chromedp.Click("#shape-box"))
	waitText(t, ctx, "#look", "Not drawn yet")
	act(t, ctx, chromedp.SendKeys("#box-length-mm", "50cm"), chromedp.SendKeys("#box-width-mm", "400"), chromedp.SendKeys("#box-height-mm", "310"))
	waitText(t, ctx, "#look", "holds 62 L")
	waitText(t, ctx, "#look", "Parked askew") // what leaning does comes by itself
	// The key that ends a line keeps, and adds no row.
	act(t, ctx, chromedp.SendKeys("#water-capacity-l", kb.Enter))
	waitText(t, ctx, "main", "Kept.")
	diesel := b.job(id).Tanks[2]
	if diesel.Shape == nil || diesel.Shape.Shape != tankfile.Box || diesel.Shape.HeightMM != 310 {
		t.Errorf("kept: %+v", diesel.Shape)
	}
	// Renamed, and kept again from the same page.
	for _, name := range []string{"Heater", "Heater two"} {
		act(t, ctx, chromedp.SetValue("#name", name), chromedp.SendKeys("#name", kb.Enter))
		waitText(t, ctx, ".tankname", name)
	}
	act(t, ctx, chromedp.SetValue("#box-width-mm", "12 banana"), chromedp.SendKeys("#box-width-mm", kb.Enter))
	waitText(t, ctx, "#fault", "banana")
	waitText(t, ctx, "#box-width-mm-bad", "banana")
	act(t, ctx, chromedp.Click("button[value=claim]"))
	waitText(t, ctx, "main", "Add a span")
	if got, err := chromedp.Run(ctx, chromedp.Evaluate[string](`document.querySelector("#box-width-mm").value`)); err != nil || got != "12 banana" {
		t.Errorf("%q, %v: what was typed is gone", got, err)
	}
}

// Without scripts the same forms do the same.
func TestTankWithoutScripts(t *testing.T) {
	t.Parallel()
	b := open(t)
	id := b.start(sample(t))
	ctx := browser.Open(t)
	if _, err := chromedp.Call(ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true}); err != nil {
		t.Fatal(err)
	}
	do := func(steps ...chromedp.Action[chromedp.Void]) {
		t.Helper()
		if err := chromedp.Do(ctx, steps...); err != nil {
			t.Fatal(err)
		}
	}
	do(chromedp.Navigate(fmt.Sprintf("%s/jobs/%s/3/tank", b.url, id)), chromedp.Click("#shape-box"), chromedp.WaitVisible("#box-length-mm"),
		chromedp.SendKeys("#box-length-mm", "500"), chromedp.SendKeys("#box-width-mm", "400"), chromedp.SendKeys("#box-height-mm", "310"),
		chromedp.Click("button[value=look]"), chromedp.WaitVisible("#look table"))
	if b.job(id).Tanks[2].Shape != nil {
		t.Error("drawing it kept it")
	}
	do(chromedp.Click("button[value=claim]"), chromedp.WaitVisible("#claimed-1"), chromedp.SendKeys("#claimed-1", "10 to 180"),
		chromedp.Click(".keepers button[value=keep]"), chromedp.WaitVisible(".kept"))
	if d := b.job(id).Tanks[2]; d.Shape == nil || d.Shape.HeightMM != 310 || len(d.Sender.Claimed) != 2 {
		t.Errorf("kept: %+v, %+v", d.Shape, d.Sender)
	}
	do(chromedp.Navigate(fmt.Sprintf("%s/jobs/%s/2/contents", b.url, id)), chromedp.Click("button[value='remove.0']"), chromedp.WaitNotPresent("#load-1"),
		chromedp.Click("button[value=add]"), chromedp.WaitVisible("#load-1"), chromedp.SendKeys("#load-name-1", "dog"), chromedp.SendKeys("#load-rate-1", "1 to 2"),
		chromedp.SetValue("#load-unit-1", "l_per_day"), chromedp.Click(".keepers button[value=keep]"), chromedp.WaitVisible(".kept"))
	if l := b.job(id).Tanks[1].Loads; len(l) != 2 || l[1].Name != "dog" || l[1].LPerDay == nil {
		t.Errorf("kept: %+v", l)
	}
	do(chromedp.SendKeys("#now", "50"), chromedp.Click(".now-in .do"), chromedp.WaitVisible("#told"))
}
