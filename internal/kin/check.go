package kin

import (
	"fmt"
	"math"

	"gaugewright/internal/curve"
	"gaugewright/internal/doubt"
	"gaugewright/internal/quantity"
)

// Unit gives the unit of the marks; false for a name that isn't one.
func (k Known) Unit() (curve.MarkUnit, bool) { return unitOf(k.Marks) }

// Signal gives what the sender gives; false for a name that isn't one.
func (k Known) Signal() (curve.Signal, bool) { return signalOf(k.Gives) }

func unitOf(column string) (curve.MarkUnit, bool) {
	for _, u := range curve.MarkUnits {
		if u.Column() == column {
			return u, true
		}
	}
	return 0, false
}

func signalOf(column string) (curve.Signal, bool) {
	for _, s := range curve.Signals {
		if s.Column() == column {
			return s, true
		}
	}
	return 0, false
}

// Check says what of a known curve can't be used: names that aren't known,
// knots that don't rise or turn back, figures that can't be.
func (k Known) Check() error {
	_, err := k.Curve()
	return err
}

// mostDoubt is the greatest doubt of a knot and of a reading, in parts of the most
// that a sender can give: far more than the steepest curve leaves of a mark
// misread, and few enough for sums of squares.
const mostDoubt = 1e6

// check looks at what a curve has no part in.
func (k Known) check() error {
	unit, ok := k.Unit()
	if !ok {
		return fmt.Errorf("marks: found %q; expected mark_pct, mark_mm, mark_l or mark_kg", k.Marks)
	}
	signal, ok := k.Signal()
	if !ok {
		return fmt.Errorf("gives: found %q; expected ohm, volt, milliamp or of_supply_pct", k.Gives)
	}
	if n := len(k.Knots); n < FewestKnots || n > MostKnots {
		return fmt.Errorf("knots: found %d; expected %d to %d", n, FewestKnots, MostKnots)
	}
	modes := len(k.Knots[0].Modes)
	if modes > MostModes {
		return fmt.Errorf("knots: 0: found %d modes; expected up to %d", modes, MostModes)
	}
	for _, v := range []float64{k.DF, k.Noise, float64(k.NoiseDF), float64(k.Units), float64(k.Batches)} {
		if !(v >= 0) || math.IsInf(v, 0) {
			return fmt.Errorf("units, batches, df, noise and noise_df: found %g; expected 0 or more", v)
		}
	}
	most := mostDoubt * float64(signal.Limit())
	if k.Noise > most {
		return fmt.Errorf("noise: found %g; expected up to %g", k.Noise, most)
	}
	for i, n := range k.Knots {
		if !(n.Mark >= 0 && n.Mark <= unit.Limit()) {
			return fmt.Errorf("knots: %d: the mark is %g; expected 0 to %g", i, n.Mark, unit.Limit())
		}
		if len(n.Modes) != modes {
			return fmt.Errorf("knots: %d: found %d modes where the first knot has %d; all have the same number", i, len(n.Modes), modes)
		}
		sum := n.Floor * n.Floor
		for _, m := range n.Modes {
			sum += m * m
		}
		if !(n.Floor >= 0 && n.U >= 0 && math.Sqrt(sum) <= n.U*(1+1e-6)+1e-12) || math.IsInf(n.U, 0) {
			return fmt.Errorf("knots: %d: u is %g and its parts come to %g; expected u to hold them", i, n.U, math.Sqrt(sum))
		}
		if n.U > most {
			return fmt.Errorf("knots: %d: u is %g; expected up to %g", i, n.U, most)
		}
	}
	return nil
}

// Curve makes the curve of what is known, without readings. Its doubt is
// widened by Student's t for the degrees of freedom, so that twice U reaches
// about 95 %.
func (k Known) Curve() (*curve.Curve, error) {
	p, err := k.prior(curve.Doubts{})
	if err != nil {
		return nil, err
	}
	return p.curve(p.mean, p.variances(), k.From, nil, nil)
}

// repeat gives how one reading scatters, as far as it is known.
func (k Known) repeat() doubt.Pooled {
	if k.NoiseDF == 0 {
		return doubt.Pooled{}
	}
	return doubt.Pooled{SD: k.Noise, DF: k.NoiseDF}
}

// Differs says whether it is known how units differ, so that readings of the
// next one can be weighed against it; not so for a single sender restored.
func (k Known) Differs() bool { return k.Units > 1 && len(k.Knots) > 0 && len(k.Knots[0].Modes) > 0 }

// tidy takes off digits that mean nothing, for files: it leaves eight.
func tidy(v float64) float64 {
	if v == 0 || math.IsNaN(v) || math.IsInf(v, 0) {
		return v
	}
	return quantity.Round(v, min(15, max(0, 7-int(math.Floor(math.Log10(math.Abs(v)))))))
}
