package tank

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// crossingFlat says that the triangles of a node lie in one plane, that of one
// of them, to within off. Triangles in one plane don't go through one another,
// nor through what lies on one side of it: drawings are full of flat faces.
type crossingFlat struct {
	plane int32 // a triangle; crossingBent or crossingEmpty
	off   float64
}

const (
	crossingBent  = -1 // not in one plane
	crossingEmpty = -2 // needles only, which aren't looked at
)

// flatten finds the flat nodes, children first: they stand behind their parent.
func (s *crossingSearch) flatten() {
	s.flats = make([]crossingFlat, len(s.tree.nodes))
	for i := len(s.tree.nodes) - 1; i >= 0; i-- {
		n := &s.tree.nodes[i]
		if n.second != 0 {
			s.flats[i] = s.together(n, s.flats[i+1], s.flats[n.second])
			continue
		}
		flat := crossingFlat{plane: crossingEmpty}
		for _, t := range s.tree.order[n.from:n.to] {
			if s.planes[t].width > 0 {
				flat = s.together(n, flat, crossingFlat{plane: t})
			}
		}
		s.flats[i] = flat
	}
}

// together gives what two parts of a node make, within its box.
func (s *crossingSearch) together(n *crossingNode, a, b crossingFlat) crossingFlat {
	switch {
	case a.plane == crossingEmpty:
		return b
	case b.plane == crossingEmpty:
		return a
	case a.plane == crossingBent || b.plane == crossingBent:
		return crossingFlat{plane: crossingBent}
	}
	if s.planes[a.plane].width < s.planes[b.plane].width {
		a, b = b, a
	}
	if b.off += s.apart(n, a.plane, b.plane); b.off > s.tolerance/2 {
		return crossingFlat{plane: crossingBent}
	}
	return crossingFlat{plane: a.plane, off: max(a.off, b.off)}
}

// apart bounds how far the planes of two triangles are from one another within
// a node's box, whichever way they face.
func (s *crossingSearch) apart(n *crossingNode, i, j int32) float64 {
	p, q := &s.planes[i], &s.planes[j]
	middle, half := r3.Scale(0.5, r3.Add(n.low, n.high)), r3.Scale(0.5, r3.Sub(n.high, n.low))
	sign := 1.0
	if r3.Dot(p.normal, q.normal) < 0 {
		sign = -1
	}
	turn := r3.Sub(p.normal, r3.Scale(sign, q.normal))
	at := r3.Dot(turn, middle) - (p.level - sign*q.level)
	return math.Abs(at) + math.Abs(turn.X)*half.X + math.Abs(turn.Y)*half.Y + math.Abs(turn.Z)*half.Z
}

// clear says that nothing of one node goes through the other, since one is flat
// and the other on one side of it, or in the same plane.
func (s *crossingSearch) clear(i, j int32) bool {
	a, b := s.flats[i], s.flats[j]
	if a.plane == crossingEmpty || b.plane == crossingEmpty {
		return true
	}
	if a.plane >= 0 && s.oneSide(a, j) || b.plane >= 0 && s.oneSide(b, i) {
		return true
	}
	return a.plane >= 0 && b.plane >= 0 && a.off+b.off+s.apart(&s.tree.nodes[i], a.plane, b.plane) <= s.tolerance
}

func (s *crossingSearch) oneSide(flat crossingFlat, i int32) bool {
	n, p := &s.tree.nodes[i], &s.planes[flat.plane]
	x, y, z := p.normal.X, p.normal.Y, p.normal.Z
	middle := (x*(n.low.X+n.high.X)+y*(n.low.Y+n.high.Y)+z*(n.low.Z+n.high.Z))/2 - p.level
	reach := (math.Abs(x)*(n.high.X-n.low.X) + math.Abs(y)*(n.high.Y-n.low.Y) + math.Abs(z)*(n.high.Z-n.low.Z)) / 2
	return math.Abs(middle)-reach >= flat.off-s.tolerance
}
