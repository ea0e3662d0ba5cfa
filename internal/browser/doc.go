// Package browser lets a test look at a page as a person's browser shows it.
//
// A page that is right as text can still be wrong on the screen: too wide for
// a phone, too pale to read, dumb to a screen reader, or dependent on
// something fetched from elsewhere, which a workshop without internet hasn't
// got. [Open] starts a headless Chromium of its own for one test and shuts it
// down at the end. The other functions ask it things:
//
//	ctx := browser.Open(t)
//	browser.Go(t, ctx, browser.Serve(t, html))
//	browser.NoSidewaysScroll(t, ctx, 320)
//	for _, v := range browser.Axe(t, ctx) {
//		t.Error(v)
//	}
//
// A browser opened here can reach this machine only. A request for anything
// else is written down, see [Requests] and [Blocked], and refused.
//
// Where there is no Chromium, or no axe-core, the test is skipped, or fails
// with CI=true, as peer.Missing says.
//
// The package is for tests only: nothing but _test.go files may import it.
package browser
