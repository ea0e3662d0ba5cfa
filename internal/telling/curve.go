package telling

import (
	"fmt"

	"gaugewright/internal/curve"
	"gaugewright/internal/doubt"
	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
)

// CurvePoints is what the sender gives at each mark that was read, with its doubt
// and the number of readings. Of a sender that keeps no order it is what was
// measured, without a doubt.
func CurvePoints(c *curve.Curve) Grid {
	unit, signal := c.Unit(), c.Signal()
	if !c.Ordered() {
		g := Grid{Head: []string{"mark", signal.Head(), "readings"}}
		for _, p := range c.Points() {
			g.Add(unit.Text(p.Mark), signal.Figure(p.Measured), fmt.Sprint(p.N))
		}
		return g
	}
	g := Grid{Head: []string{"mark", signal.Head(), "±", "readings"}}
	for _, p := range c.Points() {
		n := "–" // not fitted to readings
		if p.N > 0 {
			n = fmt.Sprint(p.N)
		}
		g.Add(unit.Text(p.Mark), signal.Figure(p.Ohm), DoubtOf(signal, doubt.UsualFactor*float64(p.U)), n)
	}
	return g
}

// CurveNote says what the ± of CurvePoints is; "" where it has none.
func CurveNote(c *curve.Curve) string {
	if !c.Ordered() {
		return ""
	}
	return "± is about 95 % (twice the standard uncertainty), from " + c.DoubtWords() + "."
}

// OddsOf holds the claims against the readings or, where nothing is claimed, the
// usual spans. Empty and full are the marks that the claims are of. Of a sender
// that keeps no order there are no odds.
func OddsOf(c *curve.Curve, claims []curve.Claim, empty, full float64) (curve.Odds, error) {
	if !c.Ordered() {
		return curve.Odds{}, nil
	}
	if len(claims) == 0 {
		return c.Families(empty, full)
	}
	return c.Odds(curve.AsStated(claims), empty, full)
}

// OddsFindings puts odds into sentences; nothing where there are none.
func OddsFindings(c *curve.Curve, o curve.Odds) []finding.Finding {
	if len(o.List) == 0 {
		return nil
	}
	return c.OddsFindings(o)
}

// intervalTolerance is how stable the ends of an interval are, in parts of the
// range of the marks: half the last digit that is printed.
const intervalTolerance = 0.0005

// IntervalOf gives the 95 % interval of a mark told from a value; nil where it has
// none, or lies outside the readings.
func IntervalOf(c *curve.Curve, a curve.Answer) *curve.Interval {
	if !a.Known || a.Outside {
		return nil
	}
	in, _, err := c.Intervals([]quantity.Ohm{a.Ohm}, curve.Redrawn, doubt.Rule{Tolerance: intervalTolerance})
	if err != nil {
		return nil
	}
	return &in[0]
}

// MarkTold says which mark a value tells: the value asked for, and the answer.
// The interval may be nil.
func MarkTold(c *curve.Curve, a curve.Answer, in *curve.Interval) (asked, told string) {
	unit := c.Unit()
	told = fmt.Sprintf("%s ± %s", unit.Text(a.Mark), unit.Text(doubt.UsualFactor*a.UMark))
	if in != nil {
		told = fmt.Sprintf("%s, with 95 %% between %s and %s", FineMark(unit, a.Mark), FineMark(unit, in.Low), FineMark(unit, in.High))
	}
	return c.Signal().Text(a.Ohm), answer(a, told)
}

// ValueTold says what the sender gives at a mark: the mark asked for, and the
// answer.
func ValueTold(c *curve.Curve, a curve.Answer) (asked, told string) {
	signal := c.Signal()
	return c.Unit().Text(a.Mark), answer(a, fmt.Sprintf("%s ± %s", signal.Text(a.Ohm), signal.Text(doubt.UsualFactor*a.UOhm)))
}

// answer says an answer, and what it is worth where it lies outside.
func answer(a curve.Answer, text string) string {
	switch {
	case !a.Known:
		return "outside the readings: no answer"
	case a.Outside:
		return text + ", outside the readings: a straight continuation"
	}
	return text
}

// Plan says what to read next, under a title.
func Plan(p curve.Plan) (title string, list []finding.Finding) {
	return "What to read next", p.Findings()
}

// MarkEnds gives the marks at empty and full of a curve's own scale: as they are
// stated, in the unit that marks are shown in (%, mm, L, kg), and else 0 and 100 %
// of a dial, the lowest and the highest mark read of anything else.
func MarkEnds(c *curve.Curve, emptyStated, fullStated *float64) (empty, full float64) {
	empty, full = 0, 1
	unit := c.Unit()
	if unit != curve.Dial {
		points := c.Points()
		empty, full = points[0].Mark, points[len(points)-1].Mark
	}
	if emptyStated != nil {
		empty = unit.FromShown(*emptyStated)
	}
	if fullStated != nil {
		full = unit.FromShown(*fullStated)
	}
	return empty, full
}
