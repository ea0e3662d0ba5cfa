package tank

import (
	"fmt"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"gaugewright/internal/quantity"
)

// extrudeSolid is an outline drawn along an axis from one place to another.
type extrudeSolid struct {
	outline  Outline
	axis     Axis
	from, to float64
}

// Extrude draws an outline along an axis: a section that is the same all along
// x (the outline lies in y and z) or along y (in x and z), with the middle of
// its length at 0; or a plan (in x and y) that is the same all the way up from
// z = 0. The length is in metres.
//
// Volumes are exact at every tilt, arcs and all: boundary integrals in closed
// terms of the outline's area below a line and of that area's integral; where
// the axis lies within 1e-4 of level, counted in outline extents of rise over
// the length, the area is integrated along the axis by Gauss–Legendre's rule,
// good to 1e-12 of the whole. The error names what can't be.
func Extrude(o Outline, axis Axis, length float64) (Solid, error) {
	switch {
	case len(o.edges) == 0:
		return nil, fmt.Errorf("the outline to extrude is empty; make it with its vertices first")
	case axis != AxisX && axis != AxisY && axis != AxisZ:
		return nil, fmt.Errorf("an outline can't be extruded along %q; expected x, y or z", rune(axis))
	case !boxSize(length):
		return nil, fmt.Errorf("the outline is extruded over %s; expected more than 0 mm", quantity.Metre(length))
	}
	if axis == AxisZ {
		return extrudeSolid{o, axis, 0, length}, nil
	}
	return extrudeSolid{o, axis, -length / 2, length / 2}, nil
}

// outlineFrame gives the directions of an outline's two coordinates and of the
// axis it is extruded along.
func outlineFrame(axis Axis) (a, b, along r3.Vec) {
	switch axis {
	case AxisX:
		return r3.Vec{Y: 1}, r3.Vec{Z: 1}, r3.Vec{X: 1}
	case AxisY:
		return r3.Vec{X: 1}, r3.Vec{Z: 1}, r3.Vec{Y: 1}
	}
	return r3.Vec{X: 1}, r3.Vec{Y: 1}, r3.Vec{Z: 1}
}

// outlinePoint puts a point of the outline's plane into space.
func outlinePoint(axis Axis, p r2.Vec, along float64) r3.Vec {
	switch axis {
	case AxisX:
		return r3.Vec{X: along, Y: p.X, Z: p.Y}
	case AxisY:
		return r3.Vec{X: p.X, Y: along, Z: p.Y}
	}
	return r3.Vec{X: p.X, Y: p.Y, Z: along}
}

// Box gives the corners of the upright box around it.
func (e extrudeSolid) Box() (low, high r3.Vec) {
	l, h := e.outline.box()
	return outlinePoint(e.axis, l, e.from), outlinePoint(e.axis, h, e.to)
}

// Contains says whether a point lies inside.
func (e extrudeSolid) Contains(p r3.Vec) bool {
	a, b, along := outlineFrame(e.axis)
	if t := r3.Dot(p, along); !(t >= e.from && t <= e.to) {
		return false
	}
	return e.outline.contains(r3.Dot(p, a), r3.Dot(p, b))
}

// Cut cuts it.
func (e extrudeSolid) Cut(up r3.Vec) (Cut, error) {
	return newExtrudeCut(e.outline, e.axis, e.from, e.to, up), nil
}
