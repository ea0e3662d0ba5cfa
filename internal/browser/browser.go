package browser

import (
	"context"
	"os"
	"os/exec"
	"testing"
	"time"

	"gaugewright/internal/peer"

	"github.com/chromedp/chromedp"
)

// ChromiumVariable names the environment variable that says which browser to
// try first.
const ChromiumVariable = "GAUGEWRIGHT_CHROMIUM"

// testLimit is how long one opened browser may be used, and closeLimit how
// long it may take to close by itself before it is killed.
const (
	testLimit  = 5 * time.Minute
	closeLimit = 10 * time.Second
)

// Open starts a headless Chromium with an empty profile of its own, and
// returns the context of its one blank tab, for chromedp and for the functions
// here. The browser is shut down and its profile removed when the test ends,
// and the context is done after five minutes at the latest.
//
// The browser is the first one found of the one named by GAUGEWRIGHT_CHROMIUM,
// and chromium, chromium-browser and google-chrome in PATH. Without one the
// test ends as peer.Missing says.
func Open(t testing.TB) context.Context {
	t.Helper()
	return open(t, walls{guard: true, names: true})
}

// walls are what keeps a page from reaching other machines. Both always stand,
// but in the test that shows what each of them holds.
type walls struct {
	guard bool // each request is looked at; web sockets pass by it
	names bool // no name and no address but this machine's is found
}

func open(t testing.TB, w walls) context.Context {
	t.Helper()
	path := find()
	if path == "" {
		peer.Missing(t, "no Chromium found; install it: apt-get install chromium, or name one in %s", ChromiumVariable)
	}
	alloc, stop := chromedp.NewExecAllocator(context.Background(), options(path, w)...)
	log := new(requestLog)
	tab, cancel := chromedp.NewContext(alloc, chromedp.WithListener(log.event))
	ctx, expire := context.WithTimeout(context.WithValue(tab, logKey{}, log), testLimit)
	t.Cleanup(func() {
		expire()
		closing, done := context.WithTimeout(tab, closeLimit)
		if err := chromedp.Cancel(closing); err != nil {
			t.Logf("the browser didn't close by itself: %v", err)
		}
		done()
		cancel()
		stop() // kills what is still there, and waits for it
		log.guards.Wait()
	})
	// The first action starts the browser, which then lives as long as the
	// context of that action: so not the one with the time limit.
	if err := chromedp.Do(tab); err != nil {
		t.Fatalf("%s didn't start: %v", path, err)
	}
	if w.guard {
		if err := log.guard(ctx); err != nil {
			t.Fatalf("the browser's requests can't be watched: %v", err)
		}
	}
	return ctx
}

// Go opens a page and waits until it has loaded, its fonts with it.
func Go(t testing.TB, ctx context.Context, url string) {
	t.Helper()
	if err := chromedp.Do(ctx, chromedp.Navigate(url), settle); err != nil {
		t.Fatalf("%s didn't open: %v", url, err)
	}
}

// find returns the browser's path, or "".
func find() string {
	for _, name := range []string{os.Getenv(ChromiumVariable), "chromium", "chromium-browser", "google-chrome"} {
		if name == "" {
			continue
		}
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	return ""
}

// options are the flags of the browser. Without a user data directory named
// here chromedp makes an empty one and removes it at the end.
func options(path string, w walls) []chromedp.ExecAllocatorOption {
	on := func(names ...string) (list []chromedp.ExecAllocatorOption) {
		for _, name := range names {
			list = append(list, chromedp.Flag(name, true))
		}
		return list
	}
	list := []chromedp.ExecAllocatorOption{
		chromedp.ExecPath(path),
		chromedp.Flag("headless", "new"),
		// Chromium's sandbox refuses to run as root.
		chromedp.Flag("no-sandbox", os.Getuid() == 0),
		chromedp.Flag("disable-features", "Translate,MediaRouter,OptimizationHints,AutofillServerCommunication"),
		// Colours and glyph edges that are the same on every machine.
		chromedp.Flag("force-color-profile", "srgb"),
		chromedp.Flag("font-render-hinting", "none"),
		chromedp.Flag("password-store", "basic"),
	}
	if w.names {
		// This holds for what the browser asks on its own account, too.
		list = append(list, chromedp.Flag("host-resolver-rules",
			"MAP * ~NOTFOUND, EXCLUDE 127.0.0.1, EXCLUDE localhost, EXCLUDE [::1]"))
	}
	list = append(list, on("disable-gpu", "disable-quic", "no-first-run", "no-default-browser-check", "no-proxy-server",
		"disable-background-networking", "disable-component-update", "disable-sync", "disable-dev-shm-usage",
		"disable-breakpad", "disable-default-apps", "disable-extensions", "metrics-recording-only",
		"hide-scrollbars", "mute-audio")...)
	return list
}
