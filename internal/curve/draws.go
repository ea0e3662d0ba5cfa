package curve

import (
	"fmt"
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/stat/distuv"

	"gaugewright/internal/doubt"
	"gaugewright/internal/quantity"
)

// Interval is the mark told from one reading of a resistance in service, with
// all that the bench and that reading leave in doubt.
type Interval struct {
	Ohm       quantity.Ohm
	Mark, U   float64 // estimate and standard uncertainty
	Low, High float64 // the interval that holds the true mark with the rule's probability
}

// Course says what is drawn anew in every trial.
type Course int

const (
	// Redrawn: every bench reading is drawn anew and the curve fitted to them,
	// besides the reading in service. This is the whole doubt.
	Redrawn Course = iota
	// AsFitted: the curve stands as it is, and only what moves the reading in
	// service, or the whole curve with it, is drawn. It is quicker.
	AsFitted
)

// Intervals carries the whole budget through the curve by the Monte Carlo
// method and gives the mark and its interval for each resistance; the rule's
// tolerance is in parts of the marks' range. A resistance outside the readings
// by more than a tenth of the span is an error, since the curve says nothing
// there.
//
// Of a curve from knots the U of all knots is drawn together, in one.
//
// Source of the method: JCGM 101:2008. Repeats are drawn from Student's t by
// its degrees of freedom (6.4.9), all else as the budget names it.
func (c *Curve) Intervals(ohms []quantity.Ohm, course Course, rule doubt.Rule) ([]Interval, doubt.Propagation, error) {
	n := len(c.points)
	low, high := c.cubic.y[0], c.cubic.y[n-1]
	levels := make([]float64, len(ohms))
	for i, ohm := range ohms {
		levels[i] = float64(c.direction) * float64(ohm)
		if reach := 0.1 * (high - low); !(levels[i] >= low-reach && levels[i] <= high+reach) {
			return nil, doubt.Propagation{}, fmt.Errorf("%s lies outside the readings, %s to %s: no interval can be told", c.signal.Text(ohm), c.signal.Text(quantity.Ohm(c.smallest)), c.signal.Text(quantity.Ohm(c.largest)))
		}
	}
	travel := c.cubic.x[n-1] - c.cubic.x[0]
	rule.Tolerance *= travel
	if c.repeat.DF == 1 || c.repeat.DF == 2 {
		// Student's t has no variance then, so u never settles; the ends do.
		if rule.Blocks == 0 || rule.Blocks > 10 {
			rule.Blocks = 10
		}
	}
	var p doubt.Propagation
	var err error
	if course == AsFitted {
		p, err = doubt.PropagateBulk(len(ohms), c.asFitted(levels), rule)
	} else {
		p, err = doubt.Propagate(len(ohms), c.redrawn(levels), rule)
	}
	if err != nil {
		return nil, doubt.Propagation{}, err
	}
	out := make([]Interval, len(ohms))
	for i, r := range p.Results {
		out[i] = Interval{ohms[i], r.Mean, r.U, r.Low, r.High}
	}
	return out, p, nil
}

// stake is how far the common sources of doubt reach, for the draws.
type stake struct {
	sd         float64 // of one reading; drawn anew by the chi-squared of its degrees of freedom
	df         float64
	hysteresis float64 // half-widths in ohms
	digit      float64
	leads      float64 // standard uncertainty
	warmth     float64 // half-width in parts of the ohms
	meter      Meter
	step       quantity.Ohm
	mark       float64 // half-width in marks
	pouring    *Pouring
}

func (c *Curve) stake() stake {
	return stake{
		sd: c.repeat.SD, df: float64(c.repeat.DF), hysteresis: c.hysteresisHalf(), digit: float64(c.step()) / 2,
		leads: float64(c.doubts.LeadsU), warmth: float64(c.doubts.Temperature), meter: c.doubts.Meter, step: c.step(), mark: c.doubts.MarkHalfWidth,
		pouring: c.doubts.Pouring,
	}
}

// scatter draws the standard deviation of a reading: s·√(ν/χ²), so that a
// reading of it is distributed as Student's t.
func (k stake) scatter(chi distuv.ChiSquared) float64 {
	if k.df == 0 {
		return 0
	}
	return k.sd * math.Sqrt(k.df/chi.Rand())
}

func either(random *rand.Rand) float64 { return 2*random.Float64() - 1 }

// redrawn makes the model in which every bench reading is drawn anew.
func (c *Curve) redrawn(levels []float64) doubt.Model {
	n := len(c.points)
	k := c.stake()
	d := float64(c.direction)
	// What each point rests on, in the rising orientation.
	measured, root, weight := make([]float64, n), make([]float64, n), make([]float64, n)
	slope, error1 := make([]float64, n), make([]float64, n)
	shared := make([]float64, n) // of a curve from knots: doubt that moves it all
	for i, p := range c.points {
		measured[i] = d * float64(p.Measured)
		weight[i] = float64(max(1, p.N))
		if c.known() {
			shared[i] = float64(p.U)
		} else {
			root[i] = 1 / math.Sqrt(float64(p.N))
		}
		slope[i] = c.slopeAt(c.pieceOf(p.Mark), p.Mark)
		error1[i] = float64(k.meter.HalfWidth(p.Ohm, k.step))
	}
	// By how much the course between the marks is a choice, at each level.
	shape := make([]float64, len(levels))
	ohm := make([]float64, len(levels))
	for i, y := range levels {
		shape[i] = c.placeAt(y).shape
		ohm[i] = math.Abs(y)
	}
	least, greatest := c.limits()
	return func(random *rand.Rand) func([]float64) {
		s := newSketch(c.cubic.x, weight)
		var poured []float64
		if k.pouring != nil {
			poured = make([]float64, len(k.pouring.Pours)+1)
		}
		chi := distuv.ChiSquared{K: max(1, k.df), Src: random}
		return func(out []float64) {
			sd := k.scatter(chi)
			meter, leads := either(random), k.leads*random.NormFloat64()
			all := 0.0
			if c.known() {
				all = random.NormFloat64()
			}
			if poured != nil {
				k.pouring.Draw(random, poured)
			}
			for i := range n {
				e := sd*root[i]*random.NormFloat64() + k.digit*either(random) + all*shared[i]
				if k.mark > 0 {
					e += slope[i] * k.mark * either(random)
				}
				if poured != nil {
					// What was read belongs to the mark as it really was.
					e -= slope[i] * (k.pouring.Moved(poured, s.x[i]) - s.x[i])
				}
				s.y[i] = measured[i] + e + d*(meter*error1[i]+leads)
			}
			s.settle()
			shift := sd*random.NormFloat64() + k.hysteresis*either(random)
			warmth, course, flat := k.warmth*either(random), either(random), random.Float64()
			hint := 0
			for i, y := range levels {
				y += shift + d*warmth*ohm[i] + course*shape[i]
				out[i], hint = s.invert(y, flat, hint)
				out[i] = min(greatest, max(least, out[i]))
			}
		}
	}
}

// level is one resistance to be told the mark of, in the rising orientation,
// and how far each source of doubt moves it.
type level struct{ y, meter, warmth, course, own float64 }

// asFitted makes the model in which the curve stands.
func (c *Curve) asFitted(ohms []float64) doubt.Bulk {
	k := c.stake()
	d := float64(c.direction)
	inverse := NewInverter(c.cubic)
	n := len(c.points)
	levels := make([]level, len(ohms))
	for i, y := range ohms {
		at := c.placeAt(y)
		pours := 0.0
		if k.pouring != nil {
			pours = at.slope * k.pouring.U(at.mark)
		}
		levels[i] = level{
			y:      y,
			meter:  d * float64(k.meter.HalfWidth(quantity.Ohm(math.Abs(y)), k.step)),
			warmth: d * k.warmth * math.Abs(y),
			course: at.shape,
			// The points' own scatter and misread marks, as one normal doubt.
			own: doubt.Combine(k.sd/math.Sqrt(at.n), k.digit/math.Sqrt(3), at.slope*k.mark/math.Sqrt(3), pours),
		}
		if c.known() {
			levels[i].own = at.u
		}
	}
	low, high := c.cubic.y[0], c.cubic.y[n-1]
	least, greatest := c.limits()
	first, last := c.cubic.x[0], c.cubic.x[n-1]
	lowSlope, highSlope := c.slopeAt(0, first), c.slopeAt(n-2, last)
	return func(random *rand.Rand) func([][]float64) {
		chi := distuv.ChiSquared{K: max(1, k.df), Src: random}
		return func(values [][]float64) {
			draws := make([]drawn, len(values[0]))
			for j := range draws {
				draws[j] = drawn{
					shift: k.scatter(chi)*random.NormFloat64() + k.hysteresis*either(random) + k.leads*random.NormFloat64(),
					meter: either(random), warmth: either(random), course: either(random), own: random.NormFloat64(),
				}
			}
			for i, l := range levels {
				out := values[i][:len(draws)]
				for j := range draws {
					e := &draws[j]
					y := l.y + e.shift + e.meter*l.meter + e.warmth*l.warmth + e.course*l.course + e.own*l.own
					if y >= low && y < high {
						// Inverter.At, written out: this is the innermost loop of all.
						f := (y - inverse.low) * inverse.factor
						k := int(f)
						at := &inverse.cells[k&invertMask]
						x := at.x + (f-float64(k))*at.rise
						if x != x {
							x = inverse.exact(y)
						}
						out[j] = x
					} else if y < low {
						out[j] = max(least, first+(y-low)/lowSlope)
					} else {
						out[j] = min(greatest, last+(y-high)/highSlope)
					}
				}
			}
		}
	}
}

// drawn is what one trial draws, for all levels.
type drawn struct{ shift, meter, warmth, course, own float64 }

// limits gives the marks that can't be passed: the ends of a dial; nothing
// below empty for a height or a quantity.
func (c *Curve) limits() (least, greatest float64) {
	if c.unit == Dial {
		return 0, 1
	}
	return 0, math.Inf(1)
}
