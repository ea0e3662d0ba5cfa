package curve

import (
	"math"
	"strings"
	"testing"

	"gaugewright/internal/peer"
	"gaugewright/internal/quantity"

	"pgregory.net/rapid"
)

// A scale of which the marks tell nothing is refused, and never weighed: the
// matrix of the marks is singular to working precision there, or has no numbers
// at all, and the first two of these once ended in panics.
func TestOddsOutOfProportion(t *testing.T) {
	for _, c := range []struct {
		name        string
		marks       []float64
		empty, full float64
		refused     bool
	}{
		{"marks that are one on the scale", []float64{0, 1.4916681462400413e-156}, 0, 1, true},
		{"scale of no end", []float64{1, 1.5}, 0, 1e300, true},
		{"marks and scale of no length", []float64{1e-161, 3e-161}, 0, 1, true},
		{"scale that is one mark among those read", []float64{0, 0.5, 1}, 0.5, math.Nextafter(0.5, 1), true},
		{"scale far from the marks", []float64{1e7, 1e7 + 1}, 0, 1, true},
		{"marks further apart than any number", []float64{-1e308, 0, 1e308}, 0, 1, true},
		{"just in proportion", []float64{0.5, 0.5 + 2e-9}, 0, 1, false},
		{"just too close together", []float64{0.5, 0.5 + 0.6e-9}, 0, 1, true},
		{"scale just long enough", []float64{0, 0.5, 1}, 0.5, 0.5 + 1e-6, false},
		{"scale just too short", []float64{0, 0.5, 1}, 0.5, 0.5 + 0.4e-6, true},
	} {
		s := Sheet{}
		for i, m := range c.marks {
			s.Readings = append(s.Readings, Reading{Mark: m, Ohm: quantity.Ohm(10 + 40*i)})
		}
		curve, err := Fit(s, Options{})
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		o, err := curve.Odds(AsStated([]Claim{{10, 180}, {240, 33}}), c.empty, c.full)
		if c.refused != (err != nil) || err != nil && !strings.Contains(err.Error(), "tell nothing of a scale from") {
			t.Errorf("%s: %v", c.name, err)
		}
		if err == nil {
			whole(t, curve, o)
		}
	}
}

// whole holds odds to what holds of all: they make up one, and their ends are numbers.
func whole(t rapid.TB, c *Curve, o Odds) {
	t.Helper()
	sum := o.None
	for _, d := range o.List {
		sum += d.Probability
	}
	if !(math.Abs(sum-1) < 1e-9) {
		t.Fatalf("the probabilities make up %g: %+v", sum, o)
	}
	for i := range o.EndOhm {
		if v, u := float64(o.EndOhm[i]), float64(o.EndU[i]); math.IsNaN(v-v) || !(u > 0) || math.IsInf(u, 0) {
			t.Fatalf("the end is %g ± %g", v, u)
		}
	}
	c.OddsFindings(o)
}

// Whatever was read, claimed and asked about, nothing panics.
func TestOddsOfAnything(t *testing.T) {
	peer.Draws(t, 300)
	number := rapid.OneOf(rapid.Float64Range(0, 120), rapid.Float64Range(0, 1), rapid.SampledFrom([]float64{0, 80, 100, 1e-300, 1e300, -1e300, 1e-161, 1e-9, 1e-6, 1e12, float64(MaxOhm)}), rapid.Float64())
	rapid.Check(t, func(t *rapid.T) {
		s := Sheet{Unit: rapid.SampledFrom(MarkUnits).Draw(t, "unit"), Signal: rapid.SampledFrom(Signals).Draw(t, "signal")}
		for range rapid.IntRange(2, 8).Draw(t, "n") {
			s.Readings = append(s.Readings, Reading{Mark: number.Draw(t, "mark"), Ohm: min(s.Signal.Limit(), quantity.Ohm(math.Abs(number.Draw(t, "value"))))})
		}
		var o Options
		if rapid.Bool().Draw(t, "doubts") {
			o.Doubts.MarkHalfWidth = s.Unit.FromShown(rapid.Float64Range(0, s.Unit.Limit()).Draw(t, "mark doubt"))
			o.Doubts.Meter.OfReading = quantity.Share(rapid.Float64Range(0, 0.1).Draw(t, "of reading"))
		}
		c, err := Fit(s, o)
		if err != nil {
			return
		}
		var claims []Stated
		for range rapid.IntRange(0, 2).Draw(t, "claims") {
			claims = append(claims, Stated{Claim: Claim{quantity.Ohm(number.Draw(t, "at empty")), quantity.Ohm(number.Draw(t, "at full"))}})
		}
		empty, full := number.Draw(t, "empty"), number.Draw(t, "full")
		if odds, err := c.Families(empty, full); err == nil {
			whole(t, c, odds)
			c.Plan(5, empty, full)
		}
		if odds, err := c.Odds(claims, empty, full); err == nil {
			whole(t, c, odds)
		}
	})
}
