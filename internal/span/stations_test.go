package span

import (
	"testing"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
)

// A curve that is known by knots, without readings, has its numbers chosen as one
// that was fitted to readings at the same marks has: this package's own search over
// those is the check.
func TestKnownWithoutReadings(t *testing.T) {
	var knots []curve.Knot
	sheet := curve.Sheet{Unit: curve.Dial}
	for i, ohm := range []float64{0.8, 7, 17, 26.5, 36, 45, 54, 63.5, 72, 80, 88.7} {
		mark := curve.Dial.FromShown(float64(10 * i))
		knots = append(knots, curve.Knot{Mark: mark, Ohm: quantity.Ohm(ohm), U: 0.2})
		sheet.Readings = append(sheet.Readings, curve.Reading{Mark: mark, Ohm: quantity.Ohm(ohm)})
	}
	known, err := curve.FromKnots(curve.Dial, curve.Ohms, knots, curve.Source{From: "a test"})
	if err != nil {
		t.Fatal(err)
	}
	fitted, err := curve.Fit(sheet, curve.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, o := range Objectives {
		s, err := scale.New(scale.Mark, 1, 0, 1, true)
		if err != nil {
			t.Fatal(err)
		}
		a, errA := BestEndsFor(known, s, Readout{Step: 1}, Margin{Ohm: 1}, o)
		b, errB := BestEndsFor(fitted, s, Readout{Step: 1}, Margin{Ohm: 1}, o)
		if errA != nil || errB != nil || a.Setting != b.Setting || a.Worst != b.Worst || a.Worst < 0.001 || len(a.Rows) != len(knots) {
			t.Errorf("%s: %v with %v (%v) for %d marks; readings give %v with %v (%v)", o, a.Setting, a.Worst, errA, len(a.Rows), b.Setting, b.Worst, errB)
		}
	}
}
