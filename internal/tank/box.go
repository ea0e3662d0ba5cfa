package tank

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"gaugewright/internal/quantity"
)

// boxSolid is a box that stands on z = 0, its plan centred on the origin.
type boxSolid struct{ length, width, height float64 }

// Box makes a box of inside sizes in metres: length along x, width along y,
// height along z. It stands on z = 0 with its plan centred on the origin.
// Volumes are exact at every tilt. The error names a size that isn't a length
// above zero.
func Box(length, width, height float64) (Solid, error) {
	for _, s := range []struct {
		name string
		size float64
	}{{"length", length}, {"width", width}, {"height", height}} {
		if !boxSize(s.size) {
			return nil, fmt.Errorf("the %s of the box is %s; expected more than 0 mm", s.name, quantity.Metre(s.size))
		}
	}
	return boxSolid{length, width, height}, nil
}

// boxSize says whether a size is a length above zero.
func boxSize(v float64) bool { return v > 0 && !math.IsInf(v, 0) }

// Box gives the corners of the box.
func (b boxSolid) Box() (low, high r3.Vec) {
	return r3.Vec{X: -b.length / 2, Y: -b.width / 2}, r3.Vec{X: b.length / 2, Y: b.width / 2, Z: b.height}
}

// Contains says whether a point lies in the box.
func (b boxSolid) Contains(p r3.Vec) bool {
	return math.Abs(p.X) <= b.length/2 && math.Abs(p.Y) <= b.width/2 && p.Z >= 0 && p.Z <= b.height
}

// Cut cuts the box. Square to a side it is a slab; else it is a rectangle
// extruded along the axis that lies most nearly in the level plane, so that
// with pitch alone or roll alone every section along that axis is the same.
func (b boxSolid) Cut(up r3.Vec) (Cut, error) {
	low, high := b.Box()
	abs := [3]float64{math.Abs(up.X), math.Abs(up.Y), math.Abs(up.Z)}
	switch {
	case abs[1] == 0 && abs[2] == 0:
		return newSlab(up, AxisX, b.width*b.height, r3.Vec{Z: b.height / 2}, low.X, high.X), nil
	case abs[0] == 0 && abs[2] == 0:
		return newSlab(up, AxisY, b.length*b.height, r3.Vec{Z: b.height / 2}, low.Y, high.Y), nil
	case abs[0] == 0 && abs[1] == 0:
		return newSlab(up, AxisZ, b.length*b.width, r3.Vec{}, low.Z, high.Z), nil
	}
	axis, from, to := AxisX, low.X, high.X
	a, c := [2]float64{low.Y, high.Y}, [2]float64{low.Z, high.Z}
	if abs[1] < abs[0] && abs[1] <= abs[2] {
		axis, from, to = AxisY, low.Y, high.Y
		a = [2]float64{low.X, high.X}
	} else if abs[2] < abs[0] && abs[2] < abs[1] {
		axis, from, to = AxisZ, low.Z, high.Z
		a, c = [2]float64{low.X, high.X}, [2]float64{low.Y, high.Y}
	}
	return newExtrudeCut(outlineRectangle(a, c), axis, from, to, up), nil
}

// Facets gives the twelve triangles of the box.
func (b boxSolid) Facets(float64) Facets {
	l, w := b.length/2, b.width/2
	bottom := []r3.Vec{{X: -l, Y: -w}, {X: l, Y: -w}, {X: l, Y: w}, {X: -l, Y: w}}
	return pyramidFacets(bottom, pyramidLift(bottom, 1, 1, b.height))
}

// slabCut is a solid of one section cut square to its length: volume is area
// times height.
type slabCut struct {
	area, low, high float64
	foot, rise      r3.Vec // the centroid of the liquid is foot + rise·(its middle level)
}

// newSlab makes the cut of a solid with one section along an axis, from one end
// to the other, for an up along that axis, either way. The middle is a point of
// the section's centroid line.
func newSlab(up r3.Vec, axis Axis, area float64, middle r3.Vec, from, to float64) slabCut {
	_, _, along := outlineFrame(axis)
	if r3.Dot(up, along) < 0 {
		along, from, to = r3.Scale(-1, along), -to, -from
	}
	foot := r3.Sub(middle, r3.Scale(r3.Dot(middle, along), along))
	return slabCut{area: area, low: from, high: to, foot: foot, rise: along}
}

func (c slabCut) Span() (low, high float64) { return c.low, c.high }

func (c slabCut) Below(d float64) (volume, surface float64) {
	switch {
	case d <= c.low:
		return 0, 0
	case d >= c.high:
		return c.area * (c.high - c.low), 0
	}
	return c.area * (d - c.low), c.area
}

func (c slabCut) Moment(d float64) r3.Vec {
	d = min(max(d, c.low), c.high)
	return r3.Scale(c.area*(d-c.low), r3.Add(c.foot, r3.Scale((d+c.low)/2, c.rise)))
}
