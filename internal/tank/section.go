package tank

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"gaugewright/internal/quantity"
)

// Looking is from where a section is seen.
type Looking byte

const (
	// FromStarboard looks to port: forward is to the right.
	FromStarboard Looking = iota
	// FromAstern looks forward: port is to the left, starboard to the right.
	FromAstern
)

// Section is the upright plane through the sensor's foot, along the tank or
// across it, as it's seen with the tank standing at its tilt: points have a
// horizontal and an upward coordinate in metres, and the liquid's surface is a
// horizontal line.
type Section struct {
	Loops      [][][2]float64 // outlines; a point is inside where an odd number of them is around it
	Foot, Head [2]float64     // of the sensor's line, from the lowest inside level to the highest
	Lean       float64        // of the tank's upright in this plane, rad, positive to the left as seen

	looking Looking
	levels  *Levels
}

// Section gives the section along or across the tank. There are no loops where
// the shape isn't known. Curved walls are drawn as chords, off by no more than
// the tolerance in metres.
func (l *Levels) Section(looking Looking, tolerance float64) Section {
	s := Section{looking: looking, levels: l}
	t := l.tank
	normal, at := r3.Vec{Y: 1}, t.sensor.Y
	if looking == FromAstern {
		normal, at = r3.Vec{X: 1}, t.sensor.X
	}
	up := l.tilt.Up()
	if looking == FromStarboard {
		s.Lean = math.Atan2(up.X, up.Z)
	} else {
		s.Lean = math.Atan2(-up.Y, up.Z)
	}
	foot := r3.Vec{X: t.sensor.X, Y: t.sensor.Y}
	head := r3.Add(foot, r3.Scale(t.high.Z/t.sensor.Axis.Z, t.sensor.Axis))
	s.Foot, s.Head = s.point(foot), s.point(head)
	// Facets often have corners in a plane of symmetry; just beside it there is
	// no doubt which side a corner is on. Beside a wall, it's the inner side.
	size := r3.Norm(r3.Sub(t.high, t.low))
	beside := 1.618e-7 * size
	if at > 0 {
		beside = -beside
	}
	for _, loop := range sectionLoops(t.Facets(tolerance), normal, at+beside) {
		points := make([][2]float64, len(loop))
		for i, p := range loop {
			points[i] = s.point(p)
		}
		s.Loops = append(s.Loops, points)
	}
	return s
}

// point lays a point of the tank's frame into the picture.
func (s Section) point(p r3.Vec) [2]float64 {
	across := p.X
	if s.looking == FromAstern {
		across = -p.Y
	}
	sin, cos := math.Sincos(s.Lean)
	return [2]float64{across*cos - p.Z*sin, across*sin + p.Z*cos}
}

// Level gives how high the surface stands in the picture when it meets the
// sensor at a height.
func (s Section) Level(h quantity.Metre) float64 { return s.At(h)[1] }

// At gives the point of the sensor's line at a height, in the picture.
func (s Section) At(h quantity.Metre) [2]float64 {
	t := s.levels.tank
	return s.point(r3.Add(r3.Vec{X: t.sensor.X, Y: t.sensor.Y}, r3.Scale(float64(h), t.sensor.Axis)))
}

// sectionLoops cuts facets by the plane normal·p = at, on which no corner may
// lie, and joins the cuts into closed loops.
func sectionLoops(f Facets, normal r3.Vec, at float64) [][]r3.Vec {
	type edge struct{ low, high int32 }
	key := func(a, b int32) edge { return edge{min(a, b), max(a, b)} }
	side := make([]float64, len(f.Corners))
	for i, c := range f.Corners {
		side[i] = r3.Dot(normal, c) - at
	}
	// Each facet that is cut leads from one of its edges to another, always with
	// the facet's outside on the same hand.
	next := map[edge]edge{}
	var order []edge
	for _, t := range f.Triangles {
		var in, out edge
		cut := false
		for i := range 3 {
			a, b := t[i], t[(i+1)%3]
			switch {
			case side[a] < 0 && side[b] >= 0:
				in, cut = key(a, b), true
			case side[a] >= 0 && side[b] < 0:
				out = key(a, b)
			}
		}
		if cut {
			next[in] = out
			order = append(order, in)
		}
	}
	point := func(e edge) r3.Vec {
		a, b := side[e.low], side[e.high]
		return r3.Add(f.Corners[e.low], r3.Scale(a/(a-b), r3.Sub(f.Corners[e.high], f.Corners[e.low])))
	}
	var loops [][]r3.Vec
	for _, start := range order {
		var loop []r3.Vec
		for e := start; ; {
			to, ok := next[e]
			if !ok {
				break
			}
			delete(next, e)
			loop = append(loop, point(e))
			e = to
		}
		if len(loop) > 2 {
			loops = append(loops, loop)
		}
	}
	return loops
}
