package tag_test

import (
	"math"
	"testing"

	"gaugewright/internal/curve"
	"gaugewright/internal/kin"
	"gaugewright/internal/tag"
)

// The curve of a sender type goes into a code as what it says of this sender:
// its doubt is that of the next unit, widened for few units already, so that the
// restored curve is no surer and says nothing of a spread.
func TestTypeCurve(t *testing.T) {
	j := example()
	known := &kin.Known{From: "sender type A, 4 units", Marks: "mark_pct", Gives: "ohm", Units: 4, Batches: 2, DF: 3}
	for i := range 61 {
		mark := float64(i) / 60 * 100
		known.Knots = append(known.Knots, kin.Knot{Mark: math.Round(mark*10) / 10, Value: 5 + 80*math.Pow(mark/100, 1.4), U: 1, Floor: 0.1, Modes: []float64{0.8, 0.3}})
	}
	j.Tanks[0].Sender.Known = known
	c, err := tag.Encode(j, "")
	if err != nil {
		t.Fatal(err)
	}
	got, err := tag.Decode(c.Text)
	if err != nil {
		t.Fatal(err)
	}
	back := got.Tanks[0].Sender.Known
	if back.DF != 0 || back.Units != 0 || len(back.Knots) > tag.MostKnots || len(back.Knots[0].Modes) != 0 {
		t.Errorf("came back with %g degrees of freedom, %d units, %d knots", back.DF, back.Units, len(back.Knots))
	}
	before, err := j.Tanks[0].Curve()
	if err != nil {
		t.Fatal(err)
	}
	after, err := got.Tanks[0].Curve()
	if err != nil {
		t.Fatal(err)
	}
	for i := range 1001 {
		a, b := before.Ohm(float64(i)/1000, curve.Refuse), after.Ohm(float64(i)/1000, curve.Refuse)
		if off := math.Abs(float64(a.Ohm - b.Ohm)); !b.Known || off > 0.08 || b.UOhm < 0.98*a.UOhm || b.UOhm > 1.1*a.UOhm {
			t.Fatalf("at %g %%: %g ± %g came back as %g ± %g", float64(i)/10, a.Ohm, a.UOhm, b.Ohm, b.UOhm)
		}
	}
}
