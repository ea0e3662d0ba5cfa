package tank

import (
	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// How far the surface has to rise along the axis, in extents of the outline,
// for a difference of two integrals to be used instead of the mean between
// them: the difference loses as many digits. Of volumes 12 are left, of surfaces
// 10; moments are there for centroids, of which 8 are plenty.
const (
	extrudeRise        = 1e-4
	extrudeRiseSurface = 1e-6
	extrudeRiseMoment  = 1e-2
)

// extrudeCut is an extruded outline ready for planes of one direction. Within
// the outline's plane v runs along what up has there, u across it; t runs along
// the axis, from −half to half, upward or level. A plane is the line
// v = c = (d − rise·t)/lean of the section at t.
type extrudeCut struct {
	bands      *outlineBands
	u, v, t    r3.Vec // directions
	middle     r3.Vec // where u = v = t = 0
	base       float64
	lean, rise float64 // parts of up along v and along t
	half       float64
	size       float64 // extent of the outline along v
	low, high  float64
	total      float64
}

// newExtrudeCut prepares an extruded outline; along its axis it is a slab.
func newExtrudeCut(o Outline, axis Axis, from, to float64, up r3.Vec) Cut {
	a, b, along := outlineFrame(axis)
	inPlane := r2.Vec{X: r3.Dot(up, a), Y: r3.Dot(up, b)}
	lean := r2.Norm(inPlane)
	if lean < 1e-15 {
		bands := newOutlineBands(newOutlineWalls(o.edges, r2.Vec{}, r2.Vec{Y: 1}))
		top := bands.high()
		t, first := bands.all(top)
		centroid := r2.Vec{X: first[1] / t[1], Y: top - t[2]/t[1]}
		return newSlab(up, axis, t[1], outlinePoint(axis, centroid, 0), from, to)
	}
	low, high := o.box()
	middle := r2.Scale(0.5, r2.Add(low, high))
	v := r2.Scale(1/lean, inPlane)
	c := extrudeCut{
		bands:  newOutlineBands(newOutlineWalls(o.edges, middle, v)),
		u:      r3.Sub(r3.Scale(v.Y, a), r3.Scale(v.X, b)),
		v:      r3.Add(r3.Scale(v.X, a), r3.Scale(v.Y, b)),
		t:      along,
		middle: outlinePoint(axis, middle, (from+to)/2),
		lean:   lean,
		rise:   r3.Dot(up, along),
		half:   (to - from) / 2,
	}
	c.base = r3.Dot(up, c.middle)
	if c.rise < 0 {
		c.t, c.rise = r3.Scale(-1, c.t), -c.rise
	}
	bottom, top := c.bands.low(), c.bands.high()
	c.size = top - bottom
	c.low = c.base + lean*bottom - c.rise*c.half
	c.high = c.base + lean*top + c.rise*c.half
	area, _ := c.bands.above(top)
	c.total = 2 * c.half * area
	if c.rise < 1e-15 {
		return &extrudeLevel{c}
	}
	return &c
}

func (c *extrudeCut) Span() (low, high float64) { return c.low, c.high }

// reach gives c at both ends of the axis, held to the outline, and the length
// along the axis that is full.
func (c *extrudeCut) reach(d float64) (near, far, full float64) {
	d -= c.base
	near, far = (d+c.rise*c.half)/c.lean, (d-c.rise*c.half)/c.lean
	if top := c.bands.high(); near > top {
		full = (near - top) * c.lean / c.rise
		near = top
	}
	return near, max(far, c.bands.low()), full
}

func (c *extrudeCut) Below(d float64) (volume, surface float64) {
	switch {
	case d <= c.low:
		return 0, 0
	case d >= c.high:
		return c.total, 0
	}
	step := 2 * c.half * c.rise / c.lean // between c at both ends
	if step < extrudeRiseSurface*c.size {
		return c.mean(d)
	}
	near, far, full := c.reach(d)
	a1, o1 := c.bands.above(near)
	a0, o0 := c.bands.above(far)
	// ∫S dt = lean/rise·∫S dc, and dc/dd = 1/lean.
	surface = (a1 - a0) / c.rise
	if step < extrudeRise*c.size {
		volume, _ = c.mean(d)
		return volume, surface
	}
	return full*c.area() + c.lean/c.rise*(o1-o0), surface
}

// area is the outline's.
func (c *extrudeCut) area() float64 { return c.total / (2 * c.half) }

// Moment adds up what is full along the axis and the rest.
func (c *extrudeCut) Moment(d float64) r3.Vec {
	d = min(max(d, c.low), c.high)
	if 2*c.half*c.rise/c.lean < extrudeRiseMoment*c.size {
		return c.meanMoment(d)
	}
	near, far, full := c.reach(d)
	top := c.bands.high()
	t, u := c.bands.all(top)
	volume := full * t[1]
	mu, mv, mt := full*u[1], full*(top*t[1]-t[2]), volume*(full/2-c.half)
	per := c.lean / c.rise
	for i, v := range [2]float64{near, far} {
		t, u := c.bands.all(v)
		k, along := per, (d-c.base-c.lean*v)/c.rise
		if i == 1 {
			k = -per
		}
		volume += k * t[2]
		mu += k * u[2]
		mv += k * (v*t[2] - 2*t[3])
		mt += k * (along*t[2] + per*t[3])
	}
	return c.place(volume, mu, mv, mt)
}

// place turns moments about the middle into those of the solid's frame.
func (c *extrudeCut) place(volume, mu, mv, mt float64) r3.Vec {
	m := r3.Scale(volume, c.middle)
	m = r3.Add(m, r3.Scale(mu, c.u))
	m = r3.Add(m, r3.Scale(mv, c.v))
	return r3.Add(m, r3.Scale(mt, c.t))
}

// extrudeLevel is a cut whose planes run along the axis: every section is the
// same.
type extrudeLevel struct{ extrudeCut }

func (c *extrudeLevel) Below(d float64) (volume, surface float64) {
	switch {
	case d <= c.low:
		return 0, 0
	case d >= c.high:
		return c.total, 0
	}
	width, area := c.bands.area((d - c.base) / c.lean)
	return 2 * c.half * area, 2 * c.half * width / c.lean
}

func (c *extrudeLevel) Moment(d float64) r3.Vec {
	d = min(max(d, c.low), c.high)
	v := (d - c.base) / c.lean
	t, u := c.bands.all(v)
	length := 2 * c.half
	return c.place(length*t[1], length*u[1], length*(v*t[1]-t[2]), 0)
}
