package tank

import "gonum.org/v1/gonum/spatial/r3"

// Moment cuts every triangle: its time is proportional to their number.
func (c *meshCut) Moment(d float64) r3.Vec {
	switch {
	case !(d > c.low):
		return r3.Vec{}
	case d > c.high:
		d = c.high
	}
	_, _, m := c.clip(d)
	return m
}

// meshPart sums over triangles, or parts of them, below a plane. Corners are
// given by their place in plan and their height over the plane, s ≤ 0.
type meshPart struct{ volume, surface, mx, my, ms float64 }

// add takes in one triangle. With n the area projected along up, and means over
// the triangle, the flux of s·up, x·s·up and s²/2·up gives the volume and the
// moments; none of them goes through the plane, where s = 0. The mean of a
// product of two linear functions f and g over a triangle is
// (Σf·Σg + Σf·g)/12 over its corners.
func (p *meshPart) add(a, b, c r3.Vec) {
	n := ((b.X-a.X)*(c.Y-a.Y) - (b.Y-a.Y)*(c.X-a.X)) / 2
	s := a.Z + b.Z + c.Z
	p.surface -= n
	p.volume += n * s / 3
	p.mx += n * ((a.X+b.X+c.X)*s + a.X*a.Z + b.X*b.Z + c.X*c.Z) / 12
	p.my += n * ((a.Y+b.Y+c.Y)*s + a.Y*a.Z + b.Y*b.Z + c.Y*c.Z) / 12
	p.ms += n * (s*s + a.Z*a.Z + b.Z*b.Z + c.Z*c.Z) / 24
}

// clip sums over the part of every triangle below a plane.
func (c *meshCut) clip(d float64) (volume, surface float64, moment r3.Vec) {
	m := c.solid
	e1, e2 := meshBasis(c.up)
	plane := d - r3.Dot(c.up, m.middle)
	place := func(i int32) r3.Vec {
		v := r3.Sub(m.facets.Corners[i], m.middle)
		return r3.Vec{X: r3.Dot(v, e1), Y: r3.Dot(v, e2), Z: r3.Dot(v, c.up) - plane}
	}
	// meet gives where the line between a corner below and one above meets the
	// plane.
	meet := func(below, above r3.Vec) r3.Vec {
		t := below.Z / (below.Z - above.Z)
		return r3.Vec{X: below.X + t*(above.X-below.X), Y: below.Y + t*(above.Y-below.Y)}
	}
	var p meshPart
	for _, t := range m.facets.Triangles {
		q := [3]r3.Vec{place(t[0]), place(t[1]), place(t[2])}
		under, one, other := 0, 0, 0 // how many are below; one that is, one that isn't
		for i := range q {
			if q[i].Z < 0 {
				under++
				one = i
			} else {
				other = i
			}
		}
		switch under {
		case 3:
			p.add(q[0], q[1], q[2])
		case 2:
			a, b, top := q[(other+1)%3], q[(other+2)%3], q[other]
			ta, tb := meet(a, top), meet(b, top)
			p.add(a, b, tb)
			p.add(a, tb, ta)
		case 1:
			a, b, low := q[(one+1)%3], q[(one+2)%3], q[one]
			p.add(low, meet(low, a), meet(low, b))
		}
	}
	moment = r3.Add(r3.Scale(p.mx, e1), r3.Scale(p.my, e2))
	moment = r3.Add(moment, r3.Scale(p.ms+plane*p.volume, c.up))
	return p.volume, p.surface, r3.Add(moment, r3.Scale(p.volume, m.middle))
}
