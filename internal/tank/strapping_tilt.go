package tank

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/spatial/r3"
)

// strappingTilted is a table at a tilt. Over the plan the level stands at
// z0 − a·ξ − b·η with ξ and η uniform on [−1, 1], and the volume is the mean of
// the table over it:
//
//	V = ∫ V(z0 − s)·f(s) ds,   f the density of s = a·ξ + b·η, a trapezoid.
//
// With one of a and b nothing, that is a difference of the table's integral.
// Else it is integrated from row to row and corner to corner of the trapezoid,
// where everything is a polynomial, by a Gauss–Legendre rule that is exact for
// its degree.
type strappingTilted struct {
	s         *strappingSolid
	up        r3.Vec
	a, b      float64 // half the rise of the level over length and over width
	low, high float64
}

func newStrappingTilted(s *strappingSolid, up r3.Vec) *strappingTilted {
	c := &strappingTilted{s: s, up: up, a: math.Abs(up.X) * s.length / 2 / up.Z, b: math.Abs(up.Y) * s.width / 2 / up.Z}
	upright := s.upright()
	c.low, c.high = up.Z*(upright.low-c.a-c.b), up.Z*(upright.high+c.a+c.b)
	return c
}

func (c *strappingTilted) Span() (low, high float64) { return c.low, c.high }

func (c *strappingTilted) Below(d float64) (volume, surface float64) {
	switch {
	case d <= c.low:
		return 0, 0
	case d >= c.high:
		return c.s.capacity, 0
	}
	z := d / c.up.Z
	// The difference loses as many digits as the step is smaller than the whole.
	if half := c.a + c.b; (c.a == 0 || c.b == 0) && half > 1e-4*c.s.top() {
		v1, _ := c.s.below(z + half)
		v0, _ := c.s.below(z - half)
		return (c.s.integral(z+half) - c.s.integral(z-half)) / (2 * half), (v1 - v0) / (2 * half) / c.up.Z
	}
	volume, surface, _ = c.integrate(z, false)
	return volume, surface / c.up.Z
}

// Moment takes the liquid as spread evenly over length and width at each height.
func (c *strappingTilted) Moment(d float64) r3.Vec {
	d = min(max(d, c.low), c.high)
	_, _, m := c.integrate(d/c.up.Z, true)
	return m
}

// strappingNodes are those of Gauss–Legendre's rule of four points on [0, 1],
// exact up to degree 7.
var strappingNodes = func() (nodes [4]struct{ x, weight float64 }) {
	var x, w [4]float64
	quad.Legendre{}.FixedLocations(x[:], w[:], 0, 1)
	for i := range nodes {
		nodes[i].x, nodes[i].weight = x[i], w[i]
	}
	return nodes
}()

// integrate takes the means of volume and slope, and if asked the moment, over
// the levels z + s. It counts s from the middle, so that a slight tilt isn't lost
// in the digits of the height.
func (c *strappingTilted) integrate(z float64, moment bool) (volume, slope float64, m r3.Vec) {
	wide, flat := c.a+c.b, math.Abs(c.a-c.b)
	corner := [4]float64{-wide, -flat, flat, wide}
	i := c.s.find(z - wide)
	rows := len(c.s.height)
	for k := range 3 {
		from, to := corner[k], corner[k+1]
		for from < to {
			next := to
			if i+1 < rows {
				next = min(to, max(from, c.s.height[i+1]-z))
			}
			for _, n := range strappingNodes {
				s := from + (next-from)*n.x
				w := n.weight * (next - from) * c.density(s)
				v, dv := c.s.piece(i, z+s)
				volume, slope = volume+w*v, slope+w*dv
				if moment {
					level := min(z+s, c.s.top())
					x, y := c.where(-s)
					m = r3.Add(m, r3.Scale(w, r3.Vec{X: x * v, Y: y * v, Z: level*v - c.s.integral(level)}))
				}
			}
			if i+1 < rows && next < to {
				i++
			}
			from = next
		}
	}
	return volume, slope, m
}

// piece is below within a known row, so that a node at a row's edge isn't
// counted to its neighbour.
func (s *strappingSolid) piece(i int, z float64) (volume, slope float64) {
	switch {
	case i < 0:
		return 0, 0
	case i >= len(s.k):
		return s.capacity, 0
	}
	k, x := &s.k[i], z-s.height[i]
	return k[0] + x*(k[1]+x*(k[2]+x*k[3])), k[1] + x*(2*k[2]+x*3*k[3])
}

// density is the trapezoid f.
func (c *strappingTilted) density(s float64) float64 {
	large, small := max(c.a, c.b), min(c.a, c.b)
	if s = math.Abs(s); s <= large-small {
		return 1 / (2 * large)
	}
	return max(0, large+small-s) / (4 * large * small)
}

// where gives the mean place in plan of the levels that stand s lower than the
// middle's.
func (c *strappingTilted) where(s float64) (x, y float64) {
	mean := func(a, b float64) float64 { // of a·ξ where a·ξ + b·η = s
		return (max(-a, s-b) + min(a, s+b)) / 2
	}
	if c.a > 0 {
		x = mean(c.a, c.b) / c.a * c.s.length / 2 * math.Copysign(1, c.up.X)
	}
	if c.b > 0 {
		y = mean(c.b, c.a) / c.b * c.s.width / 2 * math.Copysign(1, c.up.Y)
	}
	return x, y
}
