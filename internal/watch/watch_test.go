package watch

import (
	"math"
	"strings"
	"testing"
	"time"
)

// steady watches a sender of 10 to 180 Ω that has stood at 61 % for a minute.
func steady(t *testing.T) (*Watch, time.Time) {
	t.Helper()
	in, err := Ends(10, 180, 0.1)
	if err != nil {
		t.Fatal(err)
	}
	w, err := New(Config{Tank: "fresh", Instrument: in})
	if err != nil {
		t.Fatal(err)
	}
	at := time.Date(2026, 3, 2, 14, 1, 0, 0, time.UTC)
	var l Level
	for range 60 {
		l = w.Take(Reading{Tank: "fresh", Source: "mqtt", Time: at, Value: 113.7})
		at = at.Add(time.Second)
	}
	if !l.Shown || l.Status != Good || math.Abs(float64(l.Share)-0.61) > 0.001 || l.Motion != Standing {
		t.Fatalf("after a minute: %+v", l)
	}
	return w, at
}

func TestABrokenWireIsToldWithinTwoReadings(t *testing.T) {
	w, at := steady(t)
	l := w.Take(Reading{Tank: "fresh", Source: "mqtt", Time: at, Value: 99999})
	if l.Shown || l.Status != Check || l.Last.Time.IsZero() {
		t.Errorf("after one open reading: %+v", l)
	}
	l = w.Take(Reading{Tank: "fresh", Source: "mqtt", Time: at.Add(time.Second), Value: 99999})
	if l.Shown || l.Status != Failure || l.Fault != BrokenWire {
		t.Errorf("after two: %+v", l)
	}
	if got := l.Reason(time.UTC); got != "broken wire since 14:02; last good 61 %" {
		t.Errorf("reason %q", got)
	}
	for i := range 3 {
		l = w.Take(Reading{Tank: "fresh", Source: "mqtt", Time: at.Add(time.Duration(10+i) * time.Second), Value: 113.7})
	}
	if !l.Shown || l.Status != Good || l.Reason(nil) != "" || math.Abs(float64(l.Share)-0.61) > 0.001 {
		t.Errorf("mended: %+v", l)
	}
	p := l.Publish()
	if p.LevelPct == nil || math.Abs(*p.LevelPct-61) > 0.1 || p.Status != "good" || p.Motion != "standing" {
		t.Errorf("published %+v", p)
	}
}

func TestNothingComesForTooLong(t *testing.T) {
	w, at := steady(t)
	l := w.At(at.Add(time.Minute))
	if !l.Shown || l.Age < time.Minute {
		t.Errorf("after a minute: %+v", l)
	}
	l = w.At(at.Add(6 * time.Minute))
	if l.Shown || l.Status != Failure || l.Fault != NoReading || !strings.HasPrefix(l.Reason(nil), "no reading since 14:01; last good 61 %") {
		t.Errorf("after six: %q %+v", l.Reason(nil), l)
	}
}
