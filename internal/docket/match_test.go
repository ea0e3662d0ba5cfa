package docket

import (
	"math"
	"testing"
	"time"
)

// course makes levels of stretches: each goes to a level in so long, with slosh on it.
type stretch struct {
	to    float64
	took  time.Duration
	quiet bool // no level comes meanwhile
	fault bool // none can be believed
}

func course(from float64, list ...stretch) (levels []Point) {
	at, level := day.Add(-3*time.Hour), from
	for _, s := range list {
		const step = 20 * time.Second
		n := int(s.took / step)
		for i := range n {
			v := level + (s.to-level)*float64(i+1)/float64(n)
			at = at.Add(step)
			if !s.quiet {
				levels = append(levels, Point{Time: at, Level: v + 0.004*math.Sin(float64(len(levels))), Shown: !s.fault})
			}
		}
		level = s.to
	}
	return levels
}

func TestMatch(t *testing.T) {
	const hour, minute = time.Hour, time.Minute
	receipt := Docket{Kind: Receipt, Time: day}
	for name, c := range map[string]struct {
		levels        []Point
		d             Docket
		refill        bool
		before, after float64 // -1: none
	}{
		"a minute":                   {course(0.3, stretch{to: 0.28, took: 3 * hour}, stretch{to: 0.8, took: minute}, stretch{to: 0.8, took: 2 * hour}), receipt, true, 0.28, 0.8},
		"an hour's hose":             {course(0.2, stretch{to: 0.2, took: 2 * hour}, stretch{to: 0.9, took: hour}, stretch{to: 0.9, took: 2 * hour}), receipt, true, 0.2, 0.9},
		"right after much was drawn": {course(0.55, stretch{to: 0.55, took: 3 * hour}, stretch{to: 0.22, took: 20 * time.Second}, stretch{to: 0.22, took: 40 * time.Second}, stretch{to: 0.72, took: minute, quiet: true}, stretch{to: 0.72, took: 2 * hour}), receipt, true, 0.22, 0.72},
		"and then drawn from":        {course(0.2, stretch{to: 0.2, took: 3 * hour}, stretch{to: 0.8, took: minute}, stretch{to: 0.8, took: 2 * minute}, stretch{to: 0.5, took: 2 * minute}, stretch{to: 0.5, took: hour}), receipt, true, 0.2, 0.8},
		"in a gap":                   {course(0.2, stretch{to: 0.2, took: 2 * hour}, stretch{to: 0.7, took: 2 * hour, quiet: true}, stretch{to: 0.7, took: 2 * hour}), receipt, true, 0.2, 0.7},
		"in two pours":               {course(0.2, stretch{to: 0.2, took: 3 * hour}, stretch{to: 0.5, took: 2 * minute}, stretch{to: 0.5, took: 8 * minute}, stretch{to: 0.8, took: 2 * minute}, stretch{to: 0.8, took: hour}), receipt, true, 0.2, 0.8},
		"the nearer of two":          {course(0.2, stretch{to: 0.6, took: minute}, stretch{to: 0.3, took: 3 * hour}, stretch{to: 0.8, took: minute}, stretch{to: 0.8, took: hour}), receipt, true, 0.3, 0.8},
		"nothing came in":            {course(0.5, stretch{to: 0.4, took: 6 * hour}), receipt, false, 0.456, 0.443},
		"a broken sender":            {course(0.2, stretch{to: 0.2, took: hour}, stretch{to: 0.8, took: 5 * hour, fault: true}), receipt, false, -1, -1},
		"no levels":                  {nil, receipt, false, -1, -1},
		"it ran out":                 {course(0.2, stretch{to: 0.01, took: 3 * hour}, stretch{to: 0.8, took: minute}, stretch{to: 0.8, took: hour}), Docket{Kind: RanOut, Time: day.Add(-minute)}, false, -1, 0.02},
		"the pump stopped":           {course(0.2, stretch{to: 0.2, took: 3 * hour}, stretch{to: 0.8, took: 3 * minute}, stretch{to: 0.8, took: hour}), Docket{Kind: Stopped, Time: day}, false, -1, 0.8},
		"weighed, long ago":          {course(0.6, stretch{to: 0.6, took: 6 * hour}), Docket{Kind: Weighed, Time: day.Add(-24 * hour)}, false, -1, -1},
		"weighed":                    {course(0.6, stretch{to: 0.6, took: 6 * hour}), Docket{Kind: Weighed, Time: day}, false, -1, 0.6},
		"slosh is no refill":         {course(0.6, stretch{to: 0.6, took: 6 * hour}), receipt, false, 0.6, 0.6},
	} {
		s := Match(c.d, c.levels, day.Add(24*hour))
		near := func(got, want float64) bool {
			if want < 0 {
				return got == -1
			}
			return math.Abs(got-want) < 0.012
		}
		if s.Refill != c.refill || !near(s.Before, c.before) || !near(s.After, c.after) || !s.Done {
			t.Errorf("%s: refill %v, from %.3f to %.3f, done %v; expected %v, from %.3f to %.3f", name, s.Refill, s.Before, s.After, s.Done, c.refill, c.before, c.after)
		}
		if early := Match(c.d, c.levels, c.d.Time.Add(minute)); early.Done {
			t.Errorf("%s: it isn't looked for again a minute after it", name)
		}
	}
}
