package gauge

import (
	"gaugewright/internal/curve"
	"gaugewright/internal/doubt"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
	"gaugewright/internal/span"
)

// Gauge is a sender on its scale.
type Gauge struct {
	Curve *curve.Curve
	Scale scale.Scale
}

// Level is what a resistance means.
type Level struct {
	curve.Answer
	Share     quantity.Share // on the scale, 0..1
	U         quantity.Share // its standard uncertainty
	Low, High quantity.Share // the 95 % interval, held to 0..1
}

// At gives the level at a resistance. Where the answer isn't Known, the level
// means nothing.
func (g Gauge) At(ohm quantity.Ohm, beyond curve.Beyond) Level {
	l := Level{Answer: g.Curve.Mark(ohm, beyond)}
	if !l.Known {
		return l
	}
	l.Share = g.Scale.Target(l.Mark)
	l.U = g.Scale.Spread(l.Mark, l.UMark)
	// A level held at an end of the scale may still be less, or more.
	empty, full := g.Scale.Ends()
	held := min(full, max(empty, l.Mark))
	l.Low, l.High = g.Scale.Target(held-doubt.UsualFactor*l.UMark), g.Scale.Target(held+doubt.UsualFactor*l.UMark)
	return l
}

// Budget gives the uncertainty budget of the level told from one reading of a
// resistance, in points of the scale; false where there is no level, and where
// the sender stands still.
func (g Gauge) Budget(ohm quantity.Ohm, beyond curve.Beyond) (doubt.Budget, bool) {
	b, ok := g.Curve.BudgetOfMark(ohm, beyond)
	if !ok {
		return b, false
	}
	// Where the scale bends, the slope that a mark in so much doubt meets.
	shownUnit, u := g.Curve.Unit().FromShown(1), b.Combined()
	if u == 0 {
		u = 1e-6
	}
	perMark := 100 * float64(g.Scale.Spread(g.Curve.Mark(ohm, beyond).Mark, u*shownUnit)) / u
	for i := range b.Lines {
		b.Lines[i].Sensitivity *= perMark
	}
	b.Unit = "points"
	return b, ok
}

// Levels gives the level at each resistance with its 95 % interval by the Monte
// Carlo method; the rule's tolerance is in parts of the marks' range. See
// curve.Intervals for what is an error.
func (g Gauge) Levels(ohms []quantity.Ohm, rule doubt.Rule) ([]Level, error) {
	in, _, err := g.Curve.Intervals(ohms, curve.Redrawn, rule)
	if err != nil {
		return nil, err
	}
	out := make([]Level, len(in))
	for i, v := range in {
		out[i] = g.At(v.Ohm, curve.Continue)
		out[i].U = g.Scale.Spread(out[i].Mark, v.U)
		out[i].Low, out[i].High = g.Scale.Target(v.Low), g.Scale.Target(v.High)
	}
	return out, nil
}

// Show gives what a setting will show when the sender stands at a mark, going
// by its curve, and the standard uncertainty of that. False where the mark lies
// outside the readings.
func (g Gauge) Show(setting span.Setting, mark float64) (shown, u quantity.Share, ok bool) {
	a := g.Curve.Ohm(mark, curve.Refuse)
	if !a.Known {
		return 0, 0, false
	}
	u, _, _ = span.Spread(setting, a.Ohm, a.UOhm)
	return setting.Show(a.Ohm), u, true
}
