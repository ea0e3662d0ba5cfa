package span

import (
	"fmt"
	"math"
	"strings"

	"gaugewright/internal/curve"
	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
)

// pair is two end values in the rising orientation.
type pair struct{ lower, upper float64 }

// maxStepOf is coarser than any readout; beyond it something was mistyped.
func maxStepOf(signal curve.Signal) quantity.Ohm {
	if signal == curve.Ohms {
		return 1000
	}
	return signal.Limit() / 10
}

// problem is the choice of end values turned so that the sender rises: for a
// falling one every resistance has its sign changed, and a readout whose
// display is 100·(R−L)/(U−L) shows the same.
type problem struct {
	sign      float64
	signal    curve.Signal
	readings  []at
	readout   Readout
	objective Objective
	margin    quantity.Ohm
	why       string       // the reason for the margin
	inside    float64      // the least ohms that the greater end value may have
	greatest  quantity.Ohm // the sender's greatest within the scale
	across    float64      // from its least to its greatest, in ohms
	// The least and the greatest ohms that can be keyed in.
	leastOhm, mostOhm float64
	// The same for either end value, in the rising orientation.
	lowest, highestLower float64
	lowestUpper, highest float64
}

func newProblem(c *curve.Curve, s scale.Scale, readout Readout, margin Margin, objective Objective) (*problem, error) {
	if !c.Ordered() {
		return nil, &curve.SenderError{Text: c.Disorder()}
	}
	signal := c.Signal()
	if maxStep := maxStepOf(signal); !(readout.Step >= 0 && readout.Step <= maxStep) {
		return nil, &NoChoiceError{fmt.Sprintf("a step of %g %s isn't a step; expected 0 (any value) to %g, such as %g or %g",
			float64(readout.Step), unitWord(signal), float64(maxStep), float64(signal.Step()), float64(signal.Step())/10)}
	}
	objective, err := ParseObjective(string(objective))
	if err != nil {
		return nil, &NoChoiceError{err.Error()}
	}
	p := &problem{sign: float64(c.Direction()), signal: signal, readout: readout, objective: objective}
	p.margin, p.why = margin.Over(c, s)
	least, most := c.Range()
	p.across = float64(most - least)
	p.greatest = greatestWithin(c, s)
	for _, r := range Stations(c) {
		a := at{ohm: p.sign * float64(r.Ohm), target: float64(s.Target(r.Mark)) * 100}
		a.up, a.down, a.slack = objective.band(a.target)
		p.readings = append(p.readings, a)
	}
	p.inside = float64(p.greatest) + float64(p.margin)
	lowest, limit, err := p.limits()
	if err != nil {
		return nil, err
	}
	p.leastOhm, p.mostOhm = lowest, limit
	if p.sign > 0 {
		p.lowest, p.highestLower = lowest, math.Inf(1)
		p.lowestUpper, p.highest = max(p.inside, lowest), limit
	} else {
		p.lowest, p.highestLower = -limit, -p.inside
		p.lowestUpper, p.highest = math.Inf(-1), -lowest
		if lowest == 0 {
			p.highest = 0 // not -0
		}
	}
	return p, nil
}

// greatestWithin gives the greatest ohms of the readings within a scale, and of
// the curve at its end, which may lie between two readings.
func greatestWithin(c *curve.Curve, s scale.Scale) quantity.Ohm {
	greatest := quantity.Ohm(0)
	_, full := s.Ends()
	for _, r := range Stations(c) {
		if s.Holds(r.Mark) {
			greatest = max(greatest, r.Ohm)
		}
	}
	if a := c.Ohm(full, curve.Refuse); a.Known {
		greatest = max(greatest, a.Ohm)
	}
	return greatest
}

// limits gives the least and the greatest ohms that can be keyed in, on the
// steps, and refuses what leaves no room for the sender.
func (p *problem) limits() (least, greatest float64, err error) {
	r := p.readout
	if r.Lowest < 0 || r.Highest < 0 || math.IsNaN(float64(r.Lowest)) || math.IsNaN(float64(r.Highest)) {
		return 0, 0, &NoChoiceError{fmt.Sprintf("the lowest and the highest %s that can be keyed in can't be below zero; found %g and %g", p.signal.Figures(), float64(r.Lowest), float64(r.Highest))}
	}
	greatest = math.Inf(1)
	if r.Highest > 0 {
		greatest = r.down(float64(r.Highest))
	}
	if r.up(p.inside) > greatest {
		text := fmt.Sprintf(
			"the margin can't be kept: the sender gives up to %s, and with a margin of %s the greater end value must be %s or more, but the readout takes %s at most; ",
			p.signal.Text(p.greatest), short(p.signal, float64(p.margin)), short(p.signal, r.up(p.inside)), short(p.signal, greatest))
		if most := greatest - float64(p.greatest); most >= 0 {
			text += fmt.Sprintf("a margin of %s is the most that fits", short(p.signal, most))
		} else {
			text += fmt.Sprintf("no margin fits, a highest value of %s would do", short(p.signal, r.up(p.inside)))
		}
		if step, ok := p.finerStep(); ok {
			text += fmt.Sprintf(", or with this margin steps of %s %s", quantity.Short(step, 6), p.signal.Unit())
		}
		return 0, 0, &NoChoiceError{text}
	}
	if r.Lowest == 0 {
		return 0, greatest, nil
	}
	least = r.up(float64(r.Lowest))
	if r.Lowest >= p.greatest {
		return 0, 0, &NoChoiceError{fmt.Sprintf(
			"the readout takes no less than %s %s, and the sender gives %s at most within this scale: nothing could be told apart; a lowest value below %s would do",
			quantity.Short(float64(r.Lowest), 3), p.signal.Unit(), p.signal.Text(p.greatest), p.signal.Text(p.greatest))}
	}
	if least >= greatest {
		return 0, 0, p.noPair()
	}
	return least, greatest, nil
}

// noPair says that the steps leave no two values, and which would.
func (p *problem) noPair() error {
	text := fmt.Sprintf("no two values in steps of %s %s lie within what can be keyed in", quantity.Short(float64(p.readout.Step), 3), p.signal.Unit())
	if step, ok := p.finerStep(); ok {
		return &NoChoiceError{text + fmt.Sprintf("; steps of %s %s would do", quantity.Short(step, 6), p.signal.Unit())}
	}
	return &NoChoiceError{text + "; use a smaller step or a readout that takes more " + p.signal.Figures()}
}

// finerStep finds the coarsest step of 5, 2 and 1 times a power of ten, below
// the readout's own, on which two end values can keep the margin and the limits.
func (p *problem) finerStep() (float64, bool) {
	power := math.Pow(10, math.Ceil(math.Log10(max(1e-9, float64(p.readout.Step)))))
	for power > 1e-4*float64(p.readout.Step) && p.readout.Step > 0 {
		for _, part := range []float64{5, 2, 1} {
			r := p.readout
			r.Step = quantity.Ohm(part * power)
			if r.Step >= p.readout.Step {
				continue
			}
			top := math.Inf(1)
			if r.Highest > 0 {
				top = r.down(float64(r.Highest))
			}
			if max(r.up(p.inside), r.up(float64(r.Lowest))+float64(r.Step)) <= top {
				return float64(r.Step), true
			}
		}
		power /= 10
	}
	return 0, false
}

func (p *problem) ends(v pair) Ends {
	return Ends{Lower: quantity.Ohm(p.sign * v.lower), Upper: quantity.Ohm(p.sign * v.upper)}
}

// errors gives the largest score, in points, of a reading shown too high and
// of one shown too low. Both are 0 or more; too high is infinite where that may
// not be.
func (p *problem) errors(v pair) (high, low float64) {
	k := 100 / (v.upper - v.lower)
	if p.objective == Worst { // the same with every weight 1, and much asked for
		for i := range p.readings {
			r := &p.readings[i]
			shown := min(100, max(0, k*(r.ohm-v.lower)))
			high, low = max(high, shown-r.target), max(low, r.target-shown)
		}
		return high, low
	}
	for i := range p.readings {
		r := &p.readings[i]
		tooHigh, tooLow := r.score(min(100, max(0, k*(r.ohm-v.lower))))
		high, low = max(high, tooHigh), max(low, tooLow)
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

// shortOf says where the sender stands still short of the ends of the scale, so
// that no setting can show less, or more.
func shortOf(c *curve.Curve, s scale.Scale) []finding.Finding {
	const least = 0.005 // of the scale; less isn't worth a word
	low, high := s.Ends()
	from, to := s.Target(low), s.Target(high)
	unit := c.Unit()
	var parts []string
	if from > least {
		parts = append(parts, fmt.Sprintf("down to %s (%s of this scale): with less in the tank the display stands still there", unit.Text(low), inPercent(from)))
	}
	if to < 1-least {
		parts = append(parts, fmt.Sprintf("up to %s (%s): with more it stands still there", unit.Text(high), inPercent(to)))
	}
	if len(parts) == 0 {
		return nil
	}
	return []finding.Finding{{Kind: "stands-still", Weight: finding.Doubt, Text: "The sender follows the level only " + strings.Join(parts, ", and only ") + "."}}
}

func inPercent(s quantity.Share) string { return quantity.Digits(float64(s)*100, 1) + " %" }

// unseen says which end of the scale no reading has reached.
func (p *problem) unseen(c *curve.Curve, s scale.Scale) string {
	points := c.Points()
	first, last := points[0].Mark, points[len(points)-1].Mark
	const gap = 0.02
	// Where the sender stands still there is nothing to be read.
	low, high := s.Ends()
	below, above := s.Target(first) > s.Target(low)+gap+1e-12, s.Target(last) < s.Target(high)-gap-1e-12
	unit := c.Unit()
	switch {
	case below && above:
		return fmt.Sprintf("No reading below %s or above %s: what will be shown there is a straight continuation.", unit.Text(first), unit.Text(last))
	case below:
		return fmt.Sprintf("No reading below %s: what will be shown there is a straight continuation.", unit.Text(first))
	case above:
		return fmt.Sprintf("No reading above %s: what will be shown there is a straight continuation.", unit.Text(last))
	}
	return ""
}
