package history

import (
	"math"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"gaugewright/internal/series"
	"gaugewright/internal/watch"
)

var start = time.Date(2026, 11, 3, 13, 2, 40, 0, time.UTC)

// TestGridLaws: the buckets cover the stretch, are no more than were asked for, and
// begin at multiples of their length; none lies wholly outside of the stretch.
func TestGridLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		from := time.Unix(rapid.Int64Range(0, 4e9).Draw(t, "from"), rapid.Int64Range(0, 999_999_999).Draw(t, "ns"))
		length := time.Duration(rapid.SampledFrom([]int64{1e9, 60e9, 3600e9, 86400e9, 30 * 86400e9, 9_000_000e12}).Draw(t, "unit") / 1000 * rapid.Int64Range(1, 1000).Draw(t, "length"))
		s := Stretch{From: from, To: from.Add(length), Buckets: rapid.IntRange(1, MostBuckets).Draw(t, "buckets")}
		if err := s.Check(); err != nil {
			t.Fatal(err)
		}
		g := s.Grid()
		end := g.Begin(g.N)
		switch {
		case g.N < 1 || g.N > s.Buckets:
			t.Fatalf("%d buckets, %d were asked for", g.N, s.Buckets)
		case g.Width < 1 || floor(g.From, g.Width) != g.From:
			t.Fatalf("the first begins at %d, in steps of %d s", g.From, g.Width)
		case g.Begin(0).After(s.From) || end.Before(s.To):
			t.Fatalf("%s to %s: the buckets go from %s to %s", s.From, s.To, g.Begin(0), end)
		case !g.Begin(1).After(s.From) || !g.Begin(g.N-1).Before(s.To):
			t.Fatalf("a bucket of %d s lies outside of %s to %s", g.Width, s.From, s.To)
		case g.Width > day && g.Width%day != 0, g.Width > hour && g.Width%hour != 0, g.Width > minute && g.Width%minute != 0:
			t.Fatalf("a bucket of %d s has parts of days, hours or minutes", g.Width)
		}
		if r := g.Coarsest(); r != Full && g.Width%int64(r) != 0 {
			t.Fatalf("%d s has no whole number of %d s", g.Width, r)
		}
	})
}

func TestGridOfUsualStretches(t *testing.T) {
	for _, c := range []struct {
		length  time.Duration
		buckets int
		width   int64
		uses    Resolution
	}{
		{time.Hour, 1000, 5, Full},
		{time.Hour, 60, 120, Minute}, // 61 minutes are touched
		{24 * time.Hour, 1000, 120, Minute},
		{7 * 24 * time.Hour, 1000, 900, Minute},
		{31 * 24 * time.Hour, 1000, 3600, Hour},
		{365 * 24 * time.Hour, 1000, 12 * 3600, Hour},
		{365 * 24 * time.Hour, 400, 24 * 3600, Day},
		{3650 * 24 * time.Hour, 1000, 4 * 24 * 3600, Day},
	} {
		g := Stretch{From: start, To: start.Add(c.length), Buckets: c.buckets}.Grid()
		if g.Width != c.width || g.Coarsest() != c.uses {
			t.Errorf("%s in %d: %d s from rolls of %d s; expected %d from %d", c.length, c.buckets, g.Width, g.Coarsest(), c.width, c.uses)
		}
	}
}

func TestWhatCantBeAsked(t *testing.T) {
	for _, c := range []struct {
		s    Stretch
		says string
	}{
		{Stretch{From: start, To: start, Buckets: 5}, "history from 2026-11-03T13:02:40Z to 2026-11-03T13:02:40Z; expected the beginning before the end"},
		{Stretch{From: start, To: start.Add(1), Buckets: 0}, "history in 0 parts; expected 1 to 10000"},
		{Stretch{From: start, To: start.Add(1), Buckets: 10001}, "history in 10001 parts; expected 1 to 10000"},
		{Stretch{From: time.Unix(-1, 0), To: start, Buckets: 1}, "history from 1969-12-31T23:59:59Z to 2026-11-03T13:02:40Z; expected times of the years 1970 to 9999"},
	} {
		if err := c.s.Check(); err == nil || err.Error() != c.says {
			t.Errorf("%v, expected %q", err, c.says)
		}
	}
}

// TestRoundingTwiceIsRoundingOnce: what is given back rounds to the same steps, so a
// reading that comes again is known again.
func TestRoundingTwiceIsRoundingOnce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.SampledFrom([]watch.Signal{watch.Ohm, watch.Volt, watch.Count, watch.Percent}).Draw(t, "signal")
		v := rapid.Float64().Draw(t, "value")
		steps, ok := Steps(s, v)
		if !ok {
			if math.Abs(v) < 1e11 {
				t.Fatalf("%g %s isn't rounded", v, s)
			}
			return
		}
		again, ok := Steps(s, Value(s, steps))
		if !ok || again != steps || math.Abs(Value(s, steps)-v) > 0.5001/perUnit(s)+math.Abs(v)*1e-15 {
			t.Fatalf("%g %s is %d steps, which is %g, which is %d steps", v, s, steps, Value(s, steps), again)
		}
	})
	for _, v := range []float64{math.NaN(), math.Inf(1), math.Inf(-1), 1e300, -1e300} {
		if _, ok := Steps(watch.Ohm, v); ok {
			t.Errorf("%g is rounded", v)
		}
	}
	for s, expect := range map[watch.Signal]int64{watch.Ohm: 1137, watch.Volt: 113654, watch.Count: 1137, watch.Percent: 11365} {
		if got, _ := Steps(s, 113.654); got != expect {
			t.Errorf("113.654 %s is %d steps, expected %d", s, got, expect)
		}
	}
}

func TestBucketsOfRolls(t *testing.T) {
	g := Grid{From: 600, Width: 60, N: 3}
	rolls := make([]series.Roll, 3)
	series.Fold([]int64{600, 601, 720}, []int64{1000, 1003, 1200}, 600, 60, rolls)
	expect := []Bucket{
		{From: time.Unix(600, 0).UTC(), N: 2, Min: 100, Mean: 100.15, Max: 100.3},
		{From: time.Unix(720, 0).UTC(), N: 1, Min: 120, Mean: 120, Max: 120},
	}
	if got := g.Buckets(watch.Ohm, rolls); !slices.Equal(got, expect) {
		t.Errorf("%v, expected %v", got, expect)
	}
}
