package curve

import "math"

// Next is one reading worth taking.
type Next struct {
	Mark float64 // in the curve's unit inside
	// Again says that the mark was read before: what it needs is the mean of
	// more readings.
	Again bool
	// U is the greatest doubt left anywhere on the scale once this reading and
	// those before it in the list are taken: a standard uncertainty in parts of
	// the span.
	U float64
}

// Limit says what keeps readings from lowering the doubt.
type Limit int

const (
	// NoLimit: readings help.
	NoLimit Limit = iota
	// LimitHysteresis: the sender's hysteresis stays, however often it is read.
	LimitHysteresis
	// LimitMeter: what the meter, the leads and the marks add to all readings
	// alike stays.
	LimitMeter
	// LimitSteps: the sender moves in steps, and no reading divides a step.
	LimitSteps
	// LimitCount: it would take more than MostPlanned readings.
	LimitCount
	// LimitMarks: the marks stand as close as they can be set by hand.
	LimitMarks
	// LimitOrder: the sender keeps no order; more readings don't mend that.
	LimitOrder
	// LimitKnown: the curve isn't fitted to readings; see [FromKnots]. What
	// readings would be worth, whoever knows where it comes from can tell.
	LimitKnown
)

// MostPlanned is how many readings are looked ahead: more than anyone takes in
// one go.
const MostPlanned = 50

// Plan is which readings to take next, and what they are worth.
type Plan struct {
	Unit   MarkUnit
	Signal Signal
	// U is the greatest doubt anywhere on the scale as it stands, a standard
	// uncertainty in parts of the span; At is the mark where it is.
	U, At float64
	// Next has the readings worth taking, the best first; fewer than asked for
	// where no more would help.
	Next []Next
	// Halve is how many readings, taken in that manner, halve the greatest
	// doubt to within a twentieth: 1 to MostPlanned; −1 where they can't, and
	// Limit says why.
	Halve int
	Limit Limit
	// Missing is the sweep that wasn't read, where no mark was read both ways
	// and so hysteresis isn't known; Unstated where it is known.
	Missing Sweep
	// Above is the highest mark read. Where marks are quantities, going beyond
	// it means filling further.
	Above float64
}

// Plan looks for the n readings that best lower the greatest doubt between the
// marks empty and full, one after the other: each is the mark, in round
// figures, that leaves the least doubt where it was greatest. n is at least 0
// and at most MostPlanned; full lies above empty, or the caller slipped and
// Plan panics.
//
// The doubt between two marks is what the curve might do there without their
// showing it, see [outline]. Its weakness: it expects a new reading to fall on
// the curve as it is drawn; what it really shows may call for others, so a plan
// is good for one reading and worked out anew after it.
func (c *Curve) Plan(n int, empty, full float64) Plan {
	if !(full > empty) {
		panic("curve: a plan needs a full mark above the empty one")
	}
	p := Plan{Unit: c.unit, Signal: c.signal, Halve: -1, Missing: c.missing(), Above: c.points[len(c.points)-1].Mark}
	if !c.Ordered() {
		p.Limit = LimitOrder
		return p
	}
	o := c.outline(empty, full)
	u, at := o.greatest()
	p.U, p.At = u, empty+at*(full-empty)
	if c.known() {
		p.Limit, p.Missing = LimitKnown, Unstated
		return p
	}
	n = min(max(n, 0), MostPlanned)
	goal, more := p.U/2*1.05, true
	for k := 1; k <= MostPlanned && (len(p.Next) < n || p.Halve < 0); k++ {
		var mark float64
		var again bool
		if mark, again, more = o.best(); !more {
			break
		}
		o.take(mark, again)
		// A bend that comes out of the scatter as that is lowered was there
		// before: no reading makes less known.
		left, _ := o.greatest()
		u = min(u, left)
		if len(p.Next) < n {
			p.Next = append(p.Next, Next{Mark: o.mark(mark), Again: again, U: u})
		}
		if p.Halve < 0 && u <= goal {
			p.Halve = k
		}
	}
	if p.Halve < 0 {
		p.Limit = c.limit(o, goal, more)
	}
	return p
}

// limit says why readings can't bring the doubt down to a goal; more says that
// there was still something to read.
func (c *Curve) limit(o *outline, goal float64, more bool) Limit {
	stays := 0.0
	for _, k := range o.knots {
		stays = max(stays, k.stays)
	}
	switch hysteresis := c.hysteresisHalf() / math.Sqrt(3) / o.span; {
	case o.steps:
		return LimitSteps
	case stays <= goal && more:
		return LimitCount
	case stays <= goal:
		return LimitMarks
	case hysteresis > stays/2:
		return LimitHysteresis
	}
	return LimitMeter
}

// missing gives the sweep to read so that hysteresis becomes known.
func (c *Curve) missing() Sweep {
	if c.hysteresis.Known {
		return Unstated
	}
	up, down := 0, 0
	last := -1
	for i, r := range c.readings {
		if c.setAside[i] {
			continue
		}
		switch {
		case c.sweeps[i] == Up:
			up++
		case c.sweeps[i] == Down:
			down++
		case last >= 0 && r.Mark < c.readings[last].Mark:
			down++
		case last >= 0 && r.Mark > c.readings[last].Mark:
			up++
		}
		last = i
	}
	if down > up {
		return Up
	}
	return Down
}
