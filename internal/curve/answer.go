package curve

import (
	"math"

	"gaugewright/internal/doubt"
	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
)

// Answer is what the curve says at one mark or at one resistance.
type Answer struct {
	Mark  float64      // share, m, m³ or kg
	UMark float64      // its standard uncertainty
	Ohm   quantity.Ohm // at Mark
	UOhm  quantity.Ohm // its standard uncertainty
	// Outside says that the question lies beyond the readings.
	Outside bool
	// Known is false where the curve has no answer: outside the readings with
	// no continuation asked for, or none possible. Then the figure that was
	// asked for, and its uncertainty, mean nothing.
	Known bool
	// Lowest and Highest are the marks between which this resistance is given;
	// they differ where the sender doesn't move.
	Lowest, Highest float64
}

// Beyond says what to do with a question outside the readings.
type Beyond int

const (
	// Refuse: no answer outside the readings.
	Refuse Beyond = iota
	// Continue: go on in a straight line from the end of the curve, with the
	// slope of its last three points, and an uncertainty that grows with the
	// distance. The answer is marked Outside all the same.
	Continue
)

// hairWidth, in parts of the range, is what reckoning may add to an end value
// without its lying outside.
const hairWidth = 1e-12

// Ohm gives the resistance at a mark.
func (c *Curve) Ohm(mark float64, beyond Beyond) Answer {
	a := Answer{Mark: mark, Lowest: mark, Highest: mark}
	first, last := c.points[0].Mark, c.points[len(c.points)-1].Mark
	width := hairWidth * (last - first)
	if mark >= first-width && mark <= last+width {
		a.Known = true
		a.Ohm = c.turned(c.cubic.At(mark))
		a.UOhm = c.uAt(mark)
		return a
	}
	a.Outside = true
	if beyond == Continue {
		if t, ok := c.tangent(mark > last); ok {
			ohm, u := t.at(mark)
			a.Ohm, a.UOhm = c.turned(ohm), quantity.Ohm(u)
			a.Known = a.Ohm >= 0
		}
	}
	return a
}

// Mark gives the mark at a resistance read once in service; its uncertainty
// holds the scatter of that reading besides the curve's own. Where the sender doesn't move the middle
// of the dead stretch is given, and the uncertainty covers the stretch.
func (c *Curve) Mark(ohm quantity.Ohm, beyond Beyond) Answer {
	a := Answer{Ohm: ohm}
	y := float64(c.direction) * float64(ohm)
	n := len(c.points)
	low, high := c.cubic.y[0], c.cubic.y[n-1]
	width := hairWidth * (high - low)
	if y >= low-width && y <= high+width {
		a.Known = true
		y = min(high, max(low, y))
		a.Lowest, a.Highest = c.cubic.Inverse(y)
		a.Mark = (a.Lowest + a.Highest) / 2
		a.UOhm = c.uAt(a.Mark)
		a.UMark = c.uMark(y, doubt.Combine(float64(a.UOhm), c.repeat.SD), a.Lowest, a.Highest)
		return a
	}
	a.Outside = true
	if beyond == Continue {
		if t, ok := c.tangent(y > high); ok {
			a.Known = true
			a.Mark = t.x + (y-t.y)/t.slope
			_, u := t.at(a.Mark)
			a.UOhm, a.UMark = quantity.Ohm(u), doubt.Combine(u, c.repeat.SD)/t.slope
			a.Lowest, a.Highest = a.Mark, a.Mark
		}
	}
	return a
}

// uMark turns an uncertainty in ohms into one in marks by asking the curve
// itself one u to either side, which follows its bends where a slope would
// not, and adds a dead stretch as a rectangular doubt. At the very ends the
// curve has only one side; the side that exists is taken.
func (c *Curve) uMark(y, u, lowest, highest float64) float64 {
	below, _ := c.cubic.Inverse(y - u)
	_, above := c.cubic.Inverse(y + u)
	side := max(lowest-below, above-highest)
	return doubt.Combine(side, doubt.Rectangular((highest-lowest)/2))
}

// uAt gives the standard uncertainty in ohms at a mark within the readings.
func (c *Curve) uAt(mark float64) quantity.Ohm { return quantity.Ohm(c.uOhm(c.placeOf(mark))) }

// tangent is the straight line that carries the curve on beyond an end.
type tangent struct {
	x, y, slope float64
	fit         *doubt.Polynomial
	uPoint      float64
	span        float64 // marks the line was drawn from
}

// at gives the continued value at x and its standard uncertainty: that of the
// fitted line (as in JCGM 100:2008, H.3), and that of the points it was drawn
// from, levered by the distance.
func (t tangent) at(x float64) (y, u float64) {
	_, uFit := t.fit.At(x)
	return t.y + t.slope*(x-t.x), doubt.Combine(uFit, t.uPoint*(1+2*math.Abs(x-t.x)/t.span))
}

// tangent fits a line to the last three points at an end (two, where there are
// no more). There is none where the sender doesn't move at that end.
func (c *Curve) tangent(top bool) (tangent, bool) {
	n := len(c.points)
	k := min(3, n)
	from, end := 0, 0
	if top {
		from, end = n-k, n-1
	}
	x, y := c.cubic.x[from:from+k], c.cubic.y[from:from+k]
	fit, err := doubt.FitPolynomial(x, y, 1, x[0])
	if err != nil || !(fit.Coef[1] > 0) {
		return tangent{}, false
	}
	return tangent{c.cubic.x[end], c.cubic.y[end], fit.Coef[1], fit, float64(c.points[end].U), x[k-1] - x[0]}, true
}

// Ordered says whether the ohms keep one direction, noise apart. A curve that
// isn't ordered is only good for showing what is wrong.
func (c *Curve) Ordered() bool { return c.disorder == "" }

// Disorder says in words how a curve that isn't ordered goes; "" for others.
func (c *Curve) Disorder() string { return c.disorder }

// Unit says in what the marks are.
func (c *Curve) Unit() MarkUnit { return c.unit }

// Signal says which electrical quantity the sender gives: what every Ohm of this
// curve is, in the signal's own shown unit.
func (c *Curve) Signal() Signal { return c.signal }

// Direction says which way the ohms go as the mark rises.
func (c *Curve) Direction() Direction { return c.direction }

// Points gives the marks of the curve in rising order.
func (c *Curve) Points() []Point { return append([]Point(nil), c.points...) }

// Used gives the readings the curve rests on, in the order they were taken.
func (c *Curve) Used() []Reading { return c.pick(false) }

// SetAside gives the readings that were left out as suspected mistakes.
func (c *Curve) SetAside() []Reading { return c.pick(true) }

func (c *Curve) pick(aside bool) []Reading {
	var out []Reading
	for i, r := range c.readings {
		if c.setAside[i] == aside {
			r.Sweep = c.sweeps[i]
			out = append(out, r)
		}
	}
	return out
}

// Range gives the least and the greatest ohms among the readings used; the
// greatest is what a readout must still take for a level.
func (c *Curve) Range() (least, greatest quantity.Ohm) {
	return quantity.Ohm(c.smallest), quantity.Ohm(c.largest)
}

// Span gives the ohms between the lowest and the highest mark, above zero.
func (c *Curve) Span() quantity.Ohm {
	return quantity.Ohm(c.cubic.y[len(c.cubic.y)-1] - c.cubic.y[0])
}

// Hysteresis gives the largest difference between the sweeps.
func (c *Curve) Hysteresis() Hysteresis { return c.hysteresis }

// Repeatability gives the pooled standard deviation of repeated readings in
// ohms; its DF is 0 where no mark was read twice in one direction.
func (c *Curve) Repeatability() doubt.Pooled { return c.repeat }

// Resolution gives the step of the meter in ohms, as far as the readings show it.
func (c *Curve) Resolution() quantity.Ohm { return quantity.Ohm(c.resolution) }

// Findings gives what was found out, the most telling first.
func (c *Curve) Findings() []finding.Finding {
	return append([]finding.Finding(nil), c.findings...)
}
