package web

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"gaugewright/internal/browser"
	"gaugewright/internal/curve"
	"gaugewright/internal/job"
	"gaugewright/internal/sitting"
)

// fitter is someone at a bench page.
type fitter struct {
	t   *testing.T
	ctx context.Context
	b   *bench
	id  job.ID
}

// sits opens a browser at a job's first bench.
func (b *bench) sits(id job.ID) fitter {
	b.t.Helper()
	f := fitter{b.t, browser.Open(b.t), b, id}
	browser.View(b.t, f.ctx, 1440, 900, false)
	browser.Go(b.t, f.ctx, f.address())
	return f
}

func (f fitter) address() string { return fmt.Sprintf("%s/jobs/%s/1/bench", f.b.url, f.id) }

func (f fitter) do(steps ...chromedp.Action[chromedp.Void]) {
	f.t.Helper()
	if err := chromedp.Do(f.ctx, steps...); err != nil {
		f.t.Fatal(err)
	}
}

func (f fitter) click(selector string) {
	f.t.Helper()
	f.do(chromedp.Click(chromedp.CSS(selector)))
}

func (f fitter) press(keys string) {
	f.t.Helper()
	f.do(chromedp.KeyEvent(keys))
}

// is asks the page something.
func (f fitter) is(question string) bool {
	f.t.Helper()
	yes, err := asks[bool](f.ctx, "!!("+question+")")
	if err != nil {
		f.t.Fatal(err)
	}
	return yes
}

// waits until the answer is yes.
func (f fitter) waits(question string) {
	f.t.Helper()
	for end := time.Now().Add(time.Minute); time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
		if f.is(question) {
			return
		}
	}
	f.t.Fatalf("not so within a minute: %s; the page says %q and has %q", question, textOf(f.t, f.ctx, "#said"), textOf(f.t, f.ctx, "#strip"))
}

func (f fitter) reads(selector, want string) { f.t.Helper(); waitText(f.t, f.ctx, selector, want) }

// expects waits until so many readings are kept.
func (f fitter) expects(n int) []job.Reading {
	f.t.Helper()
	for end := time.Now().Add(time.Minute); time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
		if r := f.b.first(f.id).Readings; len(r) == n {
			return r
		}
	}
	f.t.Fatalf("%d readings after a minute, expected %d; the page says %q", len(f.b.first(f.id).Readings), n, textOf(f.t, f.ctx, "#said"))
	return nil
}

// stays makes sure that nothing was taken: a while longer than a page takes to
// send something and be answered.
func (f fitter) stays(n int, why string) {
	f.t.Helper()
	time.Sleep(500 * time.Millisecond)
	if got := len(f.b.first(f.id).Readings); got != n {
		f.t.Fatalf("%s: %d readings, expected %d", why, got, n)
	}
}

const apart = 350 * time.Millisecond // between two takes that aren't a bounce

// A reading is taken by the button, by keys and by a foot switch that was
// learnt, and not by a key that is held, nor by one in a field.
func TestBenchTakesByHand(t *testing.T) {
	t.Parallel()
	m := newBenchMeters()
	m.stands(0.4, 1)
	b := open(t, func(o *Options) { o.Meters = m })
	f := b.sits(b.start(fresh(t, "mark_pct")))
	f.reads("#ohms", "0.4 Ω")
	f.reads("#still", "stands still")
	f.reads("#takebutton", "0.4 Ω at 0 %")
	f.click("#takebutton")
	f.reads("#said", "Taken: 0 %, 0.4 Ω")
	f.waits(`document.querySelector("#mark").value === "10"`) // on to the next
	f.reads("#strip", "0 % ▲")
	f.expects(1)
	if !f.is(`document.querySelector("#column").textContent.includes("go to 10 %")`) {
		t.Error("the mark isn't lit")
	}
	for i, key := range []string{" ", kb.PageDown, "b", kb.Enter} {
		m.moves(9)
		f.reads("#still", "moving")
		m.stands(10, int64(i+2))
		f.reads("#still", "stands still")
		f.do(chromedp.Evaluate[chromedp.Void](`document.activeElement.blur()`))
		time.Sleep(apart)
		f.press(key)
		f.expects(i + 2)
		f.waits(fmt.Sprintf(`document.querySelector("#mark").value === "%d"`, 10*(i+2)))
	}
	// Held down, it is one press.
	time.Sleep(apart)
	f.do(chromedp.Evaluate[chromedp.Void](`for (let i = 0; i < 5; i++) document.dispatchEvent(new KeyboardEvent("keydown", { key: "PageDown", repeat: true, bubbles: true, cancelable: true }))`))
	f.stays(5, "a key held down")
	// In a field, a key is for the field.
	f.click("#mark")
	f.press("b")
	f.stays(5, "a key in a field")
	f.press(kb.Backspace)
	f.press(kb.Enter)
	f.stays(5, "Enter behind a mark")
	f.waits(`document.activeElement === document.body`)
	// Learning.
	f.click("#hands > summary")
	f.press(kb.Escape)
	f.click("#learn")
	f.press(kb.Tab)
	f.reads("#foot", "Tab can’t be used")
	f.press("k")
	f.reads("#foot", "Learnt: k takes a reading")
	f.stays(5, "while learning")
	f.do(chromedp.Reload())
	f.reads("#takebutton", "10.0 Ω at")
	f.press("k")
	f.expects(6)
	time.Sleep(apart)
	// Off, keys do nothing.
	f.click("#hands > summary")
	f.click("#keys")
	f.do(chromedp.Evaluate[chromedp.Void](`document.activeElement.blur()`))
	for _, key := range []string{"k", " ", "b", kb.Enter} {
		f.press(key)
	}
	f.stays(6, "with keys off")
	f.do(chromedp.Reload())
	f.waits(`!document.querySelector("#keys").checked`)
	f.click("#takebutton")
	f.expects(7)
}

// Nothing is taken from a meter that gives no value: not by the button, not by a
// key, not by itself. It can still be typed.
func TestBenchTakesNoOverload(t *testing.T) {
	t.Parallel()
	m := newBenchMeters()
	m.says(sitting.Overload, 0, 0, "The circuit is open: look at the leads and at the sender’s wires.")
	b := open(t, func(o *Options) { o.Meters = m })
	f := b.sits(b.start(fresh(t, "mark_pct")))
	for _, s := range []struct {
		state sitting.State
		words string
	}{{sitting.Overload, "The circuit is open."}, {sitting.Away, "The meter doesn’t answer."}, {sitting.Garbled, "Half an answer."}, {sitting.Unfit, "It measures volts."}} {
		m.moves(12)
		f.waits(`!document.querySelector("#takebutton").disabled`)
		m.says(s.state, 0, 0, s.words)
		f.waits(`document.querySelector("#takebutton").disabled`)
		f.reads("#ohms", s.words)
		f.press(" ")
		f.press(kb.PageDown)
	}
	f.stays(0, "by key, of a meter without a value")
	m.gives(curve.Volts)
	m.moves(2)
	f.reads("#ohms", "this bench reads ohms")
	f.waits(`document.querySelector("#takebutton").disabled`)
	f.click("#typing > summary")
	f.do(chromedp.SendKeys(chromedp.CSS("#ohm"), "7,5"))
	f.reads("#takebutton", "7,5 Ω at 0 %")
	f.press(kb.Enter)
	if r := f.expects(1); r[0].Ohm != 7.5 {
		t.Errorf("kept %+v", r[0])
	}
}

// One spell is taken by itself once, though two pages look at it, and the next
// only once the value has moved away. A spell that stood there before isn't
// taken, nor one that a hand has taken.
func TestBenchTakesByItself(t *testing.T) {
	t.Parallel()
	m := newBenchMeters()
	m.stands(3, 1)
	b := open(t, func(o *Options) { o.Meters = m })
	id := b.start(fresh(t, "mark_pct"))
	left, right := b.sits(id), b.sits(id)
	for _, f := range []fitter{left, right} {
		f.reads("#ohms", "3.0 Ω")
		f.click("#hands > summary")
		f.click("#auto")
		f.waits(`document.querySelector("#auto").checked`)
	}
	left.stays(0, "a spell that stood there before")
	for i := range 4 {
		m.moves(5)
		for _, f := range []fitter{left, right} {
			f.reads("#still", "moving")
		}
		m.stands(10, int64(i+2))
		left.expects(i + 1)
		for _, f := range []fitter{left, right} {
			f.reads("#said", fmt.Sprintf("%d %%, 10.0 Ω", 10*i))
			f.waits(fmt.Sprintf(`document.querySelector("#mark").value === "%d"`, 10*(i+1)))
		}
		left.stays(i+1, "two pages at one spell")
	}
	m.says(sitting.Reading, 10.01, 5, "") // the same spell, a little on
	left.stays(4, "the same spell")
	m.says(sitting.Overload, 0, 0, "Open.")
	left.reads("#ohms", "Open.")
	left.stays(4, "an overload")
	// By hand first: then it isn't taken by itself on this page.
	left.click("#auto")
	right.click("#auto")
	m.stands(20, 6)
	left.reads("#ohms", "20.0 Ω")
	left.click("#takebutton")
	left.expects(5)
	left.click("#auto")
	m.stands(20.01, 6)
	left.stays(5, "taken by hand before")
}

// What can't be kept stands on the page as such, is sent again in its order
// once it can, a new page of the same browser included, and is then taken with
// the time that it was taken at.
func TestBenchQueue(t *testing.T) {
	t.Parallel()
	store := newMemory()
	m := newBenchMeters()
	m.stands(1, 1)
	b := open(t, func(o *Options) { o.Store, o.Meters, o.Now = store, m, time.Now })
	f := b.sits(b.start(fresh(t, "mark_pct")))
	f.reads("#ohms", "1.0 Ω")
	fails := func(err error) {
		store.mu.Lock()
		defer store.mu.Unlock()
		store.fail = err
	}
	fails(fmt.Errorf("no space left: %w", job.ErrFull))
	f.click("#takebutton")
	f.reads("#pending", "0 %, 1.0 Ω")
	f.reads("#pending", "not kept yet")
	f.reads("#unsent", "Not kept")
	f.reads("#next", "as far as this page can tell: 10 %")
	m.stands(2, 2)
	f.reads("#takebutton", "2.0 Ω at 10 %")
	f.click("#takebutton")
	f.waits(`document.querySelectorAll("#pending li").length === 2`)
	m.stands(3, 3)
	f.reads("#ohms", "3.0 Ω")
	f.do(chromedp.Evaluate[chromedp.Void](`document.querySelector("#mark").value = "90"; document.querySelector("#mark").dispatchEvent(new Event("input", { bubbles: true }))`))
	time.Sleep(apart)
	f.click("#takebutton")
	f.waits(`document.querySelectorAll("#pending li").length === 3`)
	if f.is(`document.querySelector("#said").textContent.startsWith("Taken")`) || len(b.first(f.id).Readings) != 0 {
		t.Fatal("something is said to be taken that isn't kept")
	}
	shoot(t, f.ctx, "bench-queue", 390, false)
	browser.View(t, f.ctx, 1440, 900, false)
	f.do(chromedp.Reload())
	f.waits(`document.querySelectorAll("#pending li").length === 3`)
	f.click("#hands > summary")
	f.click("#auto")
	m.moves(3.5)
	f.reads("#still", "moving")
	m.stands(4, 4)
	f.reads("#said", "Nothing is taken by itself")
	f.waits(`document.querySelectorAll("#pending li").length === 3`)
	before := time.Now()
	time.Sleep(1100 * time.Millisecond)
	fails(nil)
	got := f.expects(3)
	f.waits(`document.querySelector("#pending").hidden`)
	f.stays(3, "sent again")
	f.reads("#said", "Taken: 90 %, 3.0 Ω")
	f.click("#auto")
	for i, want := range []struct{ mark, ohm float64 }{{0, 1}, {10, 2}, {90, 3}} {
		mark, _, _ := got[i].Mark()
		at, err := time.Parse(time.RFC3339, got[i].Time)
		if mark != want.mark || got[i].Ohm != want.ohm || err != nil || at.After(before) {
			t.Errorf("reading %d is %v, %v at %s; expected %v before %v", i, mark, got[i].Ohm, got[i].Time, want, before)
		}
	}
	if f.is(`Object.keys(localStorage).some((n) => n.startsWith("gw-untaken"))`) {
		t.Error("the browser still keeps what was kept")
	}
	// One that is refused is told, and can be put right.
	f.click("#typing > summary")
	f.do(chromedp.SendKeys(chromedp.CSS("#ohm"), "12..4"))
	f.click("#takebutton")
	f.reads("#pending", "not taken")
	f.stays(3, "refused")
	f.click("#pending button")
	f.waits(`document.querySelector("#ohm").value === "12..4" && document.querySelector("#pending").hidden`)
}

// Two devices at one bench see each other's readings, and each its own mark.
func TestBenchOnTwoDevices(t *testing.T) {
	t.Parallel()
	b := open(t)
	id := b.start(fresh(t, "mark_pct"))
	left, right := b.sits(id), b.sits(id)
	right.do(chromedp.Evaluate[chromedp.Void](`document.querySelector("#mark").focus(); document.querySelector("#mark").select()`))
	right.press("35")
	right.press(kb.Escape)
	right.waits(`location.search.includes("mark=35")`)
	right.waits(`document.querySelector("#column").textContent.includes("go to 35 %")`)
	for _, digit := range []string{"1", "2", ".", "5", "4", "back"} {
		left.click(fmt.Sprintf(`[data-digit="%s"]`, digit))
	}
	left.reads("#takebutton", "12.5 Ω at 0 %")
	left.click("#takebutton")
	for _, f := range []fitter{left, right} {
		f.reads("#strip", "12.5 Ω")
		f.reads("#does", "1 reading")
	}
	if !right.is(`document.querySelector("#mark").value === "35"`) {
		t.Error("a reading elsewhere moved the mark that was typed here")
	}
	// Digits begin to type where no field is marked.
	right.press("30.1")
	right.waits(`document.querySelector("#ohm").value === "30.1"`)
	right.press(kb.Enter)
	right.expects(2)
	left.reads("#strip", "35 % ▲")
	// Struck on one, it is struck on the other, and can be put back.
	left.click("#mend-2")
	left.do(chromedp.SendKeys(chromedp.CSS("#reason-2"), "wrong mark"))
	left.press(kb.Enter)
	right.reads("#strip", "Struck out: wrong mark")
	right.click("#restore-2")
	left.waits(`!document.querySelector("#strip del")`)
	right.expects(2)
	left.reads("#undo", "Undo the last: 35 %, 30.1 Ω")
	left.click("#undo")
	right.reads("#strip", "Struck out: undone")
	right.expects(1)
	// Turned round, the next one comes from above.
	left.do(chromedp.Evaluate[chromedp.Void](`document.querySelector("#mark").value = "100"; document.querySelector("#mark").dispatchEvent(new Event("input", { bubbles: true }))`))
	left.click(`[name=sweep][value=down]`)
	left.waits(`location.search.includes("sweep=down") && document.querySelector("[name=sweep]:checked").value === "down"`)
	time.Sleep(apart)
	left.waits(`document.querySelector("[name=sweep]:checked").value === "down"`)
}

// A bench that is set up on one device appears on the other, and one whose units
// are changed meanwhile is shown anew.
func TestBenchSetUpElsewhere(t *testing.T) {
	t.Parallel()
	b := open(t)
	id := b.start(fresh(t, ""))
	left, right := b.sits(id), b.sits(id)
	left.click(`.made button.do`)
	for _, f := range []fitter{left, right} {
		f.reads("#next", "0 %, going up")
	}
	left.click("#made > summary")
	left.click(`[name=marks][value=mark_mm]`)
	left.do(chromedp.SendKeys(chromedp.CSS("#empty"), "20"), chromedp.SendKeys(chromedp.CSS("#full"), "220"))
	left.press(kb.Enter)
	for _, f := range []fitter{left, right} {
		f.reads("#next", "20 mm, going up")
		f.reads("label[for=mark]", "mm")
	}
	right.waits(`document.querySelector("#takes")`)
	time.Sleep(apart)
	right.press("3.5")
	right.waits(`document.querySelector("#ohm").value === "3.5"`)
	right.press(kb.Enter)
	if r := right.expects(1); r[0].MarkMM == nil || *r[0].MarkMM != 20 || r[0].Ohm != 3.5 {
		t.Errorf("kept %+v", r)
	}
	left.reads("#strip", "20 mm ▲")
}

// Without scripts every form is sent and answered.
func TestBenchWithoutScripts(t *testing.T) {
	t.Parallel()
	m := newBenchMeters()
	m.stands(17.5, 1)
	b := open(t, func(o *Options) { o.Meters = m })
	id := b.start(fresh(t, ""))
	f := fitter{t, browser.Open(t), b, id}
	if _, err := chromedp.Call(f.ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true}); err != nil {
		t.Fatal(err)
	}
	f.do(chromedp.Navigate(f.address()))
	f.click(`.made button`)
	f.reads("#next", "0 %, going up")
	f.click("#takebutton")
	if r := f.expects(1); r[0].Ohm != 17.5 {
		t.Errorf("kept %+v", r[0])
	}
	f.reads("#undo", "0 %, 17.5 Ω")
	f.click("#typing > summary")
	f.do(chromedp.SendKeys(chromedp.CSS("#ohm"), "OL"))
	f.click("#takebutton")
	f.reads(".fault", "overload")
	f.expects(1)
	f.click("#mend-1")
	f.click(".mend .also")
	f.reads("h2", "Correct a reading")
	f.do(chromedp.SetValue(chromedp.CSS("#ohm"), "18"))
	f.click("main form .do")
	f.reads("#strip", "corrected to 0 %, 18.0 Ω")
	f.click("#undo")
	f.expects(0)
	f.click("[id^=restore]")
	f.expects(1)
}

// Take, the ohms and the mark are in sight without scrolling, and what is
// pressed is large enough for a thumb (WCAG 2.2, 2.5.5: 44 px and more; ours 48).
func TestBenchAtHand(t *testing.T) {
	t.Parallel()
	m := newBenchMeters()
	m.stands(36.2, 3)
	metered, typed := open(t, func(o *Options) { o.Meters = m }), open(t)
	ctx := browser.Open(t)
	for _, b := range []*bench{metered, typed} {
		address := fmt.Sprintf("%s/jobs/%s/1/bench", b.url, b.start(sample(t)))
		for _, size := range [][2]int{{390, 844}, {820, 1180}, {1440, 900}} {
			browser.View(t, ctx, size[0], size[1], false)
			browser.Go(t, ctx, address)
			seen, err := chromedp.Run(ctx, chromedp.Evaluate[[]string](`[...document.querySelectorAll("#takebutton, #less, #more, #mark, #next p, .way label, .live:not([hidden]) .huge, [data-mode=typed] .hugefield, [data-mode=typed] .keypad button")].filter((e) => {
				const r = e.getBoundingClientRect();
				const least = e.matches("[data-digit]") ? 56 : e.matches("#next p") ? 1 : 48;
				const top = document.elementFromPoint(r.left + r.width / 2, r.top + r.height / 2);
				return !(r.height >= least && r.width >= least && r.bottom <= innerHeight && top && (e.contains(top) || top.contains(e)));
			}).map((e) => e.tagName + " " + (e.id || e.textContent) + " " + JSON.stringify(e.getBoundingClientRect()))`))
			if err != nil {
				t.Fatal(err)
			}
			if len(seen) > 0 {
				t.Errorf("%v: not in sight, or too small: %s", size, strings.Join(seen, "\n"))
			}
		}
	}
}

// A page that was asked for before a form was answered, and comes after the answer,
// is out of date and isn't shown.
func TestLateRefreshIsNotShown(t *testing.T) {
	t.Parallel()
	b := open(t)
	f := b.sits(b.start(sample(t)))
	f.waits(`document.documentElement.matches(".scripted") && document.querySelector("#undo")`)
	runScript(t, f.ctx, `(() => {
		const real = window.fetch;
		window.held = 0;
		const open = new Promise((go) => { window.letGo = go; });
		window.fetch = async (...asked) => {
			const answer = await real(...asked);
			if (asked[1]?.method === "POST") return answer;
			const text = await answer.text(); // as it is now
			window.held++;
			await open;
			return new Response(text, { headers: answer.headers });
		};
	})()`)
	b.takes(f.id, "mark", "60", "ohm", "55")
	f.waits(`window.held === 1`)
	f.click("#undo")
	f.waits(`document.querySelectorAll("#strip .struck").length === 1`)
	runScript(t, f.ctx, `(() => {
		window.back = 0;
		new MutationObserver(() => { if (document.querySelectorAll("#strip .struck").length !== 1) window.back++; }).observe(document.body, { childList: true, subtree: true });
		window.letGo();
	})()`)
	f.waits(`window.held > 1`)
	time.Sleep(200 * time.Millisecond)
	f.waits(`window.back === 0`)
}
