package web

import (
	"context"
	"fmt"
	"net/http"
	"net/http/httptest"
	"sync/atomic"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"gaugewright/internal/browser"
	"gaugewright/internal/watch"
)

// line is a site that can be cut off, and counts what it is asked.
type line struct {
	url   string
	cut   atomic.Bool
	asked atomic.Int64
}

func lineTo(t *testing.T, w *watches, now func() time.Time) *line {
	t.Helper()
	b := open(t, w.options, func(o *Options) { o.Now = now })
	l := &line{}
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path == watchedPath+"/now" {
			l.asked.Add(1)
		}
		if l.cut.Load() {
			panic(http.ErrAbortHandler) // the connection breaks, as when the program is gone
		}
		b.site.ServeHTTP(w, r)
	}))
	t.Cleanup(server.Close)
	l.url = server.URL + watchedPath
	return l
}

func says(t *testing.T, ctx context.Context, script, want string) {
	t.Helper()
	got := ""
	for end := time.Now().Add(time.Minute); time.Now().Before(end); time.Sleep(30 * time.Millisecond) {
		var err error
		if got, err = asks[string](ctx, script); err != nil {
			t.Fatal(err)
		}
		if got == want {
			return
		}
	}
	t.Fatalf("%s is %q; expected %q", script, got, want)
}

// The page follows the watch, and takes neither the focus nor what was unfolded from
// who reads it. Nobody looking at it, it asks nothing.
func TestWatchedFollows(t *testing.T) {
	t.Parallel()
	ctx := browser.Open(t)
	w := stall(t)
	l := lineTo(t, w, func() time.Time { return sunday })
	browser.View(t, ctx, 820, 1180, false)
	browser.Go(t, ctx, l.url)
	runScript(t, ctx, `document.querySelector("details summary").click(); document.querySelector("details summary").focus();`)
	w.sets(0, func(v *watch.Level) { *v = lost(*v, watch.BrokenWire, 28*time.Minute) })
	w.sets(1, func(v *watch.Level) { v.Share, v.Low, v.High = 0.42, 0.40, 0.44 })
	waitText(t, ctx, "#tank-1-now", "Broken wire since 09:02; last good 61 %.")
	waitText(t, ctx, "#tank-1-now", "No level")
	waitText(t, ctx, "#tank-2-now .level", "42 %")
	waitText(t, ctx, "#summary", "1 of 3 levels isn't good.")
	if got := scriptText(t, ctx, `document.activeElement.tagName + document.querySelector("details").open`); got != "SUMMARYtrue" {
		t.Errorf("after it was made anew the focus and the fold are %q", got)
	}
	// A link of those to be looked at first keeps the focus, too.
	runScript(t, ctx, `document.getElementById("to-tank-1").focus()`)
	w.sets(2, func(v *watch.Level) { *v = lost(*v, watch.ShortCircuit, time.Minute) })
	waitText(t, ctx, "#first", "Heater")
	if got := scriptText(t, ctx, `document.activeElement.id`); got != "to-tank-1" {
		t.Errorf("the focus went from the link to %q", got)
	}

	runScript(t, ctx, `Object.defineProperty(document, "hidden", { get: () => window.away, configurable: true }); window.away = true; document.dispatchEvent(new Event("visibilitychange"));`)
	time.Sleep(300 * time.Millisecond) // one may be under way
	before := l.asked.Load()
	time.Sleep(2500 * time.Millisecond)
	if n := l.asked.Load() - before; n > 0 {
		t.Errorf("nobody looks at it, and it asked %d times", n)
	}
	w.sets(1, func(v *watch.Level) { v.Share, v.Low, v.High = 0.2, 0.18, 0.22 })
	runScript(t, ctx, `window.away = false; document.dispatchEvent(new Event("visibilitychange"));`)
	waitText(t, ctx, "#tank-2-now .level", "20 %")
}

// A page whose program is gone says so, grows older, and shows no level as good that
// has become too old.
func TestWatchedCutOff(t *testing.T) {
	t.Parallel()
	ctx := browser.Open(t)
	w := stall(t)
	for i := range w.levels {
		w.sets(i, func(v *watch.Level) { v.Stale = 8 * time.Second })
	}
	w.sets(0, func(v *watch.Level) { v.Stale = time.Hour })
	l := lineTo(t, w, func() time.Time { return sunday })
	browser.View(t, ctx, 390, 844, false)
	browser.Go(t, ctx, l.url)
	says(t, ctx, `String(document.getElementById("cut").hidden)`, "true")
	l.cut.Store(true)
	waitText(t, ctx, "#cut", "The program doesn’t answer. All that stands below is from 2 Nov, 09:30:00, and grows older.")
	for _, gone := range []string{"#summary", "#tank-1-now .status"} {
		if got := scriptText(t, ctx, fmt.Sprintf(`String(document.querySelector(%q).checkVisibility())`, gone)); got != "false" {
			t.Errorf("%s says that all is good, and nobody knows", gone)
		}
	}
	says(t, ctx, `document.querySelector("#tank-1-now [data-age]").textContent.replace("\u00a0", " ")`, "7 s ago")
	if got := scriptText(t, ctx, `[...document.querySelectorAll(".lapsed")].map((e) => e.id).join()`); got != "" {
		t.Errorf("too old already: %s", got)
	}
	says(t, ctx, `[...document.querySelectorAll(".lapsed")].map((e) => e.id).join()`, "tank-2-now,tank-3-now")
	waitText(t, ctx, "#tank-2-now", "This level is older than 8 s and isn’t to be relied on any more.")
	// Nothing of it looks like a level: no line in the tube, and the figure is struck out.
	if got := scriptText(t, ctx, `getComputedStyle(document.querySelector("#tank-2-now .gw-level")).display + " " + getComputedStyle(document.querySelector("#tank-2-now .level")).textDecorationLine`); got != "none line-through" {
		t.Errorf("the level that is too old is drawn: %q", got)
	}
	axe(t, ctx, "cut off")
	browser.NoSidewaysScroll(t, ctx, 390)
	shoot(t, ctx, "levels-dead", 390, false)
	shoot(t, ctx, "levels-dead", 1440, true)
	l.cut.Store(false)
	says(t, ctx, `String(document.getElementById("cut").hidden)`, "true")
	says(t, ctx, `[...document.querySelectorAll(".lapsed")].map((e) => e.id).join()`, "")
}

// The widest figure has room on every screen.
func TestWatchedFigureFits(t *testing.T) {
	ctx := browser.Open(t)
	w := twelve(t)
	for i := range w.levels {
		if w.levels[i].Shown {
			w.sets(i, func(v *watch.Level) { v.Share, v.U, v.Low, v.High = 1, 0.002, 0.996, 1 })
		}
	}
	browser.View(t, ctx, 390, 844, false)
	browser.Go(t, ctx, open(t, w.options).url+watchedPath)
	waitText(t, ctx, "#tank-1-now .level", "100.0 %")
	for _, width := range []int{320, 360, 375, 377, 390, 430, 735, 737, 820, 900, 1024, 1151, 1153, 1280, 1440, 1920} {
		browser.View(t, ctx, width, 900, false)
		finds(t, ctx, fmt.Sprint(width), `[...document.querySelectorAll(".level, .nolevel")].filter((e) => e.scrollWidth > e.clientWidth).slice(0, 1).map((e) => e.innerText + " takes " + e.scrollWidth + " of " + e.clientWidth)`)
	}
}

// Without scripts the page has all that it has with them, and a link to look again.
func TestWatchedPlain(t *testing.T) {
	t.Parallel()
	ctx := browser.Open(t)
	w := stall(t)
	url := onlyWatched(t, w)
	browser.View(t, ctx, 390, 844, false)
	if _, err := chromedp.Call(ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true}); err != nil {
		t.Fatal(err)
	}
	if err := chromedp.Do(ctx, chromedp.Navigate(url+watchedPath)); err != nil {
		t.Fatal(err)
	}
	waitText(t, ctx, "#tank-1-now .level", "61 %")
	w.sets(0, func(v *watch.Level) { *v = lost(*v, watch.BrokenWire, time.Minute) })
	if err := chromedp.Do(ctx, chromedp.Click("#again a")); err != nil {
		t.Fatal(err)
	}
	waitText(t, ctx, "#tank-1-now", "Broken wire since 09:29; last good 61 %.")
}
