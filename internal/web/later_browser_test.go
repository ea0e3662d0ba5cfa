package web

import (
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"gaugewright/internal/browser"
	"gaugewright/internal/job"
)

// At a later check readings are taken as on the bench, by the bar of a keyboard or
// by typing, and what they come to stands on the page at once.
func TestLaterCheckTakesByHand(t *testing.T) {
	t.Parallel()
	m := newBenchMeters()
	m.stands(6.8, 1)
	b := open(t, inSpring, func(o *Options) { o.Meters = m })
	id := b.start(sample(t))
	path := jobPath(id) + "/1/later"
	if status, text := b.post(path, "key", newKey(), "tank", "Gas", "date", "2027-05-02"); status != 200 {
		t.Fatalf("%d\n%s", status, text)
	}
	f := fitter{t, browser.Open(t), b, id}
	browser.View(t, f.ctx, 1440, 900, false)
	browser.Go(t, f.ctx, b.url+path+"/1/check")
	f.reads("#ohms", "6.8 Ω")
	f.reads("#next", "Begin at 0 %, going up.")
	f.press(" ")
	f.waits(`document.querySelector("#came .verdict")`)
	f.reads("#next", "Next: 20 %, going up.")
	m.stands(24.1, 2)
	f.reads("#ohms", "24.1 Ω")
	time.Sleep(apart)
	f.press(" ")
	f.waits(`document.querySelectorAll("#strip li").length === 2 && document.querySelector("#came figure")`)
	f.reads("#said", "Taken: 20 %, 24.1 Ω")
	f.click("#undo")
	f.waits(`document.querySelectorAll("#strip .struck").length === 1`)
	s := b.job(id).Tanks[0].Services[0]
	if len(s.Readings) != 1 || len(s.Struck) != 1 || s.Readings[0].Ohm != 6.8 || *s.Struck[0].MarkPct != 20 {
		t.Errorf("kept: %+v", s)
	}
	if n := len(b.job(id).Tanks[0].Bench.Readings); n != 17 {
		t.Errorf("the bench has %d readings", n)
	}
}

// On a telephone the steps are one line; the one that is open is in sight, and Tab
// brings the others there.
func TestOpenStepIsInSight(t *testing.T) {
	b := open(t)
	j := sample(t)
	j.Tanks[0].Services = []job.Service{serviced(j.Tanks[0], "2025-10-02", 3, func(v float64) float64 { return v })}
	f := fitter{t, browser.Open(t), b, b.start(j)}
	browser.View(t, f.ctx, 390, 844, false)
	browser.Go(t, f.ctx, b.url+jobPath(f.id)+"/1/later/1/check")
	const inSight = `((e) => { const box = e.getBoundingClientRect(); return box.left >= 0 && box.right <= innerWidth; })`
	f.waits(inSight + `(document.querySelector(".steps [aria-current]"))`)
	f.do(chromedp.Focus(chromedp.CSS(".docket a")))
	f.press(kb.Tab)
	f.waits(`document.activeElement.textContent === "Bench" && ` + inSight + `(document.activeElement)`)
}
