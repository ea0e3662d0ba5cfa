package drift_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gaugewright/internal/curve"
	"gaugewright/internal/drift"
	"gaugewright/internal/quantity"
)

// clean is a bench without any errors but the last digit.
func clean(at func(m float64) float64, marks ...float64) curve.Sheet {
	var s curve.Sheet
	for _, m := range marks {
		s.Readings = append(s.Readings, curve.Reading{Mark: m, Ohm: quantity.Ohm(math.Round(100*at(m)) / 100)})
	}
	return s
}

var close1 = curve.Doubts{Meter: curve.Meter{OfReading: 0.0005, Digits: 2, Step: 0.01}, MarkHalfWidth: 0.002}

// Each cause, put on two senders by its own physics, is told from the others
// where it can be, with its parameter within its doubt.
func TestEachCauseIsTold(t *testing.T) {
	bent, falling := senders[2].at, senders[3].at
	marks := []float64{0.05, 0.15, 0.25, 0.35, 0.45, 0.55, 0.65, 0.75, 0.85, 0.95}
	for _, c := range []struct {
		cause     drift.Cause
		was, is   func(m float64) float64
		parameter float64
		words     string
	}{
		{drift.Series, bent, func(m float64) float64 { return bent(m) + 6 }, 6, "corroded joint"},
		{drift.Series, falling, func(m float64) float64 { return falling(m) + 6 }, 6, "corroded joint"},
		{drift.Leak, bent, func(m float64) float64 { return bent(m) * 1500 / (bent(m) + 1500) }, 1.0 / 1500, "about 1.5 kΩ"},
		{drift.Leak, falling, func(m float64) float64 { return falling(m) * 1500 / (falling(m) + 1500) }, 1.0 / 1500, "wet or dirty connector"},
		{drift.Shift, bent, func(m float64) float64 { return bent(m + 0.04) }, 4, "bent arm"},
		{drift.Gain, bent, func(m float64) float64 { return bent(m) * 1.05 }, 5, "in proportion"},
		{drift.Gain, falling, func(m float64) float64 { return falling(m) * 0.96 }, -4, "in proportion"},
		{drift.Wear, falling, func(m float64) float64 {
			if m > 0.4 && m < 0.7 {
				return falling(m) + 12
			}
			return falling(m)
		}, 12, "from 45 % to 65 %"},
		{drift.Open, falling, func(m float64) float64 {
			if m > 0.5 && m < 0.7 {
				return 900
			}
			return falling(m)
		}, math.NaN(), "open stretch"},
		{drift.Dead, bent, func(m float64) float64 {
			if m > 0.4 && m < 0.7 {
				return bent(0.4)
			}
			return bent(m)
		}, bent(0.4), "stood still from 45 % to 65 %"},
		{drift.Misread, falling, func(m float64) float64 {
			if m == 0.55 {
				return falling(m) + 20
			}
			return falling(m)
		}, 20, "read it again"},
	} {
		rec := fitted(t, clean(c.was, recordMarks...), close1)
		r := compared(t, rec, clean(c.is, marks...), close1, drift.Options{})
		if !r.Changed {
			t.Fatalf("%s: no change seen, p %g", c.cause, r.P)
		}
		f, ok := r.Cause()
		if !ok || f.Cause != c.cause {
			t.Errorf("%s: told %v, %+v", c.cause, ok, r.Causes[:2])
			continue
		}
		if !math.IsNaN(c.parameter) && !(math.Abs(f.Parameter-c.parameter) < 3*f.U+0.02*math.Abs(c.parameter)) {
			t.Errorf("%s: %g ± %g, expected %g", c.cause, f.Parameter, f.U, c.parameter)
		}
		if !strings.Contains(f.Sentence, c.words) {
			t.Errorf("%s: %q", c.cause, f.Sentence)
		}
		sum := 0.0
		for _, f := range r.Causes {
			sum += f.Probability
		}
		if math.Abs(sum-1) > 1e-6 {
			t.Errorf("%s: probabilities sum to %g", c.cause, sum)
		}
	}
}

// On a straight sender resistance in series and a shifted mark do the same: the
// result says so and proposes no reading that would tell. On a bent one read
// only where it is straight, it names a mark that tells.
func TestWhatCantBeToldIsSaid(t *testing.T) {
	straight := func(m float64) float64 { return 5 + 90*m }
	rec := fitted(t, clean(straight, recordMarks...), close1)
	r := compared(t, rec, clean(func(m float64) float64 { return straight(m) + 4 }, 0.1, 0.3, 0.5, 0.7, 0.9), close1, drift.Options{})
	text := sentences(r)
	if _, ok := r.Cause(); ok || r.Tell != nil || !strings.Contains(text, "can't tell") || !strings.Contains(text, "No single reading would tell") {
		t.Errorf("told apart what can't be: %+v, %s", r.Tell, text)
	}

	bent := func(m float64) float64 {
		if m < 0.5 {
			return 10 + 60*m
		}
		return 40 + 180*(m-0.5)
	}
	rec = fitted(t, clean(bent, recordMarks...), close1)
	r = compared(t, rec, clean(func(m float64) float64 { return bent(m) + 3 }, 0.6, 0.7, 0.8, 0.9), close1, drift.Options{})
	text = sentences(r)
	if r.Tell == nil || r.Tell.Mark > 50 || !strings.Contains(text, "One more reading at") {
		t.Fatalf("no mark that tells: %+v, %s", r.Tell, text)
	}
	// And with that reading it is told.
	r = compared(t, rec, clean(func(m float64) float64 { return bent(m) + 3 }, r.Tell.Mark/100, 0.6, 0.7, 0.8, 0.9), close1, drift.Options{})
	if f, ok := r.Cause(); !ok || f.Cause != drift.Series {
		t.Errorf("with that reading: %+v", r.Causes[:2])
	}
}

// For signals other than ohms nothing stands in series and nothing leaks.
func TestCausesOfOtherSignals(t *testing.T) {
	volts := func(m float64) float64 { return 0.5 + 4*m }
	sheet := func(at func(float64) float64) curve.Sheet {
		s := clean(at, 0, 0.2, 0.4, 0.6, 0.8, 1)
		s.Signal = curve.Volts
		return s
	}
	d := curve.Doubts{Meter: curve.Meter{OfReading: 0.001, Digits: 2, Step: 0.001}, MarkHalfWidth: 0.002}
	rec := fitted(t, sheet(volts), d)
	r := compared(t, rec, sheet(func(m float64) float64 { return volts(m) * 1.06 }), d, drift.Options{})
	for _, f := range r.Causes {
		if f.Cause == drift.Series || f.Cause == drift.Leak {
			t.Errorf("%s of volts", f.Cause)
		}
	}
	if f, ok := r.Cause(); !ok || f.Cause != drift.Gain || !strings.Contains(f.Sentence, "another supply") || r.Gives != "volt" {
		t.Errorf("volts in proportion: %+v", r.Causes[:2])
	}
	r = compared(t, rec, sheet(func(m float64) float64 { return volts(m) - 0.2 }), d, drift.Options{})
	offset := false
	for _, f := range r.Causes[:2] {
		offset = offset || f.Cause == drift.Offset && math.Abs(f.Parameter+0.2) < 0.02
	}
	if !offset {
		t.Errorf("a shifted zero: %+v", r.Causes[:2])
	}
}

// An arm that moves in another proportion, on a float's height.
func TestLever(t *testing.T) {
	at := func(m float64) float64 { return 240 - 800*m + 500*m*m }
	sheet := func(at func(float64) float64) curve.Sheet {
		s := clean(at, 0, 0.05, 0.1, 0.15, 0.2, 0.25, 0.3)
		s.Unit = curve.Height
		return s
	}
	d := curve.Doubts{Meter: close1.Meter, MarkHalfWidth: 0.0005}
	r := compared(t, fitted(t, sheet(at), d), sheet(func(m float64) float64 { return at(0.9 * m) }), d, drift.Options{})
	if f, ok := r.Cause(); !ok || f.Cause != drift.Lever || math.Abs(f.Parameter+10) > 0.5 || r.Marks != "mark_mm" {
		t.Errorf("an arm moved by −10 %%: %+v", r.Causes)
	}
}

// A leak and resistance in series go one way only.
func TestImpossibleSignsAreNotNamed(t *testing.T) {
	at := senders[1].at
	rec := fitted(t, clean(at, recordMarks...), close1)
	for name, is := range map[string]func(m float64) float64{
		"less": func(m float64) float64 { return at(m) - 5 }, "more": func(m float64) float64 { return at(m) + 0.0005*at(m)*at(m) },
	} {
		r := compared(t, rec, clean(is, 0.1, 0.3, 0.5, 0.7, 0.9), close1, drift.Options{})
		if !r.Changed {
			t.Fatalf("%s: no change", name)
		}
		for _, f := range r.Causes {
			if (f.Cause == drift.Series || f.Cause == drift.Leak || f.Cause == drift.Wear) && f.Parameter <= 0 {
				t.Errorf("%s: %+v", name, f)
			}
			if name == "less" && f.Cause == drift.Series || name == "more" && f.Cause == drift.Leak {
				t.Errorf("%s was taken for %s", name, f.Cause)
			}
		}
	}
}

func sentences(r drift.Result) string {
	var b strings.Builder
	for _, f := range r.Findings {
		b.WriteString(f.Text + "\n")
	}
	return b.String()
}

// The first sentence is the verdict.
func TestVerdictSentence(t *testing.T) {
	o := occasion{rand.New(rand.NewPCG(8, 8)), false}
	at := senders[0].at
	rec := record(t, o, at)
	day := drift.Options{RecordDay: date("2025-11-03")}
	r := compare(t, rec, o.bench(func(m float64) float64 { return at(m) + 5 }, 1, fiveMarks...), day)
	if got := r.Findings[0].Text; !strings.HasPrefix(got, "The sender has changed: at ") || !strings.HasSuffix(got, "Ω more than in the record of 3 November 2025; the odds of seeing this from noise alone are under 1 in 1000.") {
		t.Errorf("%q", got)
	}
	r = compare(t, rec, o.bench(at, 1, fiveMarks...), day)
	if got := r.Findings[0].Text; !strings.HasPrefix(got, "No change is seen against the record of 3 November 2025: ") || !strings.Contains(got, "may be there unseen") {
		t.Errorf("%q", got)
	}
	t.Log(sentences(r))
}
