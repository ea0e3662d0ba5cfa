package watch

import (
	"fmt"
	"testing"
	"time"
)

// A ninth source is left out and counted while eight are heard; once one of them
// has been silent for the stale age it takes that one's place, and no count is lost.
func TestManySources(t *testing.T) {
	in, err := Ends(10, 180, 0)
	if err != nil {
		t.Fatal(err)
	}
	w, err := New(Config{Tank: "fresh", Instrument: in, Stale: time.Minute})
	if err != nil {
		t.Fatal(err)
	}
	begun := time.Unix(1_790_000_000, 0)
	take := func(after time.Duration, source string, ohm float64) Level {
		return w.Take(Reading{Tank: "fresh", Source: source, Time: begun.Add(after), Value: ohm})
	}
	for i := range 5 {
		for s := range mostSources {
			take(time.Duration(i)*time.Second+time.Duration(s)*time.Millisecond, fmt.Sprint("s", s), 95)
		}
	}
	take(5*time.Second, "ninth", 20)
	if c := w.Counts(); c.Crowd != 1 || c.Taken != 5*mostSources {
		t.Errorf("a ninth source: %+v", c)
	}
	var l Level
	for i := range 200 {
		l = take(6*time.Second+time.Duration(i)*time.Second, "s0", 95)
	}
	for i := range 5 {
		take(206*time.Second+time.Duration(i)*time.Second, "ninth", 95)
	}
	if c := w.Counts(); c.Crowd != 1 || c.Taken != 5*mostSources+205 || len(w.tracks) != mostSources {
		t.Errorf("once the others are silent: %+v, with %d sources", c, len(w.tracks))
	}
	if l.Source != "s0" || !l.Shown {
		t.Errorf("the level is of %q", l.Source)
	}
}
