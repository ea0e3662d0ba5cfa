package watch

import (
	"testing"
	"time"
)

// TestAYearTakesNoMoreMemoryThanADay: what is kept of the past is bounded, at a
// reading a minute for a year and at a thousand a second for minutes.
func TestAYearTakesNoMoreMemoryThanADay(t *testing.T) {
	for _, c := range []struct {
		every time.Duration
		n     int
	}{{time.Minute, 365 * 24 * 60}, {time.Millisecond, 300_000}} {
		w := watchOf(t, 10, 180)
		var l Level
		for i := range c.n {
			l = w.Take(Reading{Source: "x", Time: start.Add(time.Duration(i) * c.every), Value: 100 + float64(i%7)/10})
		}
		sound(t, l)
		tr := w.tracks[0]
		if !l.Shown || cap(tr.ring) > 4*mostKept || cap(tr.snaps) > 4*mostKept/every+64 {
			t.Errorf("every %s: %d readings and %d states are kept; %+v", c.every, cap(tr.ring), cap(tr.snaps), l)
		}
	}
}
