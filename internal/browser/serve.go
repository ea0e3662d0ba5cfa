package browser

import (
	"net/http"
	"net/http/httptest"
	"slices"
	"sync"
	"testing"
)

// served holds, for each address handed out by Serve, the paths asked for.
var served struct {
	sync.Mutex
	paths map[string][]string
}

// Serve shows one page at the root of a web server on this machine, for as
// long as the test runs, and returns its address. Any other path is answered
// 404. [Asked] tells which paths were asked for.
func Serve(t testing.TB, html []byte) string {
	t.Helper()
	page := slices.Clone(html)
	var address string
	server := httptest.NewUnstartedServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path != "/favicon.ico" {
			served.Lock()
			served.paths[address] = append(served.paths[address], r.URL.RequestURI())
			served.Unlock()
		}
		if r.URL.Path != "/" {
			http.NotFound(w, r)
			return
		}
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		w.Header().Set("Cache-Control", "no-store")
		_, _ = w.Write(page) // the browser may have gone
	}))
	address = "http://" + server.Listener.Addr().String() + "/"
	served.Lock()
	if served.paths == nil {
		served.paths = make(map[string][]string)
	}
	served.paths[address] = nil
	served.Unlock()
	server.Start()
	t.Cleanup(func() {
		server.Close()
		served.Lock()
		defer served.Unlock()
		delete(served.paths, address)
	})
	return address
}

// Asked lists the paths that were asked of a page's server, in order, with
// their queries, but for the /favicon.ico that a browser asks for by itself.
// The address is one that [Serve] returned in the same test.
func Asked(t testing.TB, address string) []string {
	t.Helper()
	served.Lock()
	defer served.Unlock()
	paths, ok := served.paths[address]
	if !ok {
		t.Fatalf("no page is served at %s; expected an address that Serve returned in this test", address)
	}
	return slices.Clone(paths)
}
