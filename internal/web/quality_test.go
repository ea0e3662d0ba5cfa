package web

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"gaugewright/internal/browser"
)

// hands is how many browsers go through the pages side by side.
const hands = 3

// atATime is how many pages one browser is shown: what it is opened for has to end
// in time on a slow machine, too.
const atATime = 24

// inTurn hands each look to one of a few browsers, each a subtest of its own.
func inTurn(t *testing.T, looks []look, prepare func(context.Context) error, do func(t *testing.T, ctx context.Context, l look)) {
	t.Helper()
	var mu sync.Mutex
	next := 0
	t.Run("pages", func(t *testing.T) {
		for hand := range hands {
			t.Run(fmt.Sprint("browser-", hand+1), func(t *testing.T) {
				t.Parallel()
				more := true
				for round := 1; more; round++ {
					t.Run(fmt.Sprint("round-", round), func(t *testing.T) {
						ctx := browser.Open(t)
						// Its window is in front, whatever else goes on on the machine.
						if _, err := chromedp.Call(ctx, emulation.SetFocusEmulationEnabled, emulation.SetFocusEmulationEnabledParams{Enabled: true}); err != nil {
							t.Fatal(err)
						}
						if err := prepare(ctx); err != nil {
							t.Fatal(err)
						}
						for range atATime {
							mu.Lock()
							i := next
							next++
							mu.Unlock()
							if more = i < len(looks); !more {
								return
							}
							t.Run(looks[i].name, func(t *testing.T) { do(t, ctx, looks[i]) })
						}
					})
				}
			})
		}
	})
}

// lines asks a page a question that is answered by a list.
func lines(t *testing.T, ctx context.Context, script string) []string {
	t.Helper()
	got, err := chromedp.Run(ctx, chromedp.Evaluate[[]string](script))
	if err != nil {
		t.Fatalf("%v\n%s", err, script)
	}
	return got
}

// finds asks a question whose every answer is an error.
func finds(t *testing.T, ctx context.Context, where, script string) {
	t.Helper()
	for _, line := range lines(t, ctx, script) {
		t.Errorf("%s: %s", where, line)
	}
}

// axe is a test of its own, so that where there is no axe-core the rest is
// looked at all the same.
func axe(t *testing.T, ctx context.Context, where string) {
	t.Helper()
	t.Run("axe-"+where, func(t *testing.T) {
		for _, v := range browser.Axe(t, ctx) {
			t.Errorf("%s: %v", where, v)
		}
	})
}

// Every page in every state: no rule of WCAG 2.2 at levels A and AA broken that
// axe-core knows (light on a phone, dark on a tablet or a desk), no sideways scroll from 320 pixels
// (WCAG 1.4.10) to 1440 nor at twice the size of letters (1.4.4), targets of 48
// pixels and more, reached by Tab in their order with the focus in sight, headings
// in order, nothing that moves for who asked for stillness, nothing asked of
// another machine, nothing that the page's own policy forbids, and no text that
// has become a part of the page.
func TestEveryPage(t *testing.T) {
	g := everyLook(t)
	names := map[string]bool{}
	for _, l := range g.looks {
		if names[l.name] {
			t.Errorf("two looks are called %s", l.name)
		}
		names[l.name] = true
	}
	var mu sync.Mutex
	titles := map[string]string{}
	prepare := func(ctx context.Context) error {
		_, err := chromedp.Call(ctx, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: listening})
		return err
	}
	inTurn(t, g.looks, prepare, func(t *testing.T, ctx context.Context, l look) {
		status(t, l)
		// The page before asks for nothing more.
		if err := chromedp.Do(ctx, chromedp.Navigate("about:blank")); err != nil {
			t.Fatal(err)
		}
		before := len(browser.Requests(ctx))
		browser.View(t, ctx, 390, 844, false)
		browser.Go(t, ctx, l.url)

		for _, width := range []int{390, 820, 1440} {
			for _, dark := range []bool{false, true} {
				shoot(t, ctx, l.name, width, dark)
			}
		}
		finds(t, ctx, "make-up", fmt.Sprintf(madeUp, l.bare))
		finds(t, ctx, "became a part of the page", evil)
		if !l.again() {
			finds(t, ctx, "pale in light", pale)
			for _, width := range []int{390, 820, 1440} {
				browser.NoSidewaysScroll(t, ctx, width)
			}
		}
		run(t, ctx, `document.documentElement.style.fontSize = "200%"`)
		browser.NoSidewaysScroll(t, ctx, 820)
		run(t, ctx, `document.documentElement.style.fontSize = ""`)
		if !l.again() {
			dark := []int{820, 1440}[len(l.name)%2]
			browser.View(t, ctx, dark, 1000, true)
			// In dark one look of three: what axe-core tells of colours, pale tells of all.
			if len(l.name)%3 == 0 {
				axe(t, ctx, fmt.Sprint(dark, " dark"))
			}
			finds(t, ctx, "pale in dark", pale)
		}

		// With everything unfolded.
		browser.View(t, ctx, 390, 844, false)
		run(t, ctx, `document.querySelectorAll("details").forEach((d) => { d.open = true; })`)
		browser.NoSidewaysScroll(t, ctx, 320)
		browser.View(t, ctx, 390, 844, false)
		least := 48
		if l.bare {
			least = 24
		}
		finds(t, ctx, "too small", fmt.Sprintf(smallOnes, least))
		axe(t, ctx, "390 light")

		if !l.again() {
			still(t, ctx)
			byKeyboard(t, ctx, l)
		}

		finds(t, ctx, "on the page", "wrong")
		for _, r := range browser.Requests(ctx)[before:] {
			if own, _, _ := strings.Cut(strings.TrimPrefix(l.url, "http://"), "/"); !strings.HasPrefix(r, "http://"+own+"/") {
				t.Errorf("it asked for %s", r)
			}
		}
		for _, r := range browser.Blocked(ctx) {
			t.Errorf("blocked: %s", r)
		}
		at, err := url.Parse(l.url)
		if err != nil {
			t.Fatal(err)
		}
		if l.status != http.StatusOK || l.job == "hostile" || l.bare || at.Path == "/answer" {
			return
		}
		title := l.job + ": " + scriptText(t, ctx, "document.title")
		mu.Lock()
		defer mu.Unlock()
		if other, ok := titles[title]; ok && other != at.Path {
			t.Errorf("the title %q is also that of %s", title, other)
		}
		titles[title] = at.Path
	})
}

// status makes sure that a page is the one that is meant.
func status(t *testing.T, l look) {
	t.Helper()
	r, err := http.Get(l.url)
	if err != nil {
		t.Fatal(err)
	}
	r.Body.Close()
	if r.StatusCode != l.status {
		t.Fatalf("%s answers %s; expected %d", l.url, r.Status, l.status)
	}
}

func run(t *testing.T, ctx context.Context, script string) { t.Helper(); runScript(t, ctx, script) }

// still asks for stillness and looks for what moves (WCAG 2.3.3).
func still(t *testing.T, ctx context.Context) {
	t.Helper()
	if _, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
		Features: []*emulation.MediaFeature{{Name: "prefers-reduced-motion", Value: "reduce"}},
	}); err != nil {
		t.Fatal(err)
	}
	finds(t, ctx, "moves", moving)
	// What is still being reckoned comes before anybody goes through the page.
	for end := time.Now().Add(time.Minute); scriptText(t, ctx, `String(document.querySelector("[aria-busy=true]") !== null)`) == "true"; time.Sleep(50 * time.Millisecond) {
		if time.Now().After(end) {
			t.Error("something on the page is still being reckoned after a minute")
			return
		}
	}
}

// tabs presses Tab once for each place that it should come to, and once more.
func tabs(t *testing.T, ctx context.Context) {
	t.Helper()
	n, err := chromedp.Run(ctx, chromedp.Evaluate[int](tabStops))
	if err != nil {
		t.Fatal(err)
	}
	for range n + 1 {
		if _, err := chromedp.Call(ctx, input.DispatchKeyEvent, input.DispatchKeyEventParams{Type: "rawKeyDown", Key: "Tab", Code: "Tab", WindowsVirtualKeyCode: 9}); err != nil {
			t.Fatal(err)
		}
	}
}

// byKeyboard goes through a page by Tab (WCAG 2.1.1, 2.1.2, 2.4.3, 2.4.7, 2.4.11), and
// past its head by the link that is there for it (2.4.1).
func byKeyboard(t *testing.T, ctx context.Context, l look) {
	t.Helper()
	tabs(t, ctx)
	finds(t, ctx, "by keyboard", tabbed)
	finds(t, ctx, "covered", covered)
	if l.bare {
		return
	}
	run(t, ctx, `document.querySelector(".skip").focus()`)
	if err := chromedp.Do(ctx, chromedp.KeyEvent("\r")); err != nil {
		t.Fatal(err)
	}
	if got := scriptText(t, ctx, `document.activeElement.id + location.hash`); got != "main#main" {
		t.Errorf("past the head the focus is at %q; expected main#main", got)
	}
}
