package sqlite

import (
	"testing"
	"time"

	"gaugewright/internal/watch"
)

// TestReadingsUnsealed says how many readings aren't sealed, and of when the latest is.
func TestReadingsUnsealed(t *testing.T) {
	t.Parallel()
	s, now := openedAt(t, noonTime)
	list := someReadings(30)
	for i, c := range []struct {
		keep []watch.Reading
		n    int
		last time.Time
	}{
		{nil, 0, time.Time{}},
		{list[:20], 20, list[19].Time},
		{list[10:25], 25, list[24].Time},
	} {
		if err := s.Keep(c.keep); err != nil {
			t.Fatal(err)
		}
		if n, last := s.Unsealed(); n != c.n || !last.Equal(c.last) {
			t.Errorf("%d: %d, %v; want %d, %v", i, n, last, c.n, c.last)
		}
	}
	*now = now.Add(13 * time.Hour)
	if err := s.Seal(t.Context()); err != nil {
		t.Fatal(err)
	}
	if n, last := s.Unsealed(); n != 0 || !last.Equal(list[24].Time) {
		t.Errorf("sealed: %d, %v", n, last)
	}
}
