package web

import (
	"fmt"
	"net/url"
	"time"
)

// stretch is how long a time a tank's page shows.
type stretch struct {
	Name, Words string
	back        func(to time.Time) time.Time
}

func hours(n int) func(time.Time) time.Time {
	return func(to time.Time) time.Time { return to.Add(-time.Duration(n) * time.Hour) }
}

func daysBack(n int) func(time.Time) time.Time {
	return func(to time.Time) time.Time { return to.AddDate(0, 0, -n) }
}

// monthsBack goes to the same day of an earlier month, or to its last where it has
// no such day.
func monthsBack(n int) func(time.Time) time.Time {
	return func(to time.Time) time.Time {
		back := to.AddDate(0, -n, 0)
		if back.Day() != to.Day() {
			back = back.AddDate(0, 0, -back.Day())
		}
		return back
	}
}

// stretches are those to choose from; the last has no length of its own. A day of
// the calendar is longer or shorter where clocks change.
var stretches = []stretch{
	{"hour", "hour", hours(1)},
	{"6h", "6 hours", hours(6)},
	{"day", "day", daysBack(1)},
	{"week", "week", daysBack(7)},
	{"month", "month", monthsBack(1)},
	{"year", "year", monthsBack(12)},
	{"all", "all that is kept", nil},
}

// usualStretch is shown where none is asked for.
const usualStretch = 2

// mostBuckets is into how many parts a time is cut for a drawing, about: the wide one
// has two pixels for each.
const mostBuckets = 400

// pastAsk is which time is asked for.
type pastAsk struct {
	stretch stretch
	all     bool
	until   time.Time // it ends then
	live    bool      // it ends now
}

// from gives when it begins; zero where that is up to what is kept.
func (a pastAsk) from() time.Time {
	if a.all {
		return time.Time{}
	}
	return a.stretch.back(a.until)
}

// oldest is the first time that can be asked for.
var oldest = time.Date(1990, 1, 1, 0, 0, 0, 0, time.UTC)

// pastAskOf reads which time is asked for: ?for=week&until=2026-11-03. A day counts
// whole, in the zone of this machine.
func pastAskOf(q url.Values, now time.Time) (pastAsk, error) {
	a := pastAsk{stretch: stretches[usualStretch], until: now, live: true}
	if text := q.Get("for"); text != "" {
		found := false
		for _, s := range stretches {
			if s.Name == text {
				a.stretch, a.all, found = s, s.back == nil, true
			}
		}
		if !found {
			return a, refused(fmt.Sprintf("Found %q for how long a time to show; expected hour, 6h, day, week, month, year or all.", text))
		}
	}
	text := q.Get("until")
	if text == "" || a.all {
		return a, nil
	}
	until, err := time.ParseInLocation(time.DateOnly, text, now.Location())
	if err == nil {
		until = dayBegins(until.Year(), until.Month(), until.Day()+1, now.Location())
	} else if until, err = time.Parse(time.RFC3339, text); err != nil || until.Before(oldest) {
		return a, refused(fmt.Sprintf("Found %q for when the time to show ends; expected a day such as 2026-11-03, or a moment such as 2026-11-03T16:20:00Z, from 1990 on.", text))
	}
	if until.Before(oldest) {
		return a, refused(fmt.Sprintf("Found %q for when the time to show ends; expected a day such as 2026-11-03, or a moment such as 2026-11-03T16:20:00Z, from 1990 on.", text))
	}
	if until.Before(now) {
		a.until, a.live = until.In(now.Location()), false
	}
	return a, nil
}

// address is where that time of a tank stands.
func (a pastAsk) address(path string) string {
	q := "?for=" + a.stretch.Name
	if !a.live && !a.all {
		q += "&until=" + url.QueryEscape(a.until.Format(time.RFC3339))
	}
	return path + q
}

// dayBegins gives the first moment of a day: 1:00 where clocks go from midnight on
// by an hour.
func dayBegins(year int, month time.Month, day int, zone *time.Location) time.Time {
	noon := time.Date(year, month, day, 12, 0, 0, 0, zone)
	t := time.Date(year, month, day, 0, 0, 0, 0, zone)
	// Of a midnight that doesn't exist, or exists twice, time.Date may give either.
	for t.Day() != noon.Day() {
		t = t.Add(30 * time.Minute)
	}
	for before := t.Add(-30 * time.Minute); before.Day() == noon.Day() && before.Month() == noon.Month(); before = before.Add(-30 * time.Minute) {
		t = before
	}
	return t
}
