package contents

import (
	"fmt"
	"math"
	"time"

	"gaugewright/internal/quantity"
)

// RefillBy gives the day by which to refill, when the level was told at the
// given time: that of the low end, so that it lasts till then in all but 2.5 of
// a hundred cases. Where nothing uses it, or that day is more than a year off,
// ok is false.
func (l Lasting) RefillBy(from time.Time) (day time.Time, ok bool) {
	days := l.Left.Days().Low
	if l.Nothing || days > 365 {
		return time.Time{}, false
	}
	return from.AddDate(0, 0, int(math.Floor(days+1e-9))), true
}

// Sentence tells an owner how long it lasts, by days, hours or minutes with the
// low end cut and the high end rounded up: "At this use the gas lasts 5 to 9
// days, 7 in the middle; refill by 12 November."
func (l Lasting) Sentence(from time.Time) string {
	switch {
	case l.Nothing:
		return fmt.Sprintf("Nothing uses the %s.", l.Name)
	case l.Empty:
		return fmt.Sprintf("Nothing of the %s that is left can be drawn; refill now.", l.Name)
	}
	text := fmt.Sprintf("At this use the %s lasts %s", l.Name, l.Left)
	day, ok := l.RefillBy(from)
	if !ok {
		return text + "."
	}
	switch {
	case day.Equal(from):
		return text + "; refill today."
	case day.Year() != from.Year():
		return text + "; refill by " + day.Format("2 January 2006") + "."
	}
	return text + "; refill by " + day.Format("2 January") + "."
}

// String gives the duration in whole days, hours or minutes: "5 to 9 days, 7 in
// the middle". The low end is cut and the high end rounded up, so the interval
// shown is never the narrower.
func (d Duration) String() string {
	unit, name := loadsDay, "day"
	usual := d.Mid
	if usual == 0 {
		usual = d.High
	}
	switch {
	case d.Low > 365*loadsDay:
		return "more than a year"
	case usual < 2*3600:
		unit, name = 60, "minute"
	case usual < 2*loadsDay:
		unit, name = 3600, "hour"
	}
	in := d.lastsIn(unit)
	// A figure that is whole but for its last digits is that whole.
	low, mid, high := math.Floor(in.Low+1e-9), math.Round(in.Mid), math.Ceil(in.High-1e-9)
	count := func(v float64) string {
		text := quantity.Digits(v, 0) + " " + name
		if v != 1 {
			text += "s"
		}
		return text
	}
	switch {
	case low == high:
		return count(low)
	case d.High > 10*365*loadsDay:
		return count(low) + " or longer"
	case low == 0 && mid == 0 || high-low == 1 && low == 0:
		return "at most " + count(high)
	case low == 0:
		return fmt.Sprintf("at most %s, %s in the middle", count(high), quantity.Digits(mid, 0))
	case high-low < 2:
		return fmt.Sprintf("%s to %s", quantity.Digits(low, 0), count(high))
	}
	return fmt.Sprintf("%s to %s, %s in the middle", quantity.Digits(low, 0), count(high), quantity.Digits(mid, 0))
}
