package browser

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
)

// phoneWidth is the width in CSS pixels below which the browser behaves as
// one in a phone does: it lays a page out 980 pixels wide unless the page
// says it fits, and it has a finger in place of a mouse.
const phoneWidth = 600

// settle waits until fonts are there and the page has been drawn since.
var settle = chromedp.Evaluate[chromedp.Void](`document.fonts.ready.then(() =>
	new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done))))`,
	chromedp.EvalAwaitPromise)

// View sets the size of the window in CSS pixels, and whether the person asked
// for dark colours. It holds until the next View.
func View(t testing.TB, ctx context.Context, width, height int, dark bool) {
	t.Helper()
	if err := view(ctx, width, height, dark); err != nil {
		t.Fatalf("a window of %d by %d: %v", width, height, err)
	}
}

func view(ctx context.Context, width, height int, dark bool) error {
	scheme := "light"
	if dark {
		scheme = "dark"
	}
	if _, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
		Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}},
	}); err != nil {
		return err
	}
	if _, err := chromedp.Call(ctx, emulation.SetTouchEmulationEnabled, emulation.SetTouchEmulationEnabledParams{
		Enabled: width < phoneWidth,
	}); err != nil {
		return err
	}
	if _, err := chromedp.Call(ctx, emulation.SetDeviceMetricsOverride, emulation.SetDeviceMetricsOverrideParams{
		Width: int64(width), Height: int64(height), DeviceScaleFactor: 1, Mobile: width < phoneWidth,
	}); err != nil {
		return err
	}
	return chromedp.Do(ctx, settle)
}

// Screenshot writes the whole page as a PNG picture, as a window of this size
// shows it when scrolled from top to bottom. The folder is made if it isn't
// there. The window keeps its size and colours, as with [View].
func Screenshot(t testing.TB, ctx context.Context, width, height int, dark bool, path string) {
	t.Helper()
	View(t, ctx, width, height, dark)
	picture, err := chromedp.Run(ctx, chromedp.FullScreenshot(100)) // 100 means PNG
	if err != nil {
		t.Fatalf("no picture of the page: %v", err)
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, picture, 0o644); err != nil {
		t.Fatal(err)
	}
}

// sideways measures how wide the page is, and what makes it so: the elements
// that end right of the window, but for those inside something that scrolls
// or cuts by itself.
const sideways = `(() => {
	const root = document.documentElement;
	const width = %d;
	const cut = e => {
		for (let p = e.parentElement; p && p !== document.body && p !== root; p = p.parentElement)
			if (getComputedStyle(p).overflowX !== 'visible') return true;
		return false;
	};
	const found = [];
	for (const e of document.body ? document.body.querySelectorAll('*') : []) {
		const right = e.getBoundingClientRect().right + scrollX;
		if (right > width + 0.5 && !cut(e))
			found.push('<' + e.tagName.toLowerCase() + (e.id ? ' id=' + e.id : '') +
				(e.getAttribute('class') ? ' class="' + e.getAttribute('class') + '"' : '') +
				'> ends at ' + Math.round(right));
	}
	return {width: Math.max(root.scrollWidth, width + root.scrollWidth - root.clientWidth), found: found.slice(0, 5)};
})()`

// NoSidewaysScroll fails the test if the page is wider than a window of this
// width in CSS pixels, and names what sticks out. The colours are set to
// light. Below 600 pixels the window is a phone's, where a page without a
// viewport element is too wide by that alone.
func NoSidewaysScroll(t testing.TB, ctx context.Context, width int) {
	t.Helper()
	View(t, ctx, width, 800, false)
	got, err := chromedp.Run(ctx, chromedp.Evaluate[struct {
		Width int
		Found []string
	}](fmt.Sprintf(sideways, width)))
	if err != nil {
		t.Fatalf("the page's width can't be measured: %v", err)
	}
	if got.Width > width {
		t.Errorf("the page is %d pixels wide in a window of %d; expected no more than the window; %s",
			got.Width, width, orNothing(got.Found))
	}
}

func orNothing(found []string) string {
	if len(found) == 0 {
		return "no single element sticks out; look for a missing viewport element, or a margin"
	}
	return strings.Join(found, ", ")
}
