package history

import (
	"fmt"
	"time"

	"gaugewright/internal/series"
	"gaugewright/internal/watch"
)

// MostBuckets is how many buckets may be asked for.
const MostBuckets = 10_000

// widths are the lengths of buckets up to a day, in seconds. Each divides the day,
// so that buckets begin on the full hour and at midnight in UTC, and from a minute on each is
// a multiple of the minute, from an hour on of the hour, so that rolls can be used.
var widths = [...]int64{
	1, 2, 5, 10, 15, 20, 30,
	60, 120, 180, 300, 600, 900, 1200, 1800,
	3600, 2 * 3600, 3 * 3600, 4 * 3600, 6 * 3600, 8 * 3600, 12 * 3600,
	day,
}

const (
	minute = 60
	hour   = 3600
	day    = 24 * 3600
)

// Grid is where the buckets of a stretch lie. The one at i begins at From + i·Width,
// in whole seconds since 1970 in UTC, and From is a multiple of Width.
type Grid struct {
	From, Width int64
	N           int
}

// Check says what of a stretch can't be.
func (s Stretch) Check() error {
	switch {
	case !s.From.Before(s.To):
		return fmt.Errorf("history from %s to %s; expected the beginning before the end", s.From.UTC().Format(time.RFC3339), s.To.UTC().Format(time.RFC3339))
	case s.Buckets < 1 || s.Buckets > MostBuckets:
		return fmt.Errorf("history in %d parts; expected 1 to %d", s.Buckets, MostBuckets)
	case s.From.Unix() < 0 || s.To.Unix() > latest:
		return fmt.Errorf("history from %s to %s; expected times of the years 1970 to 9999", s.From.UTC().Format(time.RFC3339), s.To.UTC().Format(time.RFC3339))
	}
	return nil
}

// latest is the end of the year 9999.
const latest = 253_402_300_800

// Grid gives the buckets of a stretch: the narrowest of seconds, minutes, hours and
// days of which no more are wanted than were asked for. The first begins at or
// before From, the last ends at or after To. It panics where Check has an error.
func (s Stretch) Grid() Grid {
	if err := s.Check(); err != nil {
		panic(err)
	}
	from, to := s.From.Unix(), s.To.Unix()
	if s.To.Nanosecond() > 0 {
		to++
	}
	for _, w := range widths {
		if g := over(from, to, w); g.N <= s.Buckets {
			return g
		}
	}
	// Whole days, as many as it takes. A bucket more may be needed where From lies
	// late in the first.
	for w := max(1, (to-from)/day/int64(s.Buckets)) * day; ; w += day {
		if g := over(from, to, w); g.N <= s.Buckets {
			return g
		}
	}
}

// over lays buckets of a width over a time.
func over(from, to, width int64) Grid {
	first := floor(from, width)
	return Grid{From: first, Width: width, N: int((to - first + width - 1) / width)}
}

// floor gives the multiple of width at or before t.
func floor(t, width int64) int64 {
	return t - ((t%width)+width)%width
}

// Begin gives when the bucket at i begins.
func (g Grid) Begin(i int) time.Time { return time.Unix(g.From+int64(i)*g.Width, 0).UTC() }

// Place gives the bucket of a time, -1 where it lies in none.
func (g Grid) Place(t time.Time) int {
	u := t.Unix()
	if u < g.From || u >= g.From+int64(g.N)*g.Width {
		return -1
	}
	return int((u - g.From) / g.Width)
}

// Resolution is the length of a kept roll.
type Resolution int64

// The resolutions, in seconds.
const (
	Full   Resolution = 0 // the readings themselves
	Minute Resolution = minute
	Hour   Resolution = hour
	Day    Resolution = day
)

// Coarsest gives the coarsest resolution whose rolls make up whole buckets of the
// grid.
func (g Grid) Coarsest() Resolution {
	for _, r := range [...]Resolution{Day, Hour, Minute} {
		if g.Width%int64(r) == 0 {
			return r
		}
	}
	return Full
}

// Buckets turns rolls of steps, one for each bucket of the grid, into buckets of
// values. Those with nothing in them are left out.
func (g Grid) Buckets(s watch.Signal, rolls []series.Roll) []Bucket {
	var out []Bucket
	for i, r := range rolls {
		if r.N > 0 {
			out = append(out, Bucket{
				From: g.Begin(i), N: r.N,
				Min: Value(s, r.Min), Mean: r.Mean() / perUnit(s), Max: Value(s, r.Max),
			})
		}
	}
	return out
}

// Levels puts rolls of levels, of any resolution that divides the grid's and in any
// order, into its buckets. Those with nothing in them are left out.
func (g Grid) Levels(rolls []LevelRoll) []LevelBucket {
	into := make([]LevelRoll, g.N)
	for _, r := range rolls {
		if i := g.Place(r.From); i >= 0 {
			into[i].Merge(r)
		}
	}
	var out []LevelBucket
	for i, r := range into {
		if r.Share.N > 0 || r.Without > 0 {
			r.From = g.Begin(i)
			out = append(out, r.Bucket())
		}
	}
	return out
}
