package history

import (
	"fmt"
	"strings"
	"time"

	"gaugewright/internal/quantity"
	"gaugewright/internal/watch"
)

// Sentence says when something happened and what: "3 November 2026, 14:02 – Broken
// wire; the last good level was 61 %." Times are those of the zone (nil: UTC). The
// tank isn't named. What stands beside a time already is told by What.
func (e Event) Sentence(zone *time.Location) string {
	if zone == nil {
		zone = time.UTC
	}
	return e.Time.In(zone).Format("2 January 2006, 15:04") + " – " + e.What()
}

// What says what happened in a sentence, without when.
func (e Event) What() string {
	switch e.Kind {
	case FaultBegan:
		if level := e.level(); level != "" {
			return capital(e.Fault.String()) + "; " + level + "."
		}
		return capital(e.Fault.String()) + "."
	case FaultEnded:
		return "Over: " + e.Fault.String() + "."
	case Began:
		return "The watch began."
	case Ended:
		return "The watch was stopped."
	case Cut:
		return "The watch before this one was cut off: the power failed, or the program was ended by force."
	case Repaired:
		return e.textOr("Something was put right at the start.")
	case DiskFailed:
		if e.Text == "" {
			return "Readings can't be kept on the disk."
		}
		return fmt.Sprintf("Readings can't be kept on the disk: %s.", strings.TrimSuffix(e.Text, "."))
	case DiskWorks:
		return "Readings are kept on the disk again."
	case ClockMoved:
		return e.textOr("This machine's clock was set.")
	case Lost:
		return e.textOr("Something was lost for want of room.")
	}
	return e.textOr("Something happened that this program has no words for.")
}

// level says after a fault what that means for the level.
func (e Event) level() string {
	switch e.Status {
	case watch.OutOfSpec:
		return "the level is shown, and is doubtful"
	case watch.Maintenance:
		return "the level is shown, and someone should look before long"
	case watch.Good:
		return ""
	}
	if !(e.Level >= 0) {
		return "there was no good level before"
	}
	return fmt.Sprintf("the last good level was %s %%", quantity.Short(e.Level*100, 0))
}

// textOr gives the event's own text as a sentence, or another where it has none.
func (e Event) textOr(other string) string {
	if e.Text == "" {
		return other
	}
	return capital(strings.TrimSuffix(e.Text, ".")) + "."
}

func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
