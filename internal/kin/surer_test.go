package kin

import (
	"math"
	"testing"

	"gaugewright/internal/curve"
)

// Readings far surer than what is known of the type still give numbers: the sums
// keep their digits where readings at one mark differ from each other by next to
// nothing beside the type's doubt.
func TestReadingsFarSurerThanTheType(t *testing.T) {
	for _, c := range []struct {
		name           string
		span, u, modes float64 // Ω
		noise          float64
	}{
		{"the type's doubt", 90, 3e7, 1, 0},
		{"ways in which units differ", 90, 3e7, 2e7, 0},
		{"a span of next to nothing", 1e-3, 1e5, 5e4, 0},
		{"the most of all", 1e-6, 1e11, 5e10, 1e-9},
		{"scatter besides", 90, 3e7, 2e7, 1e11},
	} {
		k := Known{From: "sender type A, 4 units of 2 batches", Marks: "mark_pct", Gives: "ohm", Units: 4, Batches: 2, DF: 3, Noise: c.noise}
		for i := range 5 {
			part := float64(i) / 4
			k.Knots = append(k.Knots, Knot{Mark: 100 * part, Value: 10 + c.span*part, U: c.u, Modes: []float64{c.modes, c.modes * (1 - part)}})
		}
		if err := k.Check(); err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		sheet := curve.Sheet{Unit: curve.Dial}
		for range 3 {
			for _, mark := range []float64{0.25, 0.5, 0.5000001} {
				sheet.Readings = append(sheet.Readings, curve.Reading{Mark: mark, Ohm: 40.123456})
			}
		}
		made, v, err := k.With(sheet, curve.Options{})
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if math.IsNaN(v.P) || v.P < 0 || v.P > 1 || math.IsNaN(v.T2) || v.T2 < 0 {
			t.Errorf("%s: %+v", c.name, v)
		}
		for _, p := range made.Points() {
			if !(p.U >= 0) || math.IsNaN(float64(p.Ohm)) {
				t.Errorf("%s: %+v", c.name, p)
			}
		}
		if odds, err := Which([]Known{k}, sheet, curve.Options{}); err != nil || math.IsNaN(odds.None) {
			t.Errorf("%s: %+v, %v", c.name, odds, err)
		}
		if _, err := k.Plan(3, curve.Options{}, 0.25, 0.5, 0.5); err != nil {
			t.Errorf("%s: %v", c.name, err)
		}
	}
}

// Doubts without bounds would make sums without numbers.
func TestDoubtsBeyondNumbers(t *testing.T) {
	for _, c := range []struct {
		u, noise float64
		want     string
	}{
		{1e11, 1e11, ""},
		{1.1e11, 0, "knots: 0: u is 1.1e+11; expected up to 1e+11"},
		{1e200, 0, "knots: 0: u is 1e+200; expected up to 1e+11"},
		{1, 1e200, "noise: found 1e+200; expected up to 1e+11"},
	} {
		k := Known{From: "sender type A, 4 units", Marks: "mark_pct", Gives: "ohm", Noise: c.noise,
			Knots: []Knot{{Mark: 0, Value: 10, U: c.u}, {Mark: 100, Value: 90, U: c.u}}}
		if err := k.Check(); (err == nil) != (c.want == "") || err != nil && err.Error() != c.want {
			t.Errorf("u %g and noise %g: %v, want %q", c.u, c.noise, err, c.want)
		}
	}
}
