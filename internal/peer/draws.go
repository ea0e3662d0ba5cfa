package peer

import (
	"flag"
	"strconv"
	"testing"
)

// Draws makes a test of a law that costs much go by so many draws, unless the
// person who runs it has asked for a number with -rapid.checks. The usual number
// is there again when the test ends; tests that use it don't run side by side.
func Draws(t testing.TB, n int) {
	t.Helper()
	const name = "rapid.checks"
	f := flag.Lookup(name)
	if f == nil || f.Value.String() != f.DefValue {
		return
	}
	if err := flag.Set(name, strconv.Itoa(n)); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := flag.Set(name, f.DefValue); err != nil {
			t.Error(err)
		}
	})
}
