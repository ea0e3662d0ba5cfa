package web

import (
	"context"
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"gaugewright/internal/browser"
	"gaugewright/internal/watch"
)

// leftLine is a site that a phone may lose, and that counts what it is asked.
type leftLine struct {
	b      *bench
	server *httptest.Server
	gone   atomic.Bool
	asked  atomic.Int64
}

func leftLineTo(t *testing.T, w *watches) *leftLine {
	t.Helper()
	l := &leftLine{b: open(t, w.options)}
	l.server = httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path == leftNow {
			l.asked.Add(1)
		}
		if l.gone.Load() {
			panic(http.ErrAbortHandler)
		}
		l.b.site.ServeHTTP(w, r)
	}))
	t.Cleanup(func() {
		l.server.CloseClientConnections()
		l.server.Close()
	})
	return l
}

func (l *leftLine) loses() {
	l.gone.Store(true)
	l.server.CloseClientConnections()
}

// waitSince waits until the page says that the watch isn't reached, and since when: a
// minute between a time and now. The hour may have turned meanwhile.
func waitSince(t *testing.T, ctx context.Context, selector string, from time.Time) {
	t.Helper()
	const words = "Not reached since "
	waitText(t, ctx, selector, words)
	got := textOf(t, ctx, selector)
	for at := from.Truncate(time.Minute); !at.After(time.Now()); at = at.Add(time.Minute) {
		if strings.Contains(got, words+at.Format("15:04")) {
			return
		}
	}
	t.Errorf("%s says %q; expected a minute since %s", selector, got, from.Format("15:04"))
}

// The page follows the watch within a second or two, asks for itself only where
// something but its ages has changed, says at once that it is cut off, lets no level
// look good that has become too old meanwhile, and comes back by itself.
func TestLeftFollows(t *testing.T) {
	t.Parallel()
	w := stall(t)
	for i := range w.levels {
		w.sets(i, func(v *watch.Level) { v.Stale = 7 * time.Second })
	}
	w.sets(0, func(v *watch.Level) { v.Stale = time.Hour })
	l := leftLineTo(t, w)
	ctx := browser.Open(t)
	browser.View(t, ctx, 390, 844, false)
	opened := time.Now()
	browser.Go(t, ctx, l.server.URL+leftPath)
	waitText(t, ctx, "#tank-2-now .amount", "32")
	runScript(t, ctx, `document.querySelector(".never a").focus()`)
	begun := time.Now()
	w.sets(1, func(v *watch.Level) { v.Volume = figureL(21.4, 0.4) })
	waitText(t, ctx, "#tank-2-now .amount", "21")
	if took := time.Since(begun); took > 30*time.Second {
		t.Errorf("a change took %v to the page", took)
	}
	if got := scriptText(t, ctx, `document.activeElement.closest("p")?.className ?? ""`); got != "never" {
		t.Errorf("the focus went to %q", got)
	}
	waitText(t, ctx, "#tank-3-now .read", "read 5 s ago")
	before := l.asked.Load()
	w.sets(2, func(v *watch.Level) { v.Age = 3 * time.Second })
	waitText(t, ctx, "#tank-3-now .read", "read 3 s ago")
	if n := l.asked.Load() - before; n > 0 {
		t.Errorf("for an age alone the page was fetched %d times", n)
	}

	l.loses()
	begun = time.Now()
	waitSince(t, ctx, "#cut", opened)
	if took := time.Since(begun); took > 2*time.Second {
		t.Errorf("that the page is cut off was said after %v", took)
	}
	waitText(t, ctx, "#cut", "What stands below is from then, and grows older.")
	if got := scriptText(t, ctx, `String(document.getElementById("well").checkVisibility())`); got != "false" {
		t.Error("it says that nothing is wrong, and nobody knows")
	}
	says(t, ctx, `[...document.querySelectorAll(".lapsed")].map((e) => e.id).join()`, "tank-2-now,tank-3-now")
	waitText(t, ctx, "#tank-2-now", "This level is older than 7 s and isn’t to be relied on any more.")
	if got := scriptText(t, ctx, `getComputedStyle(document.querySelector("#tank-2-now .gw-level")).display + " " + getComputedStyle(document.querySelector("#tank-2-now .amount span")).textDecorationLine`); got != "none line-through" {
		t.Errorf("the level that is too old is drawn: %q", got)
	}
	axe(t, ctx, "cut off")
	browser.NoSidewaysScroll(t, ctx, 390)
	shoot(t, ctx, "left-lost", 390, false)
	shoot(t, ctx, "left-lost", 390, true)
	w.sets(1, func(v *watch.Level) { v.Volume = figureL(12.2, 0.4) })
	l.gone.Store(false)
	says(t, ctx, `String(document.getElementById("cut").hidden)`, "true")
	waitText(t, ctx, "#tank-2-now .amount", "12")
	says(t, ctx, `[...document.querySelectorAll(".lapsed")].map((e) => e.id).join()`, "")

	// Where there is no stream to be had the page asks now and then.
	l.b.site.followers.most = -1
	l.server.CloseClientConnections()
	w.sets(1, func(v *watch.Level) { v.Volume = figureL(9.2, 2.4) })
	waitText(t, ctx, "#tank-2-now .amount", "9")
	w.sets(1, func(v *watch.Level) { v.Volume = figureL(8.2, 2.4) })
	waitText(t, ctx, "#tank-2-now .amount", "8")
	if got := scriptText(t, ctx, `String(document.getElementById("cut").hidden)`); got != "true" {
		t.Error("it says that it is cut off, and it isn't")
	}
}

// A phone may keep the page: Chromium finds nothing amiss with what it is told. Where
// the watch isn't reached then, the page says since when and shows no level, and comes
// back by itself.
func TestLeftOnAPhone(t *testing.T) {
	t.Parallel()
	l := leftLineTo(t, stall(t))
	ctx := browser.Open(t)
	browser.View(t, ctx, 390, 844, false)
	opened := time.Now()
	browser.Go(t, ctx, l.server.URL+leftPath)
	manifest, err := chromedp.Call(ctx, page.GetAppManifest, page.GetAppManifestParams{})
	if err != nil {
		t.Fatal(err)
	}
	if len(manifest.Errors) > 0 || !strings.HasSuffix(manifest.URL, leftManifest) || !strings.Contains(manifest.Data, `"standalone"`) {
		t.Errorf("the manifest at %s: %v", manifest.URL, manifest.Errors)
	}
	amiss, err := chromedp.Call(ctx, page.GetInstallabilityErrors, cdp.Empty{})
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range amiss.InstallabilityErrors {
		t.Errorf("it can't be kept: %s %v", e.ErrorID, e.ErrorArguments)
	}
	says(t, ctx, `document.querySelector("link[rel=manifest]").href ? String([...document.querySelectorAll("meta[name=theme-color]")].length) : ""`, "2")
	says(t, ctx, `window.kept ?? (navigator.serviceWorker.ready.then(async () => { window.kept = String(Boolean(await caches.match("/left/away"))); }), "")`, "true")

	l.loses()
	open := func(path string) {
		t.Helper()
		if err := chromedp.Do(ctx, chromedp.Navigate(l.server.URL+path)); err != nil {
			t.Fatal(err)
		}
	}
	open(leftPath)
	waitSince(t, ctx, "#since", opened)
	waitText(t, ctx, "#since", "No level is shown.")
	if got := scriptText(t, ctx, `String(document.querySelectorAll(".amount, svg").length) + getComputedStyle(document.body).fontVariantNumeric`); got != "0lining-nums tabular-nums" {
		t.Errorf("without the watch the page has levels, or no style: %q", got)
	}
	axe(t, ctx, "away")
	shoot(t, ctx, "left-away-offline", 390, false)
	l.gone.Store(false)
	waitText(t, ctx, "#tank-2-now .amount", "32")
	for _, r := range browser.Blocked(ctx) {
		t.Errorf("blocked: %s", r)
	}
}

// Without scripts the page has all that it has with them, and a link to look again;
// the widest figures have room on every screen.
func TestLeftPlain(t *testing.T) {
	t.Parallel()
	w := chalet(t)
	url := onlyWatched(t, w)
	ctx := browser.Open(t)
	browser.View(t, ctx, 390, 844, false)
	scripts := func(off bool) {
		t.Helper()
		if _, err := chromedp.Call(ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: off}); err != nil {
			t.Fatal(err)
		}
	}
	scripts(true)
	if err := chromedp.Do(ctx, chromedp.Navigate(url)); err != nil {
		t.Fatal(err)
	}
	waitText(t, ctx, "#tank-7-now .amount", "14")
	w.sets(6, func(v *watch.Level) { *v = lost(*v, watch.BrokenWire, time.Minute) })
	if err := chromedp.Do(ctx, chromedp.Click("#again a")); err != nil {
		t.Fatal(err)
	}
	waitText(t, ctx, "#tank-7-now", "A wire to its sender is broken or has come off.")
	for i := range w.levels {
		w.sets(i, func(v *watch.Level) {
			if v.Shown && finite(v.Volume.Mid) {
				v.Volume = figureL(9995, 12)
			} else if v.Shown {
				v.Share, v.U, v.Low, v.High = 1, 0.02, 0.96, 1
			}
		})
	}
	if err := chromedp.Do(ctx, chromedp.Navigate(url)); err != nil {
		t.Fatal(err)
	}
	waitText(t, ctx, "#tank-5-now .amount", "9995")
	scripts(false) // the windows below are set by one
	for _, width := range []int{320, 351, 353, 390, 735, 737, 820, 1024, 1151, 1280, 1440, 1920} {
		browser.View(t, ctx, width, 900, false)
		finds(t, ctx, fmt.Sprint(width), `[...document.querySelectorAll(".amount, .nolevel")].filter((e) => e.scrollWidth > e.clientWidth || [...e.children].some((c) => c.getBoundingClientRect().right > e.getBoundingClientRect().right + 0.5)).slice(0, 1).map((e) => e.innerText + " takes " + e.scrollWidth + " of " + e.clientWidth)`)
	}
}
