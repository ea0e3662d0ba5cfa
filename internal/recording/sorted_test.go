package recording_test

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"gaugewright/internal/recording"
)

// Rows in no order of time are sorted by it, and none is lost. Two sources by turns of which
// one's clock is wrong are no such file, nor are rows that changed places.
func TestSorted(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	const n = 3000
	for name, c := range map[string]struct {
		at     func(i int) int
		sorted bool
		given  int // at the least
	}{
		"shuffled":                       {func(perm []int) func(int) int { return func(i int) int { return 60 * perm[i] } }(r.Perm(n)), true, n},
		"by turns, an hour apart":        {func(i int) int { return 10*i - 3600*(i%2) }, false, n / 2},
		"neighbours that changed places": {func(i int) int { return 60 * (i ^ 1) }, false, n},
		"from the newest to the oldest":  {func(i int) int { return 60 * (n - i) }, false, n},
		"in order":                       {func(i int) int { return 60 * i }, false, n},
	} {
		var b strings.Builder
		b.WriteString("time,ohm\n")
		for i := range n {
			fmt.Fprintf(&b, "%d,%d\n", start+c.at(i), i)
		}
		h, err := recording.NewHistory(strings.NewReader(b.String()), "test", recording.Options{})
		if err != nil {
			t.Fatal(err)
		}
		given, last := 0, int64(0)
		for row, err := h.Next(); err == nil; row, err = h.Next() {
			if row.Time < last {
				t.Errorf("%s: a row is before the one that was given before it", name)
			}
			given, last = given+1, row.Time
		}
		if h.Sorted() != c.sorted || given < c.given {
			t.Errorf("%s: sorted %v, %d rows given; expected %v, %d", name, h.Sorted(), given, c.sorted, c.given)
		}
	}
}
