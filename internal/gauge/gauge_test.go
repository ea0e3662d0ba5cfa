package gauge_test

import (
	"math"
	"testing"

	"gaugewright/internal/curve"
	"gaugewright/internal/doubt"
	"gaugewright/internal/gauge"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
	"gaugewright/internal/span"
)

// straight is a sender of 20 Ω and 1 Ω more per percent, 1 Ω less going up and
// 1 Ω more going down, read in whole ohms.
func straight(t *testing.T, kind scale.Kind) gauge.Gauge {
	t.Helper()
	var sheet curve.Sheet
	for _, m := range []float64{0, 25, 50, 75, 100} {
		sheet.Readings = append(sheet.Readings,
			curve.Reading{Mark: m / 100, Ohm: quantity.Ohm(19 + m), Sweep: curve.Up},
			curve.Reading{Mark: m / 100, Ohm: quantity.Ohm(21 + m), Sweep: curve.Down})
	}
	c, err := curve.Fit(sheet, curve.Options{})
	if err != nil {
		t.Fatal(err)
	}
	s, err := scale.New(kind, 0.8, 0, 1, true)
	if err != nil {
		t.Fatal(err)
	}
	return gauge.Gauge{Curve: c, Scale: s}
}

// Worked by hand: u = (half the hysteresis)/√3 ⊕ (1 Ω step)/√12, JCGM 100:2008
// 4.3.7 and F.2.2.1.
var byHand = math.Sqrt(1.0/3 + 1.0/12)

func TestLevel(t *testing.T) {
	tests := []struct {
		kind        scale.Kind
		ohm         quantity.Ohm
		share, u    float64
		low, high   float64
		outside, ok bool
	}{
		{scale.Mark, 70, 0.50, byHand / 100, 0.50 - byHand/50, 0.50 + byHand/50, false, true},
		{scale.Fill, 60, 0.50, byHand / 80, 0.50 - byHand/40, 0.50 + byHand/40, false, true},
		{scale.Fill, 110, 1, byHand / 80, 1 - byHand/40, 1, false, true}, // beyond what may be filled
		{scale.Mark, 150, 0, 0, 0, 0, true, false},
	}
	for _, test := range tests {
		l := straight(t, test.kind).At(test.ohm, curve.Refuse)
		if l.Outside != test.outside || l.Known != test.ok {
			t.Errorf("%v on %s: %+v", test.ohm, test.kind, l)
			continue
		}
		if !l.Known {
			continue
		}
		for what, pair := range map[string][2]float64{
			"level": {float64(l.Share), test.share}, "u": {float64(l.U), test.u},
			"low": {float64(l.Low), test.low}, "high": {float64(l.High), test.high},
		} {
			if math.Abs(pair[0]-pair[1]) > 1e-9 {
				t.Errorf("%v on %s: %s %v, want %v", test.ohm, test.kind, what, pair[0], pair[1])
			}
		}
	}
}

func TestShow(t *testing.T) {
	g := straight(t, scale.Mark)
	ends := span.Ends{Lower: 20, Upper: 120}
	shown, u, ok := g.Show(ends, 0.5)
	if !ok || math.Abs(float64(shown)-0.5) > 1e-12 || math.Abs(float64(u)-byHand/100) > 1e-9 {
		t.Errorf("at 50: shows %v ± %v, %v", shown, u, ok)
	}
	// At the end, where the display is held, the doubt of the other side stands.
	if _, u, _ := g.Show(ends, 1); math.Abs(float64(u)-byHand/100) > 1e-9 {
		t.Errorf("at 100: ± %v", u)
	}
	if _, _, ok := g.Show(ends, 1.2); ok {
		t.Error("a mark outside the readings was shown")
	}
}

// The budget in points of the scale comes to the level's own uncertainty, and
// the Monte Carlo interval to about two of it.
func TestBudgetAndLevels(t *testing.T) {
	for _, kind := range []scale.Kind{scale.Mark, scale.Fill} {
		g := straight(t, kind)
		at := g.At(60, curve.Refuse)
		b, ok := g.Budget(60, curve.Refuse)
		if !ok || b.Unit != "points" || math.Abs(b.Combined()-100*float64(at.U)) > 1e-6 {
			t.Errorf("on %s: budget of %v points, level to ± %v", kind, b.Combined(), 100*at.U)
		}
		levels, err := g.Levels([]quantity.Ohm{60}, doubt.Rule{Tolerance: 0.0005})
		if err != nil {
			t.Fatal(err)
		}
		l := levels[0]
		if math.Abs(float64(l.U-at.U)) > 0.05*float64(at.U) || !(l.Low < at.Share && l.High > at.Share) || math.Abs(float64(l.High-l.Low)/float64(at.U)-3.6) > 0.4 {
			t.Errorf("on %s: %v to %v about %v, u %v by draws, %v by the budget", kind, l.Low, l.High, at.Share, l.U, at.U)
		}
	}
}
