package circuit_test

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/internal/circuit"
)

// Two 100 Ω resistors in parallel make 50 Ω; the rest by hand in the same way.
func TestFaultReading(t *testing.T) {
	for _, test := range []struct {
		fault           circuit.Fault
		ohm, with, want float64
	}{{circuit.Leak, 100, 100, 50}, {circuit.Leak, 240, 960, 192}, {circuit.Leak, 0, 10, 0}, {circuit.Leak, 10, 0, 0}, {circuit.Corroded, 33, 12, 45}, {circuit.Sound, 33, 12, 33}} {
		if got := test.fault.Reading(test.ohm, test.with); !near(got, test.want, 1e-12) {
			t.Errorf("%s of %v Ω at %v Ω: %v, want %v", test.fault, test.with, test.ohm, got, test.want)
		}
	}
	if got, err := circuit.Unshunted(50, 200); err != nil || !near(got, 66.6666666667, 1e-9) {
		t.Errorf("50 Ω with 200 Ω in parallel: %v, %v; 50·200/150 is 66.67", got, err)
	}
	for _, bad := range [][2]float64{{200, 200}, {300, 200}, {-1, 5}, {math.NaN(), 5}} {
		if _, err := circuit.Unshunted(bad[0], bad[1]); err == nil {
			t.Errorf("%v taken", bad)
		}
	}
	for _, bad := range []struct {
		fault      circuit.Fault
		seen, with float64
	}{{circuit.Leak, 200, 200}, {circuit.Corroded, 5, 6}, {circuit.Leak, math.NaN(), 5}, {circuit.Corroded, 5, -1}} {
		if got, err := bad.fault.True(bad.seen, bad.with); err == nil {
			t.Errorf("%+v told as %v Ω", bad, got)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		f := rapid.SampledFrom([]circuit.Fault{circuit.Sound, circuit.Leak, circuit.Corroded}).Draw(t, "fault")
		ohm, with := rapid.Float64Range(0, 1000).Draw(t, "ohm"), rapid.Float64Range(1, 1e6).Draw(t, "with")
		back, err := f.True(f.Reading(ohm, with), with)
		// A sender far above its leak is told badly from the reading: by (r/R)².
		if err != nil || !near(back, ohm, 1e-13*(with+ohm)*(1+ohm/with)*(1+ohm/with)) {
			t.Fatalf("%s of %v Ω: %v Ω comes back as %v, %v", f, with, ohm, back, err)
		}
	})
}

// By hand: 960 Ω across 240, 136.5 and 33 Ω gives 192, 119.508 and 31.904 Ω.
func TestFaultLooks(t *testing.T) {
	span := circuit.Span{Empty: 240, Full: 33}
	l, err := circuit.Leak.Looks(960, span)
	if err != nil || !near(l.Empty, 48/2.07, 1e-9) || !near(l.Half, 16.992/2.07, 1e-3) || !near(l.Full, 1.0967/2.07, 1e-3) {
		t.Errorf("%+v, %v", l, err)
	}
	if l, err := circuit.Corroded.Looks(20.7, span); err != nil || !near(l.Empty, -10, 1e-9) || !near(l.Half, -10, 1e-9) || !near(l.Full, -10, 1e-9) {
		t.Errorf("%+v, %v", l, err)
	}
	if _, err := circuit.Leak.Looks(-1, span); err == nil {
		t.Error("a leak of -1 Ω taken")
	}
}

func TestExplain(t *testing.T) {
	marks := []float64{240, 190, 140, 90, 33}
	noise := []float64{0.3, -0.2, 0.1, -0.4, 0.2} // made up
	for _, test := range []struct {
		fault circuit.Fault
		value float64
	}{{circuit.Sound, 0}, {circuit.Leak, 700}, {circuit.Leak, 2500}, {circuit.Corroded, 5}, {circuit.Corroded, 80}} {
		var pairs []circuit.Pair
		for i, r := range marks {
			pairs = append(pairs, circuit.Pair{True: r, Seen: test.fault.Reading(r, test.value) + noise[i]})
		}
		e, err := circuit.Explain(pairs, 0.4)
		if err != nil || e.Best.Fault != test.fault || !e.Told || !e.Best.Fits || !near(e.Best.Ohm, test.value, 0.03*test.value) {
			t.Errorf("%s of %v Ω: %+v, %v", test.fault, test.value, e, err)
		}
	}
	// One reading: too low is a leak, too high a joint; neither is confirmed by it.
	if e, err := circuit.Explain([]circuit.Pair{{100, 80}}, 0.5); err != nil || e.Best.Fault != circuit.Leak || !near(e.Best.Ohm, 400, 0.1) || !e.Told || !strings.HasSuffix(e.Text, "read at another mark too") {
		t.Errorf("%+v, %v", e, err)
	}
	// Two faults at once are explained by neither.
	e, err := circuit.Explain([]circuit.Pair{{240, 200}, {33, 40}, {140, 140}}, 0.5)
	if err != nil || e.Best.Fits || !strings.Contains(e.Text, "more than one fault") {
		t.Errorf("%+v, %v", e, err)
	}
	for _, bad := range []struct {
		pairs []circuit.Pair
		u     float64
	}{{nil, 1}, {[]circuit.Pair{{1, 1}}, 0}, {[]circuit.Pair{{-1, 1}}, 1}, {[]circuit.Pair{{1, math.NaN()}}, 1}} {
		if _, err := circuit.Explain(bad.pairs, bad.u); err == nil {
			t.Errorf("%+v taken", bad)
		}
	}
}

// No other value of a fault fits better than the one that is given.
func TestExplainLeast(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pairs := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) circuit.Pair {
			return circuit.Pair{True: rapid.Float64Range(0, 300).Draw(t, "true"), Seen: rapid.Float64Range(0, 300).Draw(t, "seen")}
		}), 1, 6).Draw(t, "pairs")
		e, err := circuit.Explain(pairs, 1)
		if err != nil {
			t.Fatal(err)
		}
		value := math.Pow(10, rapid.Float64Range(-4, 9).Draw(t, "decade"))
		for _, s := range e.All[1:] {
			sum := 0.0
			for _, p := range pairs {
				d := p.Seen - s.Fault.Reading(p.True, value)
				sum += d * d
			}
			if sum < s.ChiSquare*(1-1e-9)-1e-9 {
				t.Fatalf("%s of %v Ω leaves %v, and of %v Ω %v", s.Fault, value, sum, s.Ohm, s.ChiSquare)
			}
		}
	})
}
