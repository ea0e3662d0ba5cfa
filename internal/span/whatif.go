package span

import (
	"fmt"
	"math"

	"gaugewright/internal/curve"
	"gaugewright/internal/doubt"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
)

// Figure is what a setting shows at a mark, and how well that is known from the
// curve.
type Figure struct {
	Mark      float64      // as in the curve's sheet
	Ohm       quantity.Ohm // what the sender gives there
	UOhm      quantity.Ohm // its standard uncertainty
	Outside   bool         // the mark lies beyond the readings: a straight continuation
	Known     bool         // false: there is no answer, and the rest means nothing
	Target    quantity.Share
	Shown     quantity.Share
	U         quantity.Share // standard uncertainty of Shown
	Low, High quantity.Share // 95 % interval of Shown, within 0..1
}

// WhatIf gives what a setting shows when the sender stands at a mark.
//
// U is the difference one standard uncertainty of the ohms makes to the figure,
// on the side where it makes more; Low and High are the figures shown two of
// them to either side, so a display held at an end stays there.
func WhatIf(c *curve.Curve, s scale.Scale, setting Setting, mark float64) Figure {
	a := c.Ohm(mark, curve.Continue)
	f := Figure{Mark: mark, Ohm: a.Ohm, UOhm: a.UOhm, Outside: a.Outside, Known: a.Known, Target: s.Target(mark)}
	if f.Known {
		f.Shown = setting.Show(a.Ohm)
		f.U, f.Low, f.High = Spread(setting, a.Ohm, a.UOhm)
	}
	return f
}

// Spread gives the standard uncertainty and the 95 % interval of what a setting
// shows at a resistance known to ±u: what one u to either side does to the
// figure, on the side where it does more, and the figures two u to either side.
func Spread(setting Setting, ohm, u quantity.Ohm) (spread, low, high quantity.Share) {
	here := setting.Show(ohm)
	spread = max(size(setting.Show(ohm+u)-here), size(setting.Show(ohm-u)-here))
	a, b := setting.Show(ohm-doubt.UsualFactor*u), setting.Show(ohm+doubt.UsualFactor*u)
	return spread, min(a, b), max(a, b)
}

// Sensitivity is what one ohm more, or for other signals their Step more, on one
// value does to the figure at one mark.
type Sensitivity struct {
	Value  string // "upper value", "lower value", "entry at 40.1 Ω"
	Mark   float64
	Change quantity.Share // of the figure shown; below zero it falls
	Top    bool           // the mark is the top of the scale
	Signal curve.Signal   // of what a Step more is meant
}

// Sentence says it in words, with marks in a unit.
func (v Sensitivity) Sentence(unit curve.MarkUnit) string {
	points := quantity.Digits(math.Abs(float64(v.Change))*100, 1)
	if points == "0.0" {
		return fmt.Sprintf("%s more on the %s changes nothing at %s.", oneMore(v.Signal), v.Value, markText(unit, v.Mark))
	}
	verb := "raises"
	if v.Change < 0 {
		verb = "lowers"
	}
	return fmt.Sprintf("%s more on the %s %s the figure at %s by %s points.", oneMore(v.Signal), v.Value, verb, markText(unit, v.Mark), points)
}

// oneMore names a Step of a signal at the beginning of a sentence.
func oneMore(signal curve.Signal) string {
	if signal == curve.Ohms {
		return "One ohm"
	}
	return quantity.Short(float64(signal.Step()), 2) + " " + signal.Unit()
}

// markText names a mark: "mark 80" on a dial, else with its unit.
func markText(unit curve.MarkUnit, mark float64) string {
	if unit == curve.Dial {
		return "mark " + unit.Figure(mark)
	}
	return unit.Text(mark)
}

// Sensitivities says what one ohm more, or for other signals their Step, on each value that is keyed in does: for
// end values at the top of the scale and, where that is another place, at the
// mark where it does most; for a table for the entry that matters most.
func Sensitivities(c *curve.Curve, s scale.Scale, setting Setting) []Sensitivity {
	step := c.Signal().Step()
	switch v := setting.(type) {
	case Ends:
		return append(
			sensitivitiesOf(c, s, "upper value", v, Ends{v.Lower, v.Upper + step}),
			sensitivitiesOf(c, s, "lower value", v, Ends{v.Lower + step, v.Upper})...)
	case EndsThenTable:
		return append(
			sensitivitiesOf(c, s, "upper value", v, EndsThenTable{Ends{v.Ends.Lower, v.Ends.Upper + step}, v.Table}),
			sensitivitiesOf(c, s, "lower value", v, EndsThenTable{Ends{v.Ends.Lower + step, v.Ends.Upper}, v.Table})...)
	case Table:
		var most []Sensitivity
		for i, e := range v {
			next := append(Table(nil), v...)
			next[i].Ohm += step
			if i < len(v)-1 && next[i].Ohm >= v[i+1].Ohm {
				continue
			}
			for _, one := range sensitivitiesOf(c, s, "entry at "+short(c.Signal(), float64(e.Ohm)), v, next) {
				if len(most) == 0 || size(one.Change) > size(most[0].Change) {
					most = []Sensitivity{one}
				}
			}
		}
		return most
	}
	return nil
}

// sensitivitiesOf compares what two settings show along the marks.
func sensitivitiesOf(c *curve.Curve, s scale.Scale, value string, here, next Setting) []Sensitivity {
	at := func(mark float64) Sensitivity {
		ohm := c.Ohm(mark, curve.Refuse).Ohm
		return Sensitivity{Value: value, Signal: c.Signal(), Mark: mark, Change: next.Show(ohm) - here.Show(ohm)}
	}
	top := at(topMark(c, s))
	top.Top = true
	most := top
	for _, p := range c.Points() {
		if p.Mark > top.Mark {
			break // more than is to be filled
		}
		if v := at(p.Mark); size(v.Change) > size(most.Change)+5e-4 {
			most = v
		}
	}
	if most.Mark == top.Mark {
		return []Sensitivity{top}
	}
	return []Sensitivity{top, most}
}

// topMark gives the mark at 100 % of the scale, or the highest read below it.
func topMark(c *curve.Curve, s scale.Scale) float64 {
	_, full := s.Ends()
	points := c.Points()
	return min(full, points[len(points)-1].Mark)
}
