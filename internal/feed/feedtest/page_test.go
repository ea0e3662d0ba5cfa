package feedtest

import (
	"strings"
	"testing"
)

// A key that nobody knows, a table of another kind and a page without a row for
// a key are told.
func TestPageFails(t *testing.T) {
	type config struct{ Tank string }
	for want, f := range map[string]func(testing.TB){
		"unknown keys [can.boat.tnk]":          func(t testing.TB) { Feeds[config](t, "can", "[can.boat]\ntnk = 'fresh'") },
		"no table can, or others beside it":    func(t testing.TB) { Feeds[config](t, "can", "[can.boat]\ntank = 'fresh'\n[xdr.boat]") },
		"no table xdr, or others":              func(t testing.TB) { Feeds[config](t, "xdr", "[can.boat]\ntank = 'fresh'") },
		"toml: line 1: expected":               func(t testing.TB) { Decode[config](t, "tank fresh") },
		"feeds-can.md says nothing of no_such": func(t testing.TB) { Documented(t, "feeds-can.md", "interface", "no_such") },
		"no_such.md":                           func(t testing.TB) { Page(t, "no_such.md") },
	} {
		if got := told(f); len(got) != 1 || !strings.Contains(got[0], want) {
			t.Errorf("%q; expected %q", got, want)
		}
	}
}
