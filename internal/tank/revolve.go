package tank

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"gaugewright/internal/quantity"
)

// revolveBody is a body of revolution: an axis through the origin of its frame
// and a profile. The pieces are in the order of one walk along the profile,
// that leads from the axis round the body back to the axis, or of a ring once
// round; inner pieces are walked backward.
type revolveBody struct {
	axis   Axis
	pieces []revolvePiece
	sphere float64 // the radius, where it is a whole sphere
	centre float64 // where the sphere's middle lies on the axis
	ring   bool    // the walk is closed and doesn't touch the axis
}

// Axis names an axis of a solid's own frame.
type Axis byte

// The axes of a frame.
const (
	AxisX Axis = 'x'
	AxisY Axis = 'y'
	AxisZ Axis = 'z'
)

// unit gives the unit vector of an axis.
func (a Axis) unit() r3.Vec {
	switch a {
	case AxisX:
		return r3.Vec{X: 1}
	case AxisY:
		return r3.Vec{Y: 1}
	}
	return r3.Vec{Z: 1}
}

// revolveSize refuses what can't be a size.
func revolveSize(name string, v float64) error {
	switch {
	case math.IsNaN(v) || math.IsInf(v, 0):
		return fmt.Errorf("%s isn't a length; found %g, expected a number of millimetres above 0", name, v)
	case v <= 0:
		return fmt.Errorf("%s is %s; expected more than 0", name, quantity.Metre(v))
	}
	return nil
}

// along gives the component of a vector along the axis and what is left across it.
func (b *revolveBody) along(v r3.Vec) (float64, r3.Vec) {
	switch b.axis {
	case AxisX:
		return v.X, r3.Vec{Y: v.Y, Z: v.Z}
	case AxisY:
		return v.Y, r3.Vec{X: v.X, Z: v.Z}
	}
	return v.Z, r3.Vec{X: v.X, Y: v.Y}
}

// revolveSpan gives how far a profile reaches in a direction with a component m
// along the axis and n ≥ 0 across it, and against that direction.
func revolveSpan(pieces []revolvePiece, m, n float64) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for i := range pieces {
		if p := &pieces[i]; !p.inner {
			low, high = min(low, -p.reach(-m, n)), max(high, p.reach(m, n))
		}
	}
	return low, high
}

// Box gives the corners of the box around the body.
func (b *revolveBody) Box() (low, high r3.Vec) {
	first, last := revolveSpan(b.pieces, 1, 0)
	_, radius := revolveSpan(b.pieces, 0, 1)
	a := b.axis.unit()
	across := r3.Scale(radius, r3.Sub(r3.Vec{X: 1, Y: 1, Z: 1}, a))
	return r3.Sub(r3.Scale(first, a), across), r3.Add(r3.Scale(last, a), across)
}

// Contains says whether a point lies inside.
func (b *revolveBody) Contains(v r3.Vec) bool {
	t, rest := b.along(v)
	rho := r3.Norm(rest)
	inside := false
	for i := range b.pieces {
		p := &b.pieces[i]
		if t < p.from || t > p.to || rho > p.radius(t) {
			continue
		}
		if p.inner {
			return false
		}
		inside = true
	}
	return inside
}

// Cut prepares the body for level planes across up. It picks the closed form
// where there is one for the whole body. The error says that up isn't a
// direction.
func (b *revolveBody) Cut(up r3.Vec) (Cut, error) {
	if length := r3.Norm(up); !(math.Abs(length-1) < 1e-9) {
		return nil, fmt.Errorf("the direction (%g, %g, %g) can't be the upward one; expected a unit vector", up.X, up.Y, up.Z)
	}
	if b.sphere > 0 {
		return newRevolveSphereCut(b.sphere, r3.Scale(b.centre, b.axis.unit()), up), nil
	}
	m, rest := b.along(up)
	f := revolveFrame{m: m, n: r3.Norm(rest), along: b.axis.unit(), pieces: b.pieces}
	if m < 0 {
		f = f.flipped()
	}
	if f.n < revolveSquare {
		f.m, f.n = 1, 0
		f.low, f.high = revolveSpan(f.pieces, 1, 0)
		if b.ring {
			return newRevolveFlatRingCut(f), nil
		}
		return newRevolveAxialCut(f), nil
	}
	f.across = r3.Scale(1/f.n, rest)
	if f.m < revolveLying {
		f.m, f.n = 0, 1
	}
	f.low, f.high = revolveSpan(f.pieces, f.m, f.n)
	if f.m == 0 {
		if cut, ok := newRevolveLyingCut(f); ok {
			return cut, nil
		}
	}
	return newRevolveTiltedCut(f), nil
}

// Directions closer than this to the axis, or to square to it, count as such:
// what that changes in a volume is less than its rounding.
const (
	revolveSquare = 1e-12
	revolveLying  = 1e-15
)

// revolveFrame is a body turned so that its axis rises: up has the component
// m ≥ 0 along the axis and n ≥ 0 across it.
type revolveFrame struct {
	m, n          float64
	along, across r3.Vec // unit vectors of the body's frame
	pieces        []revolvePiece
	low, high     float64
}

func (f revolveFrame) flipped() revolveFrame {
	f.m, f.along = -f.m, r3.Scale(-1, f.along)
	pieces := make([]revolvePiece, len(f.pieces))
	for i, p := range f.pieces {
		pieces[i] = p.flipped()
	}
	f.pieces = pieces
	return f
}
