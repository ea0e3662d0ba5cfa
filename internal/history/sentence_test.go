package history

import (
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
		{Event{Kind: FaultBegan, Fault: watch.BrokenWire, Status: watch.Failure, Level: 0.614}, "broken wire; the last good level was 61 %."},
		{Event{Kind: FaultBegan, Fault: watch.ShortCircuit, Status: watch.Failure}, "short circuit; the last good level was 0 %."},
		{Event{Kind: FaultBegan, Fault: watch.NoReading, Status: watch.Failure, Level: -1}, "no reading; there was no good level before."},
		{Event{Kind: FaultBegan, Fault: watch.Unsettled, Status: watch.Check, Level: 0.2}, "not settled yet; the last good level was 20 %."},
		{Event{Kind: FaultBegan, Fault: watch.JustBeyond, Status: watch.OutOfSpec, Level: 1}, "just beyond the calibrated span; the level is shown, and is doubtful."},
		{Event{Kind: FaultBegan, Fault: watch.ClockOff, Status: watch.Maintenance, Level: 0.5}, "the source's clock is wrong; the level is shown, and someone should look before long."},
		{Event{Kind: FaultEnded, Fault: watch.BrokenWire}, "over: broken wire."},
		{Event{Kind: Began}, "the watch began."},
		{Event{Kind: Ended}, "the watch was stopped."},
		{Event{Kind: Cut}, "the watch before this one was cut off: the power failed, or the program was ended by force."},
		{Event{Kind: Repaired, Text: "The file was damaged; a new one was begun."}, "the file was damaged; a new one was begun."},
		{Event{Kind: Repaired}, "something was put right at the start."},
		{Event{Kind: DiskFailed, Text: "no space left on device"}, "readings can't be kept on the disk: no space left on device."},
		{Event{Kind: DiskFailed}, "readings can't be kept on the disk."},
		{Event{Kind: DiskWorks}, "readings are kept on the disk again."},
		{Event{Kind: ClockMoved, Text: "this machine's clock was set back by 2 h"}, "this machine's clock was set back by 2 h."},
		{Event{Kind: ClockMoved}, "this machine's clock was set."},
		{Event{Kind: Lost, Text: "some 12 readings of fresh were lost"}, "some 12 readings of fresh were lost."},
		{Event{Kind: Lost}, "something was lost for want of room."},
		{Event{Kind: "other"}, "something happened that this program has no words for."},
	} {
		c.event.Time = at
		if got := c.event.Sentence(zone); got != "3 November 2026, 14:02: "+c.says {
			t.Errorf("%s: %q, expected %q", c.event.Kind, got, c.says)
		}
		if got := c.event.Sentence(nil); got[:24] != "3 November 2026, 13:02: " {
			t.Errorf("%s in UTC: %q", c.event.Kind, got)
		}
		if got := c.event.What(); small(got) != c.says || got == c.says {
			t.Errorf("%s: %q, expected %q with a capital", c.event.Kind, got, c.says)
		}
	}
}
