package gauge_test

import (
	"math"
	"testing"

	"gaugewright/internal/curve"
	"gaugewright/internal/doubt"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
	"gaugewright/internal/span"
)

// What a page asks for after a reading: the curve, its intervals to a tenth of
// a point, the best end values and the best 12-point table.
func BenchmarkPageAsks(b *testing.B) {
	var sheet curve.Sheet
	for i := range 44 {
		mark := float64(i%11) / 10
		ohm := 5 + 180*(mark+0.06*math.Sin(math.Pi*mark)) + 0.5*math.Sin(float64(7*i))
		sweep := curve.Up
		if i >= 22 {
			sweep, ohm = curve.Down, ohm+0.6
		}
		sheet.Readings = append(sheet.Readings, curve.Reading{Mark: mark, Ohm: quantity.Ohm(math.Round(10*ohm) / 10), Sweep: sweep})
	}
	s, err := scale.New(scale.Mark, 1, 0, 1, true)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		c, err := curve.Fit(sheet, curve.Options{})
		if err != nil {
			b.Fatal(err)
		}
		var ohms []quantity.Ohm
		for _, p := range c.Points() {
			ohms = append(ohms, p.Ohm)
		}
		if _, p, err := c.Intervals(ohms, curve.Redrawn, doubt.Rule{Tolerance: 0.001}); err != nil || !p.Reached {
			b.Fatal(err, p)
		}
		if _, err := span.BestEnds(c, s, span.Readout{Step: 1}, span.UsualMargin()); err != nil {
			b.Fatal(err)
		}
		if _, err := span.BestTable(c, s, span.TableReadout{Points: 12}, span.UsualMargin()); err != nil {
			b.Fatal(err)
		}
	}
}
