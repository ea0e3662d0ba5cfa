package tank

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// revolveSphereCut cuts a whole sphere, alike in every direction: the cap of
// the height h has the volume πh²(3R − h)/3.
type revolveSphereCut struct {
	radius float64
	level  float64 // of the middle
	middle r3.Vec
	up     r3.Vec
}

func newRevolveSphereCut(radius float64, middle, up r3.Vec) *revolveSphereCut {
	return &revolveSphereCut{radius, r3.Dot(middle, up), middle, up}
}

func (c *revolveSphereCut) Span() (low, high float64) {
	return c.level - c.radius, c.level + c.radius
}

func (c *revolveSphereCut) Below(d float64) (volume, surface float64) {
	r, d := c.radius, d-c.level
	switch {
	case !(d > -r):
		return 0, 0
	case d >= r:
		return 4.0 / 3 * math.Pi * r * r * r, 0
	}
	h := r + d
	return math.Pi / 3 * h * h * (2*r - d), math.Pi * h * (r - d)
}

func (c *revolveSphereCut) Moment(d float64) r3.Vec {
	v, s := c.Below(d)
	// ∫ z π(R²−z²) dz from −R on.
	return r3.Add(r3.Scale(v, c.middle), r3.Scale(-s*s/(4*math.Pi), c.up))
}

// revolveLyingCut cuts a lying cylinder whose heads are flat or half ellipsoids
// (half spheres among them). A head of the depth b is half a sphere stretched by
// b/R along the axis.
type revolveLyingCut struct {
	radius, length float64
	sphere         float64 // half of both heads' b/R: the part of a sphere they make up
	first, last    float64 // where the straight part begins and ends on the axis
	deep           [2]float64
	along, across  r3.Vec
}

// newRevolveLyingCut makes the cut, if that is what the body is.
func newRevolveLyingCut(f revolveFrame) (*revolveLyingCut, bool) {
	c := &revolveLyingCut{along: f.along, across: f.across, first: math.Inf(1), last: math.Inf(-1)}
	for _, p := range f.pieces {
		from, to := p.from, p.to
		switch {
		case p.kind == revolveLine && p.first == p.last:
			c.radius, c.length = p.first, to-from
		case p.kind == revolveEllipse && from == p.centre && to == p.centre+p.along:
			c.radius, c.deep[1], to = p.across, p.along, from
		case p.kind == revolveEllipse && to == p.centre && from == p.centre-p.along:
			c.radius, c.deep[0], from = p.across, p.along, to
		default:
			return nil, false
		}
		c.first, c.last = min(c.first, from), max(c.last, to)
	}
	c.sphere = (c.deep[0] + c.deep[1]) / (2 * c.radius)
	return c, true
}

func (c *revolveLyingCut) Span() (low, high float64) { return -c.radius, c.radius }

func (c *revolveLyingCut) Below(d float64) (volume, surface float64) {
	r := c.radius
	switch {
	case !(d > -r):
		return 0, 0
	case d >= r:
		return math.Pi * r * r * (c.length + 4.0/3*r*c.sphere), 0
	}
	area, half := revolveSegment(r, d)
	h := r + d
	return area*c.length + c.sphere*math.Pi/3*h*h*(2*r-d),
		2*half*c.length + c.sphere*math.Pi*h*(r-d)
}

func (c *revolveLyingCut) Moment(d float64) r3.Vec {
	r := c.radius
	d = min(r, max(-r, d))
	area, half := revolveSegment(r, d)
	cube := half * half * half
	q2 := (r - d) * (r + d)
	// Of the heads: across, ∫ y·π/2·(b/R)(R²−y²) dy; along, measured from the
	// head's foot, ∫ 2/3·(b/R)²(R²−y²)^(3/2) dy.
	across := -2.0/3*cube*c.length - c.sphere*math.Pi/4*q2*q2
	h := r + d
	cap := math.Pi / 6 / r * h * h * (2*r - d) // volume of a head per depth
	sum := d*cube/4 + 3.0/8*r*r*area           // ∫ (R²−y²)^(3/2) dy
	along := area * c.length * (c.first + c.last) / 2
	along += c.deep[1]*cap*c.last + 2.0/3*c.deep[1]*c.deep[1]/(r*r)*sum
	along += c.deep[0]*cap*c.first - 2.0/3*c.deep[0]*c.deep[0]/(r*r)*sum
	return r3.Add(r3.Scale(along, c.along), r3.Scale(across, c.across))
}
