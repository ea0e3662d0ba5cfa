package history

import (
	"strings"
	"testing"
	"time"

	"gaugewright/internal/watch"
)

func TestEachEventHasItsSentence(t *testing.T) {
	at := time.Date(2026, 11, 3, 13, 2, 40, 0, time.UTC)
	zone := time.FixedZone("", 3600)
	for _, c := range []struct {
		event Event
		says  string
	}{
		{Event{Kind: FaultBegan, Fault: watch.BrokenWire, Status: watch.Failure, Level: 0.614}, "Broken wire; the last good level was 61 %."},
		{Event{Kind: FaultBegan, Fault: watch.ShortCircuit, Status: watch.Failure}, "Short circuit; the last good level was 0 %."},
		{Event{Kind: FaultBegan, Fault: watch.NoReading, Status: watch.Failure, Level: -1}, "No reading; there was no good level before."},
		{Event{Kind: FaultBegan, Fault: watch.Unsettled, Status: watch.Check, Level: 0.2}, "Not settled yet; the last good level was 20 %."},
		{Event{Kind: FaultBegan, Fault: watch.JustBeyond, Status: watch.OutOfSpec, Level: 1}, "Just beyond the calibrated span; the level is shown, and is doubtful."},
		{Event{Kind: FaultBegan, Fault: watch.ClockOff, Status: watch.Maintenance, Level: 0.5}, "The source's clock is wrong; the level is shown, and someone should look before long."},
		{Event{Kind: FaultEnded, Fault: watch.BrokenWire}, "Over: broken wire."},
		{Event{Kind: Began}, "The watch began."},
		{Event{Kind: Ended}, "The watch was stopped."},
		{Event{Kind: Cut}, "The watch before this one was cut off: the power failed, or the program was ended by force."},
		{Event{Kind: Repaired, Text: "The file was damaged; a new one was begun."}, "The file was damaged; a new one was begun."},
		{Event{Kind: Repaired}, "Something was put right at the start."},
		{Event{Kind: DiskFailed, Text: "no space left on device"}, "Readings can't be kept on the disk: no space left on device."},
		{Event{Kind: DiskFailed}, "Readings can't be kept on the disk."},
		{Event{Kind: DiskWorks}, "Readings are kept on the disk again."},
		{Event{Kind: ClockMoved, Text: "this machine's clock was set back by 2 h"}, "This machine's clock was set back by 2 h."},
		{Event{Kind: ClockMoved}, "This machine's clock was set."},
		{Event{Kind: Lost, Text: "some 12 readings of fresh were lost"}, "Some 12 readings of fresh were lost."},
		{Event{Kind: Lost}, "Something was lost for want of room."},
		{Event{Kind: "other"}, "Something happened that this program has no words for."},
	} {
		c.event.Time = at
		if got := c.event.Sentence(zone); got != "3 November 2026, 14:02 – "+c.says {
			t.Errorf("%s: %q, expected %q", c.event.Kind, got, c.says)
		}
		if got := c.event.Sentence(nil); !strings.HasPrefix(got, "3 November 2026, 13:02 – ") {
			t.Errorf("%s in UTC: %q", c.event.Kind, got)
		}
		if got := c.event.What(); got != c.says {
			t.Errorf("%s: %q, expected %q", c.event.Kind, got, c.says)
		}
	}
}
