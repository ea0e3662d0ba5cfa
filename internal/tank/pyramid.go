package tank

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"gaugewright/internal/quantity"
)

// pyramidSolid stands on z = 0, both ends centred on the z axis.
type pyramidSolid struct {
	bottomLength, bottomWidth, topLength, topWidth, height float64
}

// Pyramid makes a body between two rectangles, one above the other, both
// centred on the z axis; inside sizes in metres, lengths along x, widths along
// y. It stands on z = 0. The rectangles need not be of one shape: the four
// sides are plane trapezoids either way. A size of 0 makes an end a line or a
// point, but not both ends' lengths or both ends' widths.
//
// Volumes are exact at every tilt. Upright they follow from the section's area
// a(z)·b(z), with both sides linear in height; the whole is the prismoidal
// formula h/6·(A0 + 4·Am + A1). The error names a size that can't be.
func Pyramid(bottomLength, bottomWidth, topLength, topWidth, height float64) (Solid, error) {
	for _, s := range []struct {
		name string
		size float64
	}{{"bottom length", bottomLength}, {"bottom width", bottomWidth}, {"top length", topLength}, {"top width", topWidth}} {
		if s.size != 0 && !boxSize(s.size) {
			return nil, fmt.Errorf("the %s of the pyramid is %s; expected 0 mm or more", s.name, quantity.Metre(s.size))
		}
	}
	switch {
	case !boxSize(height):
		return nil, fmt.Errorf("the height of the pyramid is %s; expected more than 0 mm", quantity.Metre(height))
	case bottomLength == 0 && topLength == 0:
		return nil, fmt.Errorf("the pyramid is 0 mm long at the bottom and at the top; expected more than 0 mm at one of them")
	case bottomWidth == 0 && topWidth == 0:
		return nil, fmt.Errorf("the pyramid is 0 mm wide at the bottom and at the top; expected more than 0 mm at one of them")
	}
	return pyramidSolid{bottomLength, bottomWidth, topLength, topWidth, height}, nil
}

// Box gives the corners of the upright box around it.
func (p pyramidSolid) Box() (low, high r3.Vec) {
	l, w := max(p.bottomLength, p.topLength)/2, max(p.bottomWidth, p.topWidth)/2
	return r3.Vec{X: -l, Y: -w}, r3.Vec{X: l, Y: w, Z: p.height}
}

// sides gives length and width of the section at a height.
func (p pyramidSolid) sides(z float64) (length, width float64) {
	t := z / p.height
	return p.bottomLength + (p.topLength-p.bottomLength)*t, p.bottomWidth + (p.topWidth-p.bottomWidth)*t
}

// Contains says whether a point lies inside.
func (p pyramidSolid) Contains(v r3.Vec) bool {
	if !(v.Z >= 0 && v.Z <= p.height) {
		return false
	}
	l, w := p.sides(v.Z)
	return math.Abs(v.X) <= l/2 && math.Abs(v.Y) <= w/2
}

// Cut cuts it: upright by the closed formula, tilted as the polyhedron it is.
func (p pyramidSolid) Cut(up r3.Vec) (Cut, error) {
	if up.X == 0 && up.Y == 0 && up.Z > 0 {
		return pyramidCut{p}, nil
	}
	return NewPolyhedron(p.Facets(0)).Cut(up)
}

// Facets gives its faces as triangles; the tolerance plays no part.
func (p pyramidSolid) Facets(float64) Facets {
	rectangle := func(length, width, z float64) []r3.Vec {
		l, w := length/2, width/2
		return []r3.Vec{{X: -l, Y: -w, Z: z}, {X: l, Y: -w, Z: z}, {X: l, Y: w, Z: z}, {X: -l, Y: w, Z: z}}
	}
	return pyramidFacets(rectangle(p.bottomLength, p.bottomWidth, 0), rectangle(p.topLength, p.topWidth, p.height))
}

// pyramidFacets joins two rectangles, each counter-clockwise seen from above,
// by four plane sides. Corners that coincide are one corner, and what shrinks to
// nothing is left out, so that the mesh stays closed.
func pyramidFacets(bottom, top []r3.Vec) Facets {
	var f Facets
	index := map[r3.Vec]int32{}
	corner := func(v r3.Vec) int32 {
		// −0 and 0 are different keys of no different place.
		v = r3.Add(v, r3.Vec{})
		i, ok := index[v]
		if !ok {
			i = int32(len(f.Corners))
			index[v] = i
			f.Corners = append(f.Corners, v)
		}
		return i
	}
	face := func(vs ...r3.Vec) {
		var loop []int32
		for _, v := range vs {
			i := corner(v)
			if len(loop) == 0 || loop[len(loop)-1] != i && loop[0] != i {
				loop = append(loop, i)
			}
		}
		for k := 2; k < len(loop); k++ {
			f.Triangles = append(f.Triangles, [3]int32{loop[0], loop[k-1], loop[k]})
		}
	}
	face(bottom[3], bottom[2], bottom[1], bottom[0])
	for i := range 4 {
		j := (i + 1) % 4
		face(bottom[i], bottom[j], top[j], top[i])
	}
	face(top...)
	return f
}

// pyramidLift gives the corners of a rectangle scaled and moved up to a height.
func pyramidLift(rectangle []r3.Vec, along, across, z float64) []r3.Vec {
	up := make([]r3.Vec, len(rectangle))
	for i, v := range rectangle {
		up[i] = r3.Vec{X: v.X * along, Y: v.Y * across, Z: z}
	}
	return up
}

// pyramidCut is an upright pyramid.
type pyramidCut struct{ p pyramidSolid }

func (c pyramidCut) Span() (low, high float64) { return 0, c.p.height }

// Below integrates a(z)·b(z) with a and b linear:
// V = z·(a0·b0 + (a0·b1 + a1·b0)/2·z + a1·b1/3·z²).
func (c pyramidCut) Below(d float64) (volume, surface float64) {
	p := &c.p
	if !(d > 0) {
		return 0, 0
	}
	z := min(d, p.height)
	a1, b1 := (p.topLength-p.bottomLength)/p.height, (p.topWidth-p.bottomWidth)/p.height
	mixed, last := p.bottomLength*b1+a1*p.bottomWidth, a1*b1
	volume = z * (p.bottomLength*p.bottomWidth + z*(mixed/2+z*last/3))
	if d < p.height {
		surface = (p.bottomLength + a1*z) * (p.bottomWidth + b1*z)
	}
	return volume, surface
}

func (c pyramidCut) Moment(d float64) r3.Vec {
	p := &c.p
	z := min(max(d, 0), p.height)
	a1, b1 := (p.topLength-p.bottomLength)/p.height, (p.topWidth-p.bottomWidth)/p.height
	mixed, last := p.bottomLength*b1+a1*p.bottomWidth, a1*b1
	return r3.Vec{Z: z * z * (p.bottomLength*p.bottomWidth/2 + z*(mixed/3+z*last/4))}
}
