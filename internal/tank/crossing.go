package tank

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// crossingSearch looks for triangles of a mesh that go through one another.
// What goes through less deep than the tolerance is taken for touching.
type crossingSearch struct {
	tree      *crossingTree
	axes      [3]r3.Vec // of the tree's frame
	planes    []crossingPlane
	flats     []crossingFlat // of each node
	tolerance float64
	looks     int // pairs of boxes and of triangles looked at
	most      int // of that
	found     []crossingPair
}

// crossingPlane is the plane of a triangle: normal·p = level. A needle has
// none: its width is below the tolerance.
type crossingPlane struct {
	normal r3.Vec
	level  float64
	width  float64 // the least height of the triangle
}

type crossingPair struct {
	a, b int32 // a < b
	at   r3.Vec
}

const (
	// How much is looked at before the search is given up: the larger of both.
	// A second is good for 30,000,000. A smooth mesh takes 50 a triangle; only
	// tens of thousands of long needles side by side take more.
	crossingLooks   = 40_000_000
	crossingLooksOf = 100  // for each triangle
	crossingMost    = 1000 // of pairs found
)

func newCrossingSearch(f Facets, tolerance float64) *crossingSearch {
	f, axes := crossingFrame(f)
	s := &crossingSearch{tree: newCrossingTree(f), axes: axes, planes: make([]crossingPlane, len(f.Triangles)), tolerance: tolerance}
	for i, t := range f.Triangles {
		a, b, c := f.Corners[t[0]], f.Corners[t[1]], f.Corners[t[2]]
		u, v := r3.Sub(b, a), r3.Sub(c, a)
		n := r3.Cross(u, v)
		size := r3.Norm(n)
		longest := math.Sqrt(max(r3.Norm2(u), r3.Norm2(v), r3.Norm2(r3.Sub(c, b))))
		if width := size / longest; width > tolerance {
			n = r3.Scale(1/size, n)
			s.planes[i] = crossingPlane{normal: n, level: r3.Dot(n, a), width: width}
		}
	}
	s.most = max(crossingLooks, crossingLooksOf*len(f.Triangles))
	s.flatten()
	return s
}

// run looks at all pairs whose boxes meet, and says whether it came to an end.
func (s *crossingSearch) run() bool {
	if len(s.tree.nodes) > 0 {
		s.within(0)
	}
	return s.looks <= s.most
}

func (s *crossingSearch) over() bool {
	return s.looks > s.most || len(s.found) >= crossingMost
}

// within looks at all pairs of one node.
func (s *crossingSearch) within(i int32) {
	n := &s.tree.nodes[i]
	if s.flats[i].plane != crossingBent || s.over() {
		return
	}
	if n.second != 0 {
		s.within(i + 1)
		s.within(n.second)
		s.between(i+1, n.second)
		return
	}
	for k := n.from; k < n.to; k++ {
		for m := k + 1; m < n.to; m++ {
			s.pair(s.tree.order[k], s.tree.order[m])
		}
	}
}

// between looks at all pairs of one triangle of each of two nodes.
func (s *crossingSearch) between(i, j int32) {
	a, b := &s.tree.nodes[i], &s.tree.nodes[j]
	s.looks++
	if a.high.X < b.low.X || b.high.X < a.low.X || a.high.Y < b.low.Y || b.high.Y < a.low.Y ||
		a.high.Z < b.low.Z || b.high.Z < a.low.Z || s.over() || s.clear(i, j) {
		return
	}
	switch {
	case a.second == 0 && b.second == 0:
		for _, t := range s.tree.order[a.from:a.to] {
			for _, u := range s.tree.order[b.from:b.to] {
				s.pair(t, u)
			}
		}
	case b.second == 0 || a.second != 0 && a.to-a.from >= b.to-b.from:
		s.between(i+1, j)
		s.between(a.second, j)
	default:
		s.between(i, j+1)
		s.between(i, b.second)
	}
}

// sides gives how far the corners of a triangle lie over a plane, 0 where that
// is within the tolerance or a corner is shared, and whether some lie on either
// side.
func (s *crossingSearch) sides(p *crossingPlane, t [3]int32, shared int32) (d [3]float64, both bool) {
	above, below := false, false
	for i, c := range t {
		d[i] = r3.Dot(p.normal, s.tree.facets.Corners[c]) - p.level
		switch {
		case math.Abs(d[i]) <= s.tolerance || c == shared:
			d[i] = 0
		case d[i] > 0:
			above = true
		default:
			below = true
		}
	}
	return d, above && below
}

// pair looks at two triangles. Those with an edge in common can only lie on one
// another, which the winding finds where it matters.
func (s *crossingSearch) pair(i, j int32) {
	s.looks++
	f := &s.tree.facets
	a, b := f.Triangles[i], f.Triangles[j]
	shared, count := int32(-1), 0
	for _, c := range a {
		if c == b[0] || c == b[1] || c == b[2] {
			shared = c
			count++
		}
	}
	p, q := &s.planes[i], &s.planes[j]
	if count > 1 || p.width == 0 || q.width == 0 {
		return
	}
	over, both := s.sides(p, b, shared)
	if !both {
		return
	}
	under, both := s.sides(q, a, shared)
	if !both {
		return
	}
	// The line in which one meets the plane of the other is surest in that of
	// the wider one.
	if p.width < q.width {
		p, a, b, over = q, b, a, under
	}
	if at, ok := s.meets(p, a, b, over); ok {
		x, y, z := s.axes[0], s.axes[1], s.axes[2]
		at = r3.Add(r3.Scale(at.X, x), r3.Add(r3.Scale(at.Y, y), r3.Scale(at.Z, z)))
		s.found = append(s.found, crossingPair{min(i, j), max(i, j), at})
	}
}

// meets clips the line in which triangle b meets the plane of a to what lies
// within a by more than the tolerance. The heights of b's corners over that
// plane are given.
func (s *crossingSearch) meets(p *crossingPlane, a, b [3]int32, over [3]float64) (r3.Vec, bool) {
	f := &s.tree.facets
	var end [3]r3.Vec
	ends := 0
	for i := range b {
		j := (i + 1) % 3
		v, w := f.Corners[b[i]], f.Corners[b[j]]
		if over[i] == 0 {
			end[ends] = v
			ends++
		} else if over[i]*over[j] < 0 {
			t := over[i] / (over[i] - over[j])
			end[ends] = r3.Add(v, r3.Scale(t, r3.Sub(w, v)))
			ends++
		}
	}
	if ends != 2 {
		return r3.Vec{}, false
	}
	from, to := 0.0, 1.0
	for i := range a {
		v, w := f.Corners[a[i]], f.Corners[a[(i+1)%3]]
		in := r3.Unit(r3.Cross(p.normal, r3.Sub(w, v)))
		d0 := r3.Dot(in, r3.Sub(end[0], v)) - s.tolerance
		d1 := r3.Dot(in, r3.Sub(end[1], v)) - s.tolerance
		switch {
		case d0 < 0 && d1 < 0:
			return r3.Vec{}, false
		case d0 < 0:
			from = max(from, d0/(d0-d1))
		case d1 < 0:
			to = min(to, d0/(d0-d1))
		}
	}
	way := r3.Sub(end[1], end[0])
	if (to-from)*r3.Norm(way) <= s.tolerance {
		return r3.Vec{}, false
	}
	return r3.Add(end[0], r3.Scale((from+to)/2, way)), true
}
