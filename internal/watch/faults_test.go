package watch

import (
	"math"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/gauge"
	"gaugewright/internal/quantity"
)

// feed hands values over, a second apart, and gives the last level.
func feed(w *Watch, at *time.Time, values ...float64) Level {
	var l Level
	for _, v := range values {
		l = w.Take(Reading{Tank: "a", Source: "x", Time: *at, Value: v})
		*at = at.Add(time.Second)
	}
	return l
}

func repeat(v float64, n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = v
	}
	return out
}

// TestEachFaultHasItsStatus goes through what a sender can do, after a minute at
// 61 % (113.7 Ω of 10 to 180 Ω).
func TestEachFaultHasItsStatus(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		name   string
		lower  float64
		values []float64
		shown  bool
		status Status
		fault  Fault
	}{
		{"one open reading", 10, []float64{99999}, false, Check, BrokenWire},
		{"two", 10, []float64{99999, 99999}, false, Failure, BrokenWire},
		{"an open input that reads little above the span", 10, []float64{260, 260}, false, Failure, BrokenWire},
		{"endless ohms", 10, []float64{math.Inf(1), math.Inf(1)}, false, Failure, BrokenWire},
		{"an open reading, then a good one", 10, []float64{99999, 113.7}, true, Good, NoFault},
		{"mended, one reading", 10, []float64{99999, 99999, 113.7}, false, Check, Unsettled},
		{"mended, two", 10, []float64{99999, 99999, 113.7, 113.7}, true, Good, NoFault},
		{"one short reading", 10, []float64{0}, false, Check, ShortCircuit},
		{"two short ones", 10, []float64{0, 0.2}, false, Failure, ShortCircuit},
		{"a short of a sender that is empty at 0 Ω", 0, []float64{0}, false, Check, ShortCircuit},
		{"and for long", 0, repeat(0.1, 30), false, Failure, ShortCircuit},
		{"and mended", 0, append(repeat(0.1, 30), 113.7, 113.7), true, Good, NoFault},
		{"beyond the span", 10, []float64{210, 210}, false, Failure, BeyondSpan},
		{"just beyond it", 10, append([]float64{130, 150, 170}, repeat(183, 60)...), true, OutOfSpec, JustBeyond},
		{"on and off", 10, []float64{99999, 113.7, 113.7, 99999, 113.7, 99999, 113.7}, false, Failure, Flicker},
		{"on and off, then for good", 10, []float64{99999, 113.7, 99999, 113.7, 99999, 113.7, 113.7, 113.7}, true, Good, NoFault},
		{"a spike", 10, []float64{40}, true, Good, NoFault},
		{"and back", 10, []float64{40, 113.7}, true, Good, NoFault},
		{"a jump for some seconds", 10, repeat(40, 5), true, OutOfSpec, Jump},
		{"a jump that stays", 10, repeat(40, 40), true, Good, NoFault},
		{"no number", 10, []float64{nan}, true, Good, NoFault},
	} {
		t.Run(c.name, func(t *testing.T) {
			w := watchOf(t, c.lower, 180)
			at := start
			feed(w, &at, repeat(113.7, 60)...)
			l := feed(w, &at, c.values...)
			sound(t, l)
			if l.Shown != c.shown || l.Status != c.status || l.Fault != c.fault {
				t.Errorf("shown %v, %s, %q; expected %v, %s, %q", l.Shown, l.Status, l.Fault, c.shown, c.status, c.fault)
			}
			if !l.Shown && (l.Last.Time.IsZero() || !strings.Contains(l.Reason(nil), "last good")) {
				t.Errorf("no last good level: %q", l.Reason(nil))
			}
			if (l.Reason(nil) == "") != (c.fault == NoFault) {
				t.Errorf("reason %q", l.Reason(nil))
			}
		})
	}
}

func TestASpikeDoesntMoveTheLevel(t *testing.T) {
	for _, spike := range []float64{12, 60, 90, 140, 178, 99999, 0, 200} {
		w := watchOf(t, 10, 180)
		at := start
		before := feed(w, &at, repeat(113.7, 60)...)
		during := feed(w, &at, spike)
		after := feed(w, &at, 113.7)
		if during.Shown && math.Abs(float64(during.Share-before.Share)) > 1e-3 || !after.Shown || math.Abs(float64(after.Share-before.Share)) > 1e-3 {
			t.Errorf("a spike of %g Ω: %s, then %s, then %s", spike, before.Share, during.Share, after.Share)
		}
		if c := w.Counts(); c.Spikes+c.Open+c.Short+c.Beyond != 1 {
			t.Errorf("a spike of %g Ω is counted as %v", spike, c.Named())
		}
	}
}

func TestWhatTheSourceSaysOfItself(t *testing.T) {
	w := watchOf(t, 10, 180)
	at := start
	feed(w, &at, repeat(113.7, 20)...)
	for _, c := range []struct {
		said  Said
		fault Fault
	}{{Unavailable, NotAvailable}, {Broken, SourceBroken}} {
		var l Level
		for range 2 {
			l = w.Take(Reading{Source: "x", Time: at, Said: c.said, Value: 113.7})
			at = at.Add(time.Second)
		}
		if l.Shown || l.Status != Failure || l.Fault != c.fault {
			t.Errorf("%+v", l)
		}
		if !math.IsNaN(l.Raw) {
			t.Errorf("raw %g where the source has none", l.Raw)
		}
	}
	if c := w.Counts(); c.NoValue != 4 {
		t.Errorf("%v", c.Named())
	}
}

// TestWrongClocks: a reading of 1970 or 2100 among others, a clock that was set
// back, one that ran ahead for a while.
func TestWrongClocks(t *testing.T) {
	level := func(w *Watch) Level { return w.At(w.level().Time) }
	t.Run("one of 1970", func(t *testing.T) {
		w := watchOf(t, 10, 180)
		at := start
		before := feed(w, &at, repeat(113.7, 20)...)
		wrong := time.Unix(77, 0)
		l := feed(w, &wrong, 40)
		if !l.Time.Equal(before.Time) || l.Share != before.Share || w.Counts().TooLate != 1 {
			t.Errorf("%+v %v", l, w.Counts().Named())
		}
	})
	t.Run("one of 2100", func(t *testing.T) {
		w := watchOf(t, 10, 180)
		at := start
		feed(w, &at, repeat(113.7, 20)...)
		wrong := time.Date(2100, 1, 1, 0, 0, 0, 0, time.UTC)
		if l := feed(w, &wrong, 40); l.Shown {
			t.Errorf("after one reading of 2100: %+v", l)
		}
		l := feed(w, &at, 113.7)
		if !l.Shown || l.Status != Good || !l.Time.Equal(at.Add(-time.Second)) || math.Abs(float64(l.Share)-0.61) > 1e-3 {
			t.Errorf("after it: %+v", l)
		}
		if c := w.Counts(); c.Early != 1 || c.TooLate != 0 {
			t.Errorf("%v", c.Named())
		}
	})
	t.Run("ten of 2100", func(t *testing.T) {
		w := watchOf(t, 10, 180)
		at := start
		feed(w, &at, repeat(113.7, 20)...)
		wrong := time.Date(2100, 1, 1, 0, 0, 0, 0, time.UTC)
		feed(w, &wrong, repeat(113.7, 10)...)
		feed(w, &at, repeat(113.7, 5)...)
		l := level(w)
		if !l.Shown || l.Status != Maintenance || l.Fault != ClockOff || !l.Time.Equal(at.Add(-time.Second)) || math.Abs(float64(l.Share)-0.61) > 1e-3 {
			t.Errorf("%+v", l)
		}
		if c := w.Counts(); c.Early != 10 {
			t.Errorf("%v", c.Named())
		}
	})
	t.Run("set back by an hour", func(t *testing.T) {
		w := watchOf(t, 10, 180)
		at := start
		feed(w, &at, repeat(113.7, 600)...)
		back := at.Add(-time.Hour)
		if l := feed(w, &back, repeat(113.7, 2)...); !l.Time.Equal(at.Add(-time.Second)) {
			t.Errorf("two readings are no proof: %+v", l)
		}
		l := feed(w, &back, repeat(113.7, 3)...)
		if !l.Shown || l.Fault != ClockOff || l.Status != Maintenance || !l.Time.Equal(back.Add(-time.Second)) {
			t.Errorf("%+v", l)
		}
		if !strings.Contains(l.Reason(nil), "clock") {
			t.Errorf("%q", l.Reason(nil))
		}
		l = feed(w, &back, repeat(113.7, 700)...)
		if l.Status != Good {
			t.Errorf("ten minutes later: %+v", l)
		}
	})
	t.Run("ahead of its own arrival", func(t *testing.T) {
		w := watchOf(t, 10, 180)
		w.Take(Reading{Source: "x", Time: start.Add(time.Hour), Arrived: start, Value: 100})
		if c := w.Counts(); c.Early != 1 || c.Taken != 0 {
			t.Errorf("%v", c.Named())
		}
	})
	t.Run("out of all reckoning", func(t *testing.T) {
		w := watchOf(t, 10, 180)
		w.Take(Reading{Source: "x", Value: 100})
		w.Take(Reading{Source: "x", Value: 100, Time: time.Date(9999, 1, 1, 0, 0, 0, 0, time.UTC)})
		if c := w.Counts(); c.Early != 1 || c.TooLate != 1 || c.Taken != 0 {
			t.Errorf("%v", c.Named())
		}
	})
}

func TestTwoSources(t *testing.T) {
	w := watchOf(t, 10, 180)
	at := start
	take := func(first, second float64) (l Level) {
		if first > 0 {
			l = w.Take(Reading{Source: "first", Time: at, Value: first})
		}
		if second > 0 {
			l = w.Take(Reading{Source: "second", Time: at, Value: second})
		}
		at = at.Add(time.Second)
		return l
	}
	var l Level
	for range 20 {
		l = take(113.7, 114)
	}
	if l.Source != "first" || l.Status != Good {
		t.Errorf("two that agree: %+v", l)
	}
	for range 60 {
		l = take(113.7, 130)
	}
	if l.Source != "first" || l.Status != Maintenance || l.Fault != SourcesDisagree || math.Abs(float64(l.Share)-0.61) > 0.002 {
		t.Errorf("two that disagree: %+v", l)
	}
	for range 3 {
		l = take(99999, 130)
	}
	if l.Source != "second" || !l.Shown {
		t.Errorf("the first is broken: %+v", l)
	}
	for range 10 {
		l = take(113.7, 130)
	}
	if l.Source != "first" || !l.Shown {
		t.Errorf("the first is mended: %+v", l)
	}
	for range 400 {
		l = take(0, 130)
	}
	if l.Source != "second" || !l.Shown {
		t.Errorf("the first is silent: %+v", l)
	}
}

func TestTiltedTooFar(t *testing.T) {
	w := watchOf(t, 10, 180)
	at := start
	feed(w, &at, repeat(113.7, 20)...)
	lean := Tilt{Pitch: 0.7}
	l := w.Take(Reading{Source: "x", Time: at, Value: 60, Tilt: &lean})
	if !l.Shown || l.Status != OutOfSpec || l.Fault != TooTilted || math.Abs(float64(l.Share)-0.61) > 1e-3 {
		t.Errorf("%+v", l)
	}
}

// TestSignals: an instrument with a tank takes ohms, counts and percent, and
// corrects for the tilt.
func TestSignals(t *testing.T) {
	p := Parts{
		Mark: func(own float64) (float64, float64, bool) {
			return (own - 10) / 170, 0.004, own >= 10 && own <= 180
		},
		Least: 10, Most: 180, High: 1,
		Into: func(s Signal, v float64) (float64, bool) {
			return 100 * v / (4096 - v), s == Count && v < 4096
		},
		Share:  func(m float64) quantity.Share { return quantity.Share(m / 0.8) },
		Volume: func(s quantity.Share) gauge.Figure { return gauge.Figure{Mid: 0.08 * float64(s), U: 0.001} },
		Mass:   func(s quantity.Share) gauge.Figure { return gauge.Figure{Mid: 40 * float64(s), U: 0.5} },
		Tilt:   func(m float64, tilt Tilt) (float64, bool) { return m - 0.1*float64(tilt.Pitch), true },
	}
	p.Reach[Count].Most = 4095
	in, err := NewInstrument(p)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		signal Signal
		value  float64
		tilt   *Tilt
		share  float64
		fault  Fault
	}{
		{Ohm, 78, nil, 0.5, NoFault},
		{Count, 4096 * 78. / 178, nil, 0.5, NoFault},
		{Percent, 50, nil, 0.5, NoFault},
		{Ohm, 78, &Tilt{Pitch: 0.2}, 0.475, NoFault},
		{Volt, 2, nil, 0, NotAvailable},
		{Count, 4095, nil, 0, BrokenWire},
		{Percent, 130, nil, 0, BeyondSpan},
	} {
		w, err := New(Config{Tank: "a", Instrument: in})
		if err != nil {
			t.Fatal(err)
		}
		var l Level
		for i := range 30 {
			l = w.Take(Reading{Source: "x", Time: start.Add(time.Duration(i) * time.Second), Signal: c.signal, Value: c.value, Tilt: c.tilt})
		}
		if l.Fault != c.fault {
			t.Errorf("%s of %g: %+v", c.signal, c.value, l)
			continue
		}
		if c.fault != NoFault {
			continue
		}
		if math.Abs(float64(l.Share)-c.share) > 1e-3 || math.Abs(l.Volume.Mid-0.08*c.share) > 1e-4 || math.Abs(l.Mass.Mid-40*c.share) > 0.05 || l.Volume.U < 0.001 {
			t.Errorf("%s of %g: %+v", c.signal, c.value, l)
		}
		if c.signal == Ohm && (float64(l.U) < 0.005 || float64(l.U) > 0.007) {
			t.Errorf("the instrument's own doubt is %.4f of the scale; expected 0.005 and the filter's", l.U)
		}
	}
}

func TestWhatCantBeWatched(t *testing.T) {
	in, err := Ends(10, 180, 0.1)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []Config{{}, {Instrument: in, Stale: -1}, {Instrument: in, Late: -1}, {Instrument: in, Damping: -1}, {Instrument: in, Fastest: -1}, {Instrument: in, Fastest: math.NaN()}} {
		if _, err := New(c); err == nil {
			t.Errorf("%+v is taken", c)
		}
	}
	for _, e := range [][3]float64{{10, 10, 0}, {-1, 10, 0}, {math.NaN(), 10, 0}, {10, math.Inf(1), 0}, {10, 20, -1}, {10, 20, math.NaN()}} {
		if _, err := Ends(quantity.Ohm(e[0]), quantity.Ohm(e[1]), quantity.CubicMetre(e[2])); err == nil {
			t.Errorf("end values of %v are taken", e)
		}
	}
}

// TestDamping: what is shown follows a change by first order.
func TestDamping(t *testing.T) {
	in, err := Ends(10, 180, 0)
	if err != nil {
		t.Fatal(err)
	}
	w, err := New(Config{Tank: "a", Instrument: in, Damping: 30 * time.Second})
	if err != nil {
		t.Fatal(err)
	}
	at := start
	feed(w, &at, repeat(95, 60)...)
	l := feed(w, &at, append([]float64{96, 97, 98, 99, 100, 101, 102, 103, 104, 105}, repeat(105, 20)...)...)
	// After 30 s of which 10 s a ramp, and 20 s at rest.
	want := 0.5 + 10./170*(1-30./10*(1-math.Exp(-1./3))*math.Exp(-20./30))
	if math.Abs(float64(l.Share)-want) > 0.003 {
		t.Errorf("%.4f; expected %.4f", l.Share, want)
	}
	if !math.IsNaN(l.Volume.Mid) {
		t.Errorf("a volume of %g where the capacity isn't known", l.Volume.Mid)
	}
}
