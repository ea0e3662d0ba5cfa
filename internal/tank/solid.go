package tank

import "gonum.org/v1/gonum/spatial/r3"

// Solid is a closed inside volume in a frame of its own; lengths in metres.
type Solid interface {
	// Box gives the corners of the upright box around it.
	Box() (low, high r3.Vec)
	// Cut prepares the solid for level planes across up, a unit vector. The
	// error says why it can't be cut in that direction (a strapping table
	// can't be tilted).
	Cut(up r3.Vec) (Cut, error)
	// Contains says whether a point lies inside; of points on the skin it may
	// say either.
	Contains(p r3.Vec) bool
	// Facets gives a closed mesh, turned outward, whose facets are off the true
	// skin by no more than the tolerance in metres; for drawings and
	// cross-checks, not for volumes. Empty where the shape isn't known.
	Facets(tolerance float64) Facets
}

// Cut is a solid ready to be cut by level planes of one direction: a plane is
// all points p with up·p = d, and what lies below it has up·p < d.
type Cut interface {
	// Span gives d at the solid's lowest and at its highest point.
	Span() (low, high float64)
	// Below gives the volume below a plane in m³, which never falls with d,
	// and the free surface in m², its derivative. Below the span both are 0,
	// above it the volume is the whole one and the surface 0. Where the surface
	// jumps (the flat roof of a box) either side's value may be given.
	Below(d float64) (volume, surface float64)
	// Moment gives ∫ p dV of what is below a plane, in m⁴; divided by the volume it
	// is the centroid.
	Moment(d float64) r3.Vec
}

// Facets is a closed triangle mesh: corners, and triangles as indices into
// them, counter-clockwise seen from outside.
type Facets struct {
	Corners   []r3.Vec
	Triangles [][3]int32
}
