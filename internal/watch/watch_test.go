package watch

import (
	"math"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/quantity"
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

// A doubt that the instrument doesn't know of is in the interval, put together with
// the others by the root of the sum of squares (JCGM 100:2008, 5.1.2).
func TestDoubt(t *testing.T) {
	with := func(d quantity.Share) Level {
		in, err := Ends(10, 180, 0.2)
		if err != nil {
			t.Fatal(err)
		}
		w, err := New(Config{Tank: "fresh", Instrument: in, Doubt: d})
		if err != nil {
			t.Fatal(err)
		}
		var l Level
		for i := range 60 {
			l = w.Take(Reading{Tank: "fresh", Source: "a", Time: time.Unix(1_790_000_000+int64(i), 0), Value: 95})
		}
		return l
	}
	a, b := with(0), with(0.01)
	if want := math.Hypot(float64(a.U), 0.01); math.Abs(float64(b.U)-want) > 1e-9 || a.Share != b.Share {
		t.Errorf("with a doubt of a point U is %g, expected %g; the share is %g and %g", b.U, want, a.Share, b.Share)
	}
	if math.Abs(b.Volume.U-float64(b.U)*0.2) > 1e-6 {
		t.Errorf("the volume's doubt is %g m³, expected %g", b.Volume.U, float64(b.U)*0.2)
	}
	in, _ := Ends(10, 180, 0)
	for _, d := range []quantity.Share{-0.1, 0.6, quantity.Share(math.NaN())} {
		if _, err := New(Config{Tank: "fresh", Instrument: in, Doubt: d}); err == nil {
			t.Errorf("a doubt of %g is taken", d)
		}
	}
}
