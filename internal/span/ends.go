package span

import (
	"fmt"
	"math"

	"gaugewright/internal/curve"
	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
)

// Choice is the best setting there is, and why.
type Choice struct {
	Trial
	// LowerBound is the least worst error that any values at all could reach
	// within the same margin, steps or no steps. Worst − LowerBound is what
	// the readout's steps cost.
	LowerBound quantity.Share
	// Searched is how many pairs on the readout's steps were ruled out by
	// trying them or by a bound, so that none does better; 0 where the choice
	// isn't tied to steps.
	Searched int
	Margin   quantity.Ohm // kept above the sender's greatest ohms
	Findings []finding.Finding
}

// BestEnds gives the end values for a two-point readout that make the worst
// error over the readings least, on the readout's steps, with the sender's
// greatest ohms within the scale inside the greater end value by the margin.
// Where several pairs do equally well, the one nearest to the natural ends
// (what the sender gives at 0 % and 100 % of the scale) is taken.
//
// The search is exhaustive: for a given upper value the largest reading too
// high falls and the largest reading too low grows as the lower value grows,
// so the best lower value stands where they cross; upper values are tried
// outward from the best one without steps until even the best lower value of
// any kind could not beat the pair in hand.
//
// A *NoChoiceError means that the margin can't be kept below the largest value
// the readout takes, a *curve.SenderError that the sender keeps no order.
func BestEnds(c *curve.Curve, s scale.Scale, readout Readout, margin Margin) (Choice, error) {
	p, err := newProblem(c, s, readout, margin)
	if err != nil {
		return Choice{}, err
	}
	bound, free := p.relax()
	best := free
	searched := 0
	if readout.Step > 0 {
		best, searched, err = p.search(free)
		if err != nil {
			return Choice{}, err
		}
	}
	best = p.nearestTo(p.natural(c, s), best)
	choice := Choice{
		Trial:      Try(c, s, p.ends(best)),
		LowerBound: quantity.Share(bound / 100),
		Searched:   searched,
		Margin:     p.margin,
	}
	// Rounding must not make a bound look better than what it bounds.
	choice.LowerBound = min(choice.LowerBound, choice.Worst)
	choice.Findings = p.explain(c, s, choice, margin)
	return choice, nil
}

// pair is two end values in the rising orientation.
type pair struct{ lower, upper float64 }

// at is one reading: its ohms in the rising orientation and its target in percent.
type at struct{ ohm, target float64 }

// maxStep is coarser than any readout; beyond it something was mistyped.
const maxStep quantity.Ohm = 1000

// problem is the choice of end values turned so that the sender rises: for a
// falling one every resistance has its sign changed, and a readout whose
// display is 100·(R−L)/(U−L) shows the same.
type problem struct {
	sign     float64
	readings []at
	readout  Readout
	margin   quantity.Ohm
	// What may be keyed in, in the rising orientation.
	lowest, highestLower float64
	lowestUpper, highest float64
}

func newProblem(c *curve.Curve, s scale.Scale, readout Readout, margin Margin) (*problem, error) {
	if !c.Ordered() {
		return nil, &curve.SenderError{Text: c.Disorder()}
	}
	if !(readout.Step >= 0 && readout.Step <= maxStep) {
		return nil, &NoChoiceError{fmt.Sprintf("a step of %g ohm isn't a step; expected 0 (any value) to %g, such as 1 or 0.1", float64(readout.Step), float64(maxStep))}
	}
	p := &problem{sign: float64(c.Direction()), readout: readout}
	p.margin, _ = margin.Over(c)
	_, fullMark := s.Ends()
	greatest := 0.0
	consider := func(mark float64, ohm quantity.Ohm) {
		if mark <= fullMark+1e-12 {
			greatest = max(greatest, float64(ohm))
		}
	}
	for _, r := range c.Used() {
		p.readings = append(p.readings, at{p.sign * float64(r.Ohm), float64(s.Target(r.Mark)) * 100})
		consider(r.Mark, r.Ohm)
	}
	// The end of the scale may lie between two readings.
	if a := c.Ohm(fullMark, curve.Refuse); a.Known {
		consider(fullMark, a.Ohm)
	}

	limit := math.Inf(1)
	if readout.Highest > 0 {
		limit = readout.down(float64(readout.Highest))
	}
	inside := greatest + float64(p.margin)
	if readout.up(inside) > limit {
		return nil, &NoChoiceError{fmt.Sprintf(
			"the margin can't be kept: the sender gives up to %s, and with a margin of %s Ω the greater end value must be %s Ω or more, but the readout takes %s Ω at most; a margin of %s Ω is the most that fits",
			quantity.Ohm(greatest), quantity.Short(float64(p.margin), 2), quantity.Short(readout.up(inside), 2), quantity.Short(limit, 2),
			quantity.Short(max(0, limit-greatest), 2))}
	}
	if p.sign > 0 {
		p.lowest, p.highestLower = 0, math.Inf(1)
		p.lowestUpper, p.highest = inside, limit
	} else {
		p.lowest, p.highestLower = -limit, -inside
		p.lowestUpper, p.highest = math.Inf(-1), 0
	}
	return p, nil
}

func (p *problem) ends(v pair) Ends {
	return Ends{Lower: quantity.Ohm(p.sign * v.lower), Upper: quantity.Ohm(p.sign * v.upper)}
}

// high and low give the largest amount, in points, by which the display reads
// too high and too low. Both are 0 or more.
func (p *problem) errors(v pair) (high, low float64) {
	k := 100 / (v.upper - v.lower)
	for _, r := range p.readings {
		shown := min(100, max(0, k*(r.ohm-v.lower)))
		high, low = max(high, shown-r.target), max(low, r.target-shown)
	}
	return high, low
}

func (p *problem) worst(v pair) float64 {
	high, low := p.errors(v)
	return max(high, low)
}

// natural gives what the sender gives at both ends of the scale, continued
// where the readings don't reach; held to what can be keyed in.
func (p *problem) natural(c *curve.Curve, s scale.Scale) pair {
	empty, full := s.Ends()
	end := func(mark, fallback float64) float64 {
		if a := c.Ohm(mark, curve.Continue); a.Known {
			return p.sign * float64(a.Ohm)
		}
		return fallback
	}
	points := c.Points()
	first, last := points[0], points[len(points)-1]
	return pair{
		min(p.highestLower, max(p.lowest, end(empty, p.sign*float64(first.Ohm)))),
		min(p.highest, max(p.lowestUpper, end(full, p.sign*float64(last.Ohm)))),
	}
}

// explain says what the margin is for and what the scale leaves out.
func (p *problem) explain(c *curve.Curve, s scale.Scale, choice Choice, margin Margin) []finding.Finding {
	_, why := margin.Over(c)
	out := []finding.Finding{{Kind: "margin", Text: why}}
	ends := choice.Setting.(Ends)
	greater := max(ends.Lower, ends.Upper)
	if _, greatest := c.Range(); greatest > greater {
		out = append(out, finding.Finding{Kind: "above-scale", Weight: finding.Doubt, Text: fmt.Sprintf(
			"Beyond 100 %% the sender gives up to %s, more than the upper value: a readout may then show a fault instead of 100 %%. It must not be filled that far.", greatest)})
	}
	if unseen := p.unseen(c, s); unseen != "" {
		out = append(out, finding.Finding{Kind: "not-reached", Weight: finding.Doubt, Text: unseen})
	}
	if float64(choice.Between) > float64(choice.Worst)+0.005 {
		out = append(out, finding.Finding{Kind: "between", Weight: finding.Note, Text: fmt.Sprintf(
			"Between the marks that were read the error may reach %s points, if the sender follows the curve drawn there.", quantity.Digits(float64(choice.Between)*100, 1))})
	}
	return out
}

// unseen says which end of the scale no reading has reached.
func (p *problem) unseen(c *curve.Curve, s scale.Scale) string {
	empty, full := s.Ends()
	points := c.Points()
	first, last := points[0].Mark, points[len(points)-1].Mark
	gap := 0.02 * (full - empty)
	unit := c.Unit()
	switch {
	case first > empty+gap && last < full-gap:
		return fmt.Sprintf("No reading below %s or above %s: what will be shown there is a straight continuation.", unit.Text(first), unit.Text(last))
	case first > empty+gap:
		return fmt.Sprintf("No reading below %s: what will be shown there is a straight continuation.", unit.Text(first))
	case last < full-gap:
		return fmt.Sprintf("No reading above %s: what will be shown there is a straight continuation.", unit.Text(last))
	}
	return ""
}
