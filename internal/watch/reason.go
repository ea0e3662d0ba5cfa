package watch

import (
	"math"
	"strings"
	"time"

	"gaugewright/internal/quantity"
)

// String gives the fault in two or three words, "" for none.
func (f Fault) String() string {
	switch f {
	case NoFault:
		return ""
	case BrokenWire:
		return "broken wire"
	case ShortCircuit:
		return "short circuit"
	case BeyondSpan:
		return "beyond the sender's span"
	case JustBeyond:
		return "just beyond the calibrated span"
	case Jump:
		return "impossible jump"
	case Unsettled:
		return "not settled yet"
	case Flicker:
		return "loose contact"
	case NoReading:
		return "no reading"
	case NotAvailable:
		return "no value from the source"
	case SourceBroken:
		return "the source reports a fault"
	case SourcesDisagree:
		return "two sources disagree"
	case ClockOff:
		return "the source's clock is wrong"
	case TooTilted:
		return "tilted too far"
	}
	return "unknown fault"
}

// Reason says in a sentence what is amiss, "" where nothing is: "broken wire
// since 14:02; last good 61 %". Times are those of the zone (nil: UTC), with the
// day where it isn't that of the level's own time.
func (l Level) Reason(zone *time.Location) string {
	if l.Fault == NoFault {
		return ""
	}
	if zone == nil {
		zone = time.UTC
	}
	var b strings.Builder
	b.WriteString(l.Fault.String())
	if l.Status == Check && l.Fault != Unsettled && l.Fault != Flicker {
		b.WriteString(", one reading so far")
	}
	if !l.Since.IsZero() {
		b.WriteString(" since ")
		b.WriteString(clockTime(l.Since, l.Time.Add(l.Age), zone))
	}
	if l.Shown {
		return b.String()
	}
	if l.Last.Time.IsZero() {
		b.WriteString("; no good level yet")
		return b.String()
	}
	b.WriteString("; last good ")
	b.WriteString(quantity.Short(float64(l.Last.Share)*100, 0))
	b.WriteString(" %")
	return b.String()
}

// clockTime writes a time to the minute, with its day where that isn't the day
// of now.
func clockTime(t, now time.Time, zone *time.Location) string {
	t, now = t.In(zone), now.In(zone)
	switch {
	case t.Year() != now.Year():
		return t.Format("2 Jan 2006 15:04")
	case t.YearDay() != now.YearDay():
		return t.Format("2 Jan 15:04")
	}
	return t.Format("15:04")
}

// known gives a figure for a file: nil where it is NaN or infinite, and
// otherwise rounded to so many decimals.
func known(v float64, decimals int) *float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	v = quantity.Round(v, decimals)
	return &v
}
