package scale

import (
	"math"

	"gaugewright/internal/quantity"
)

// Spread gives the standard uncertainty of the target that comes of a mark known
// to a standard uncertainty u, 0 or more, in the mark's own unit. That the
// figure is held to 0..100 takes nothing from it.
//
// On a straight scale it is u over the marks from 0 to 100 %. Elsewhere it is
// the standard deviation of the target of a normally distributed mark, by
// Gauss–Hermite quadrature with three points, at 0 and ±√3·u with weights 2/3,
// 1/6 and 1/6 (any textbook of numerical analysis, from memory). It is the slope
// times u where the scale is straight over a few u, and beyond that holds the
// second-order term of JCGM 100:2008, 5.1.2 NOTE, exactly for a parabola. That
// counts at the bottom of a round tank, where the slope alone would say that
// nothing is in doubt.
//
// Weakness: over a kink, such as a step in a stacked tank, three points see the
// mean slope of the two sides.
func (s Scale) Spread(mark, u float64) quantity.Share {
	if !s.curved() {
		empty, full := s.Ends()
		return quantity.Share(u / (full - empty))
	}
	t := s.through
	mark = min(t.greatest, max(t.least, mark))
	reach := math.Sqrt(3) * u
	here := t.continued(mark)
	above, below := t.continued(mark+reach)-here, t.continued(mark-reach)-here
	mean := (above + below) / 6
	return quantity.Share(math.Sqrt(max(0, (above*above+below*below)/6-mean*mean)))
}

// continued gives the target at a mark, not held, and carried on beyond the ends
// of the tank by turning it about them. At a flat bottom that is the straight
// continuation.
func (t *through) continued(mark float64) float64 {
	switch {
	case mark < t.least:
		return 2*t.at(t.least) - t.at(2*t.least-mark)
	case mark > t.greatest:
		return 2*t.at(t.greatest) - t.at(2*t.greatest-mark)
	}
	return t.at(mark)
}
