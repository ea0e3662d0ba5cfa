package tank

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// Placed is a solid put somewhere: turned about its own z axis, counter-clockwise
// seen from above by Turn radians, then moved by At.
type Placed struct {
	Solid Solid
	Turn  float64
	At    r3.Vec
}

func (p Placed) out(v r3.Vec) r3.Vec { return r3.Add(p.turn(v, p.Turn), p.At) }
func (p Placed) in(v r3.Vec) r3.Vec  { return p.turn(r3.Sub(v, p.At), -p.Turn) }

// turn turns about z. Quarter turns are exact, so that a tank set athwart stays
// square to the frame.
func (p Placed) turn(v r3.Vec, by float64) r3.Vec {
	if by == 0 {
		return v
	}
	s, c := math.Sincos(by)
	if quarter := by / (math.Pi / 2); math.Abs(quarter-math.Round(quarter)) < 1e-12 {
		s, c = math.Round(s), math.Round(c)
	}
	return r3.Vec{X: c*v.X - s*v.Y, Y: s*v.X + c*v.Y, Z: v.Z}
}

// Box gives the corners of the upright box around it. The extents across are
// found by cutting, since the box of a turned solid is tighter than the turned
// box.
func (p Placed) Box() (low, high r3.Vec) {
	l, h := p.Solid.Box()
	low.Z, high.Z = l.Z+p.At.Z, h.Z+p.At.Z
	extent := func(axis r3.Vec, at float64) (float64, float64) {
		if cut, err := p.Solid.Cut(p.turn(axis, -p.Turn)); err == nil {
			a, b := cut.Span()
			return a + at, b + at
		}
		// Of a solid that can't be laid on its side, the turned box.
		a, b := math.Inf(1), math.Inf(-1)
		for _, x := range []float64{l.X, h.X} {
			for _, y := range []float64{l.Y, h.Y} {
				d := r3.Dot(axis, p.turn(r3.Vec{X: x, Y: y}, p.Turn))
				a, b = min(a, d), max(b, d)
			}
		}
		return a + at, b + at
	}
	if p.Turn == 0 {
		return r3.Add(l, p.At), r3.Add(h, p.At)
	}
	low.X, high.X = extent(r3.Vec{X: 1}, p.At.X)
	low.Y, high.Y = extent(r3.Vec{Y: 1}, p.At.Y)
	return low, high
}

// Cut cuts the solid within its own frame.
func (p Placed) Cut(up r3.Vec) (Cut, error) {
	cut, err := p.Solid.Cut(p.turn(up, -p.Turn))
	if err != nil {
		return nil, err
	}
	shift := r3.Dot(up, p.At)
	if shift == 0 && p.Turn == 0 && p.At == (r3.Vec{}) {
		return cut, nil
	}
	return placedCut{cut, p, shift}, nil
}

// Contains looks within the solid's own frame.
func (p Placed) Contains(v r3.Vec) bool { return p.Solid.Contains(p.in(v)) }

// Facets moves the facets of the solid.
func (p Placed) Facets(tolerance float64) Facets {
	f := p.Solid.Facets(tolerance)
	moved := Facets{Corners: make([]r3.Vec, len(f.Corners)), Triangles: f.Triangles}
	for i, c := range f.Corners {
		moved.Corners[i] = p.out(c)
	}
	return moved
}

type placedCut struct {
	cut   Cut
	p     Placed
	shift float64
}

func (c placedCut) Span() (low, high float64) {
	low, high = c.cut.Span()
	return low + c.shift, high + c.shift
}

func (c placedCut) Below(d float64) (volume, surface float64) { return c.cut.Below(d - c.shift) }

func (c placedCut) Moment(d float64) r3.Vec {
	v, _ := c.cut.Below(d - c.shift)
	return r3.Add(c.p.turn(c.cut.Moment(d-c.shift), c.p.Turn), r3.Scale(v, c.p.At))
}
