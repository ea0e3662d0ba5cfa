package curve_test

import (
	"math"
	"testing"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
)

// The parts are those of the budget: put together again they give its combined
// uncertainty, but for the meter, of which the budget adds the share and the
// digits as one half-width.
func TestDoubtApartIsTheBudget(t *testing.T) {
	var sheet curve.Sheet
	for k, ohm := range []float64{2.1, 2.3, 20.4, 19.9, 41.2, 40.8, 58.9, 60.1, 81.0, 80.2} {
		sheet.Readings = append(sheet.Readings, curve.Reading{Mark: float64(k/2) / 4, Ohm: quantity.Ohm(ohm), Sweep: curve.Sweep(1 + k%2)})
		sheet.Readings = append(sheet.Readings, curve.Reading{Mark: float64(k/2) / 4, Ohm: quantity.Ohm(ohm + 0.2), Sweep: curve.Sweep(1 + k%2)})
	}
	c, err := curve.Fit(sheet, curve.Options{Doubts: curve.Doubts{
		Meter: curve.Meter{OfReading: 0.01, Step: 0.1}, Leads: 0.3, LeadsU: 0.05, MarkHalfWidth: 0.004, Temperature: 0.003,
	}})
	if err != nil {
		t.Fatal(err)
	}
	for _, mark := range []float64{0, 0.1, 0.25, 0.6, 1} {
		a, ok := c.DoubtApart(mark)
		if !ok {
			t.Fatalf("%g isn't known", mark)
		}
		ohm := float64(c.Ohm(mark, curve.Refuse).Ohm)
		sum := math.Hypot(a.Own, a.Course)
		for _, v := range []float64{a.Hysteresis, a.Reading * ohm, a.Warmth * ohm, a.Offset, a.Poured, a.Rest, c.Repeatability().SD / math.Sqrt(a.N)} {
			sum = math.Hypot(sum, v)
		}
		if want := float64(c.Ohm(mark, curve.Refuse).UOhm); math.Abs(sum-want) > 1e-9 || a.Rest != 0 {
			t.Errorf("at %g the parts make %.6f, the budget %.6f: %+v", mark, sum, want, a)
		}
	}
	if _, ok := c.DoubtApart(1.2); ok {
		t.Error("a mark outside the readings has parts")
	}
	known, err := curve.FromKnots(curve.Dial, curve.Ohms, []curve.Knot{{Mark: 0, Ohm: 0, U: 1}, {Mark: 1, Ohm: 90, U: 2}}, curve.Source{From: "a test"})
	if err != nil {
		t.Fatal(err)
	}
	if a, ok := known.DoubtApart(0.5); !ok || math.Abs(a.Rest-1.5) > 1e-9 || a.N != 0 {
		t.Errorf("of a curve of knots: %+v", a)
	}
	if got := (curve.Sheet{Readings: []curve.Reading{{Ohm: 1.25}, {Ohm: 3}}}).Step(); got != 0.01 {
		t.Errorf("the last digit is %v", got)
	}
}
