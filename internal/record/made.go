package record

import (
	"fmt"
	"time"

	"gaugewright/internal/job"
)

// AsOf gives the last time that a job tells of itself: the latest of its date,
// its history, its benches, settings and checks, and of the times of its readings. A day
// without a time of day is its beginning in UTC. What isn't a date or a time
// isn't counted; the zero time where there is none at all.
func AsOf(j *job.Job) time.Time {
	var last time.Time
	see := func(text string) {
		for _, layout := range []string{time.DateOnly, time.RFC3339} {
			if t, err := time.Parse(layout, text); err == nil {
				if t = t.UTC(); t.After(last) {
					last = t
				}
				return
			}
		}
	}
	see(j.Date)
	for _, r := range j.History {
		see(r.Time)
	}
	bench := func(b job.Bench) {
		see(b.Date)
		for _, r := range b.Readings {
			see(r.Time)
		}
		for _, r := range b.Struck {
			see(r.Time)
			see(r.When)
		}
	}
	for _, t := range j.Tanks {
		bench(t.Bench)
		for _, s := range t.Services {
			bench(s.Bench)
		}
		if t.Setting != nil {
			see(t.Setting.Date)
		}
		for _, c := range t.Checks {
			see(c.Date)
		}
	}
	return last
}

// ParseMade reads when a record is made: a time as in RFC 3339, or a date, which
// is its beginning in UTC and stands in the record without a time of day.
func ParseMade(text string) (time.Time, error) {
	for _, layout := range []string{time.DateOnly, time.RFC3339} {
		if t, err := time.Parse(layout, text); err == nil && t.Year() > 0 {
			return t, nil
		}
	}
	return time.Time{}, fmt.Errorf("%q is no time; expected a date such as 2026-11-03 or a time such as 2026-11-03T16:20:00Z", text)
}

// origin says when the record was made, or how far the job had come of which it
// is the record.
func (d *Document) origin() string {
	switch {
	case d.Made.IsZero():
		return "Made by " + maker + " from a job without a date."
	case d.AsOf:
		return fmt.Sprintf("Made by %s from the job as it stood on %s.", maker, stamp(d.Made))
	}
	return fmt.Sprintf("Made by %s on %s.", maker, stamp(d.Made))
}

// ends says that nothing follows.
func (d *Document) ends() string { return "Here ends: " + d.Name + "." }

// stamp is a time as the record says it; the beginning of a day in UTC is the
// day alone.
func stamp(t time.Time) string {
	if _, offset := t.Zone(); offset == 0 && t.Equal(t.Truncate(24*time.Hour)) {
		return t.Format("2 January 2006")
	}
	return t.Format("2 January 2006, 15:04 MST")
}
