package job

import (
	"fmt"
	"testing"

	"gaugewright/internal/tankfile"
)

// A tank that was never read from a file has its shape built once as well, for
// as long as the shape is the same and among those used last.
func TestRecentShapes(t *testing.T) {
	shaped := func(mm float64) Tank {
		return Tank{Name: "A", Contents: Water, Shape: &tankfile.File{Body: tankfile.Body{
			Shape: "horizontal-cylinder", DiameterMM: mm, LengthMM: 800, Heads: &tankfile.Heads{Both: "flat"},
		}}}
	}
	built := func(mm float64) any {
		t.Helper()
		b, _, _, err := shaped(mm).Built()
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	first := built(300)
	if built(300) != first {
		t.Error("the same shape was built twice")
	}
	if built(301) == first {
		t.Error("another shape is the same tank")
	}

	var r recentShapes
	count := 0
	of := func(key string, b builtShape) {
		r.of(key, func() builtShape { count++; return b })
	}
	for i := range 3 * shapesKept {
		of(fmt.Sprint(i), builtShape{})
		of("0", builtShape{}) // in use all the while
	}
	if count != 3*shapesKept || len(r.list) != shapesKept {
		t.Errorf("%d were built and %d kept; want %d and %d", count, len(r.list), 3*shapesKept, shapesKept)
	}
	count = 0
	for range 2 {
		of("files", builtShape{files: true}) // they may change
		of("error", builtShape{err: fmt.Errorf("a file that is missing may be put there")})
	}
	if count != 4 {
		t.Errorf("%d were built; want 4: other files may change", count)
	}
}
