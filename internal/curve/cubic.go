package curve

import (
	"math"
	"sort"
)

// Cubic is a piecewise cubic through points with strictly rising x and
// non-decreasing y that is itself non-decreasing. Between two points it never
// leaves the range of their y.
type Cubic struct {
	x, y, slope []float64
}

// NewCubic puts a monotone cubic through two or more points. The slopes at the
// inner points are the weighted harmonic means of the neighbouring secants,
// zero beside a flat stretch; those at the ends come from three points and are
// held to what keeps the end pieces monotone. With two points it is a straight
// line. It panics if x doesn't rise strictly or y falls anywhere: the caller
// has ordered them.
//
// Sources: F. N. Fritsch, J. Butland, SIAM J. Sci. Stat. Comput. 5 (1984)
// 300–304, for the harmonic mean; F. N. Fritsch, R. E. Carlson, SIAM J. Numer.
// Anal. 17 (1980) 238–246, for why slopes up to three secants stay monotone.
func NewCubic(x, y []float64) *Cubic {
	n := len(x)
	if n < 2 || len(y) != n {
		panic("curve: a cubic needs two or more points")
	}
	c := &Cubic{x: append([]float64(nil), x...), y: append([]float64(nil), y...), slope: make([]float64, n)}
	for i := range n - 1 {
		if !(x[i+1] > x[i]) || !(y[i+1] >= y[i]) {
			panic("curve: points of a cubic must rise")
		}
	}
	slopesOf(c.x, c.y, c.slope)
	return c
}

// slopesOf fills in the slopes of the cubic through points that rise.
func slopesOf(x, y, slope []float64) {
	n := len(x)
	h0, s0 := x[1]-x[0], (y[1]-y[0])/(x[1]-x[0])
	if n == 2 {
		slope[0], slope[1] = s0, s0
		return
	}
	firstH, firstS := h0, s0
	for i := 1; i < n-1; i++ {
		h1 := x[i+1] - x[i]
		s1 := (y[i+1] - y[i]) / h1
		slope[i] = 0
		if s0 > 0 && s1 > 0 {
			w0, w1 := 2*h1+h0, h1+2*h0
			slope[i] = (w0 + w1) * s0 * s1 / (w0*s1 + w1*s0)
		}
		if i == 1 {
			slope[0] = endSlope(firstH, h1, firstS, s1)
		}
		if i == n-2 {
			slope[n-1] = endSlope(h1, h0, s1, s0)
		}
		h0, s0 = h1, s1
	}
}

// endSlope is the non-centred three-point formula, held to 0 … 3 secants.
func endSlope(h0, h1, s0, s1 float64) float64 {
	return min(3*s0, max(0, ((2*h0+h1)*s0-h0*s1)/(h0+h1)))
}

// At gives y at x, for x within the points; beyond them it holds the end value.
func (c *Cubic) At(x float64) float64 {
	n := len(c.x)
	switch {
	case x <= c.x[0]:
		return c.y[0]
	case x >= c.x[n-1]:
		return c.y[n-1]
	}
	i := sort.SearchFloat64s(c.x, x)
	if c.x[i] == x {
		return c.y[i]
	}
	return c.piece(i-1, (x-c.x[i-1])/(c.x[i]-c.x[i-1]))
}

// piece evaluates piece i at t = 0..1 in Hermite form, held to the piece's own
// range so that rounding can't break the order.
func (c *Cubic) piece(i int, t float64) float64 {
	h, dy := c.x[i+1]-c.x[i], c.y[i+1]-c.y[i]
	a, b := h*c.slope[i], h*c.slope[i+1]
	v := c.y[i] + t*(a+t*((3*dy-2*a-b)+t*(a+b-2*dy)))
	return min(c.y[i+1], max(c.y[i], v))
}

// Slope gives dy/dx at x within the points; beyond them zero.
func (c *Cubic) Slope(x float64) float64 {
	n := len(c.x)
	if x < c.x[0] || x > c.x[n-1] {
		return 0
	}
	i := min(max(sort.SearchFloat64s(c.x, x)-1, 0), n-2)
	h, dy := c.x[i+1]-c.x[i], c.y[i+1]-c.y[i]
	t := (x - c.x[i]) / h
	a, b := h*c.slope[i], h*c.slope[i+1]
	return max(0, (a+t*(2*(3*dy-2*a-b)+t*3*(a+b-2*dy)))/h)
}

// Inverse gives the lowest and the highest x at which the curve has the value
// y; they differ where it is flat. A y below the first point gives the first x
// twice, one above the last the last x twice.
func (c *Cubic) Inverse(y float64) (lowest, highest float64) {
	n := len(c.x)
	switch {
	case y < c.y[0]:
		return c.x[0], c.x[0]
	case y > c.y[n-1]:
		return c.x[n-1], c.x[n-1]
	}
	first := sort.SearchFloat64s(c.y, y) // the first point with c.y >= y
	if c.y[first] > y {
		x := c.solve(first-1, y)
		return x, x
	}
	last := first
	for last+1 < n && c.y[last+1] == y {
		last++
	}
	return c.x[first], c.x[last]
}

// solve finds x on the strictly rising piece i where it has the value y, by
// Newton's method kept inside a shrinking bracket; it ends when the bracket or
// the step is below 1e-15 of the piece, after 60 halvings at the latest.
func (c *Cubic) solve(i int, y float64) float64 {
	h, dy := c.x[i+1]-c.x[i], c.y[i+1]-c.y[i]
	a, b := h*c.slope[i], h*c.slope[i+1]
	c2, c3 := 3*dy-2*a-b, a+b-2*dy
	want := y - c.y[i]
	lo, hi, t := 0.0, 1.0, want/dy
	for range 60 {
		f := t*(a+t*(c2+t*c3)) - want
		if f == 0 {
			break
		}
		if f < 0 {
			lo = t
		} else {
			hi = t
		}
		next := t - f/(a+t*(2*c2+t*3*c3))
		if !(next > lo && next < hi) {
			next = (lo + hi) / 2
		}
		if math.Abs(next-t) < 1e-15 || hi-lo < 1e-15 {
			t = next
			break
		}
		t = next
	}
	return c.x[i] + t*h
}
