package browser

import (
	"context"
	"net"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"gaugewright/internal/peer"

	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"
)

// outsidePage asks another host in each of the ways a page can.
const outsidePage = `<!DOCTYPE html><title>Outside</title>
<img src="http://HOST/image"><iframe src="http://HOST/frame"></iframe>
<link rel="stylesheet" href="http://HOST/style"><script src="http://HOST/script"></script>
<img src="/inside">
<script>
	fetch('http://HOST/fetch', {mode: 'no-cors'}).catch(() => 0);
	navigator.sendBeacon('http://HOST/beacon', 'x');
	new WebSocket('ws://HOST/socket');
</script>`

var outsideWays = []string{"/beacon", "/fetch", "/frame", "/image", "/script", "/socket", "/style"}

// What a page asks of another host is written down and doesn't get there. The
// other host is a second address of this machine, so that nothing leaves it
// even where both walls are taken away to show that the test can fail.
func TestOutsideRequests(t *testing.T) {
	for _, c := range []struct {
		name    string
		walls   walls
		reached []string
	}{
		{"no walls", walls{}, outsideWays},
		{"guard alone", walls{guard: true}, []string{"/socket"}},
		{"names alone", walls{names: true}, nil},
		{"as opened", walls{guard: true, names: true}, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			host, reached := otherHost(t)
			ctx := open(t, c.walls)
			if !c.walls.guard {
				if _, err := chromedp.Call(ctx, network.Enable, network.EnableParams{}); err != nil {
					t.Fatal(err)
				}
			}
			address := Serve(t, []byte(strings.ReplaceAll(outsidePage, "HOST", host)))
			Go(t, ctx, address)
			// Beacons and sockets go out some time after the page has loaded.
			waitFor(func() bool { return len(Blocked(ctx)) >= len(outsideWays) })
			waitFor(func() bool { return len(reached()) >= len(c.reached) })
			time.Sleep(200 * time.Millisecond) // for one that shouldn't come

			if got := paths(Blocked(ctx), host); !slices.Equal(got, outsideWays) {
				t.Errorf("blocked %q; expected %q", got, outsideWays)
			}
			if got := paths(Requests(ctx), host); !slices.Equal(got, outsideWays) {
				t.Errorf("requests %q; expected %q", got, outsideWays)
			}
			if got := reached(); !slices.Equal(got, c.reached) {
				t.Errorf("reached the other host: %q; expected %q", got, c.reached)
			}
			if got := Asked(t, address); !slices.Equal(got, []string{"/", "/inside"}) {
				t.Errorf("the page's own server was asked for %q; expected / and /inside", got)
			}
		})
	}
}

// otherHost is a server at another loopback address, and what it was asked.
func otherHost(t *testing.T) (host string, reached func() []string) {
	t.Helper()
	listener, err := new(net.ListenConfig).Listen(context.Background(), "tcp", "127.0.0.2:0")
	if err != nil {
		peer.Missing(t, "this machine has no 127.0.0.2 (%v); run the test on Linux", err)
	}
	var mu sync.Mutex
	var asked []string
	server := httptest.NewUnstartedServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		mu.Lock()
		defer mu.Unlock()
		if r.URL.Path != "/favicon.ico" && !slices.Contains(asked, r.URL.Path) {
			asked = append(asked, r.URL.Path)
		}
	}))
	server.Listener.Close()
	server.Listener = listener
	server.Start()
	t.Cleanup(server.Close)
	return listener.Addr().String(), func() []string {
		mu.Lock()
		defer mu.Unlock()
		return slices.Sorted(slices.Values(asked))
	}
}

// paths are those of the addresses at the host, each once, sorted.
func paths(addresses []string, host string) []string {
	var list []string
	for _, a := range addresses {
		if _, path, ok := strings.Cut(a, "://"+host); ok {
			list = append(list, path)
		}
	}
	slices.Sort(list)
	return slices.Compact(list)
}

func waitFor(done func() bool) {
	for end := time.Now().Add(5 * time.Second); !done() && time.Now().Before(end); {
		time.Sleep(20 * time.Millisecond)
	}
}

func TestPlaceOf(t *testing.T) {
	for address, want := range map[string]place{
		"http://127.0.0.1:8080/":        machine,
		"http://localhost/x":            machine,
		"ws://[::1]:9000/":              machine,
		"file:///etc/hostname":          machine,
		"data:image/png;base64,AAAA":    within,
		"blob:http://127.0.0.1/1-2":     within,
		"about:blank":                   within,
		"https://tank.example/":         outside,
		"http://localhost.example/":     outside,
		"http://127.0.0.1.example/":     outside,
		"http://192.0.2.7/":             outside,
		"http://127.0.0.2/":             outside,
		"file://server.example/share":   outside,
		"wss://127.0.0.1@tank.example/": outside,
		"http://%zz/":                   outside,
		"":                              outside,
	} {
		if got := placeOf(address); got != want {
			t.Errorf("placeOf(%q) = %d, expected %d", address, got, want)
		}
	}
}
