package drift_test

import (
	"math"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"gaugewright/internal/curve"
	"gaugewright/internal/drift"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
	"gaugewright/internal/span"
)

// Whatever is read, the answer is an error or figures that JSON can hold, of
// probabilities within 0..1 and doubts above zero.
func TestOddReadings(t *testing.T) {
	s, err := scale.New(scale.Mark, 0, 0, 1, true)
	if err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string, least, most int) curve.Sheet {
			signal := curve.Ohms
			var sheet curve.Sheet
			sheet.Signal = signal
			n := rapid.IntRange(least, most).Draw(t, name)
			for range n {
				sheet.Readings = append(sheet.Readings, curve.Reading{
					Mark:  float64(rapid.IntRange(-2, 12).Draw(t, "mark")) / 10,
					Ohm:   quantity.Ohm(rapid.OneOf(rapid.Float64Range(0, 200), rapid.SampledFrom([]float64{0, 1e-6, 1e5})).Draw(t, "ohm")),
					Sweep: rapid.SampledFrom([]curve.Sweep{curve.Unstated, curve.Up, curve.Down}).Draw(t, "sweep"),
				})
			}
			return sheet
		}
		before := draw("record", 2, 8)
		if rapid.Bool().Draw(t, "ordered") {
			marks, ohms := make([]float64, 0, 8), make([]float64, 0, 8)
			for _, r := range before.Readings {
				marks, ohms = append(marks, r.Mark), append(ohms, float64(r.Ohm))
			}
			slices.Sort(marks)
			slices.Sort(ohms)
			for i := range marks {
				before.Readings[i].Mark, before.Readings[i].Ohm = marks[i], quantity.Ohm(ohms[i])
			}
		}
		c, err := curve.Fit(before, curve.Options{})
		if err != nil {
			return
		}
		d := curve.Doubts{Leads: quantity.Ohm(rapid.SampledFrom([]float64{0, 0.3}).Draw(t, "leads"))}
		r, err := drift.Compare(c, draw("later", 0, 8), d, drift.Options{})
		if err != nil {
			if err.Error() == "" {
				t.Fatal("an error without words")
			}
			return
		}
		asJSON(t, r)
		if !(r.P >= 0 && r.P <= 1 && r.Whole.P >= 0 && r.Whole.P <= 1 && r.Sharp.P >= 0 && r.Sharp.P <= 1) {
			t.Fatalf("probabilities %g, %g, %g", r.P, r.Whole.P, r.Sharp.P)
		}
		for _, row := range r.Rows {
			if !(row.U > 0) || !(row.Bound > row.U) {
				t.Fatalf("%+v", row)
			}
		}
		a, err := drift.Advise(r, drift.Readout{Setting: span.Ends{Lower: 0, Upper: 100}, Scale: s, Takes: span.Readout{Step: 1}, RecordDay: date("2025-01-01"), Day: date("2026-01-01")})
		if err != nil {
			t.Fatal(err)
		}
		asJSON(t, a)
	})
}

// Readings that can't be compared are refused with a reason.
func TestCompareRefuses(t *testing.T) {
	at := senders[0].at
	c := fitted(t, clean(at, recordMarks...), close1)
	disordered, err := curve.Fit(clean(func(m float64) float64 { return 50 + 40*math.Sin(9*m) }, recordMarks...), curve.Options{})
	if err != nil {
		t.Fatal(err)
	}
	one := func(mark float64, ohm quantity.Ohm) curve.Sheet {
		return curve.Sheet{Readings: []curve.Reading{{Mark: mark, Ohm: ohm, Line: 2}}}
	}
	volts := one(0.5, 1)
	volts.Signal = curve.Volts
	heights := one(0.5, 1)
	heights.Unit = curve.Height
	for name, k := range map[string]struct {
		c *curve.Curve
		s curve.Sheet
		d curve.Doubts
		o drift.Options
	}{
		"no record":   {nil, one(0.5, 50), close1, drift.Options{}},
		"no order":    {disordered, one(0.5, 50), close1, drift.Options{}},
		"volts":       {c, volts, close1, drift.Options{}},
		"heights":     {c, heights, close1, drift.Options{}},
		"none":        {c, curve.Sheet{}, close1, drift.Options{}},
		"NaN":         {c, one(math.NaN(), 50), close1, drift.Options{}},
		"below zero":  {c, one(0.5, -1), close1, drift.Options{}},
		"below leads": {c, one(0.5, 0.1), curve.Doubts{Leads: 0.3}, drift.Options{}},
		"rate":        {c, one(0.5, 50), close1, drift.Options{ErrorRate: 0.9}},
	} {
		if _, err := drift.Compare(k.c, k.s, k.d, k.o); err == nil || err.Error() == "" {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// The longest later bench takes its time, and no more; there the rate is that by
// Bonferroni.
func TestManyMarks(t *testing.T) {
	at := senders[2].at
	c := fitted(t, clean(at, recordMarks...), close1)
	marks := make([]float64, drift.MostRows/raced)
	for i := range marks {
		marks[i] = float64(i) / float64(len(marks))
	}
	began := time.Now()
	r := compared(t, c, clean(at, marks...), close1, drift.Options{})
	if r.Changed || r.Trials != 0 {
		t.Errorf("%+v", r.Findings)
	}
	r = compared(t, c, clean(func(m float64) float64 { return at(m) + 6 }, marks...), close1, drift.Options{})
	if !r.Changed || r.Causes[0].Cause != drift.Series {
		t.Errorf("%+v", r.Causes)
	}
	t.Logf("two of %d marks in %v", len(marks), time.Since(began))
	many := make([]float64, drift.MostRows+1)
	for i := range many {
		many[i] = float64(i) / float64(len(many))
	}
	if _, err := drift.Compare(c, clean(at, many...), close1, drift.Options{}); err == nil {
		t.Error("took one more than the most")
	}
}

// A record known by knots stands for the sender as one with readings does; all
// its doubt may be shared, and none.
func TestRecordOfKnots(t *testing.T) {
	c, err := curve.FromKnots(curve.Dial, curve.Ohms, []curve.Knot{{Mark: 0, Ohm: 5, U: 0.5}, {Mark: 0.5, Ohm: 80, U: 0.5}, {Mark: 1, Ohm: 185, U: 0.5}}, curve.Source{From: "a printed code"})
	if err != nil {
		t.Fatal(err)
	}
	at := func(m float64) float64 { return float64(c.Ohm(m, curve.Refuse).Ohm) }
	if r := compared(t, c, clean(func(m float64) float64 { return at(m) + 0.7 }, 0.1, 0.3, 0.5, 0.7, 0.9), close1, drift.Options{}); r.Changed {
		t.Errorf("1.4 of its own doubt is taken for a change: p %g", r.P)
	}
	if r := compared(t, c, clean(func(m float64) float64 { return at(m) * 1.05 }, 0.1, 0.3, 0.5, 0.7, 0.9), close1, drift.Options{}); !r.Changed {
		t.Errorf("5 %% isn't seen: p %g", r.P)
	}
}
