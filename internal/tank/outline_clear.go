package tank

import (
	"cmp"
	"fmt"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
)

// Tolerances of what counts as touching, as shares of the outline's extent.
const (
	outlineTouch = 1e-9
	// Where edges join without a bend, rounding may find a second meeting point
	// about the square root of its size away from the joint.
	outlineJoint = 1e-6
)

// outlineClear checks that edges meet where they join and nowhere else. It looks
// only at pairs whose boxes overlap, sorted along the first coordinate.
func outlineClear(edges []outlineEdge, size float64) error {
	n := len(edges)
	touch := outlineTouch * size
	type boxed struct {
		low, high r2.Vec
		edge      int
	}
	boxes := make([]boxed, n)
	for i := range edges {
		low, high := outlineBox(edges[i : i+1])
		boxes[i] = boxed{low, high, i}
	}
	slices.SortFunc(boxes, func(a, b boxed) int { return cmp.Compare(a.low.X, b.low.X) })
	for i, a := range boxes {
		for _, b := range boxes[i+1:] {
			if b.low.X > a.high.X+touch {
				break
			}
			if b.low.Y > a.high.Y+touch || a.low.Y > b.high.Y+touch {
				continue
			}
			if err := outlinePair(edges, min(a.edge, b.edge), max(a.edge, b.edge), size); err != nil {
				return err
			}
		}
	}
	return nil
}

// outlinePair checks two edges, i before j.
func outlinePair(edges []outlineEdge, i, j int, size float64) error {
	n, e, f := len(edges), edges[i], edges[j]
	touch, joint := outlineTouch*size, outlineJoint*size
	after, before := j == i+1, (j+1)%n == i // f starts where e ends; f ends where e starts
	if !after && !before {
		gap, where := outlineGap(e, f)
		if gap > touch {
			return nil
		}
		for _, end := range []r2.Vec{e.from, e.to, f.from, f.to} {
			if r2.Norm(r2.Sub(end, where)) <= touch {
				return outlineFault(e, f, "touches itself", where)
			}
		}
		if gap > 0 {
			return outlineFault(e, f, "touches itself", where)
		}
		return outlineFault(e, f, "crosses itself", where)
	}
	var joints []r2.Vec
	if after {
		joints = append(joints, e.to)
	}
	if before {
		joints = append(joints, e.from)
	}
	away := func(p r2.Vec) bool {
		for _, at := range joints {
			if r2.Norm(r2.Sub(p, at)) <= joint {
				return false
			}
		}
		return true
	}
	for _, p := range outlineMeet(e, f, 0) {
		a, b := e.share(p), f.share(p)
		if a >= 0 && a <= 1 && b >= 0 && b <= 1 && away(p) {
			return outlineFault(e, f, "crosses itself", p)
		}
	}
	for _, p := range []r2.Vec{e.from, e.to, e.at(0.5)} {
		if away(p) && r2.Norm(r2.Sub(p, f.nearest(p))) <= touch {
			return outlineFault(e, f, "touches itself", p)
		}
	}
	for _, p := range []r2.Vec{f.from, f.to, f.at(0.5)} {
		if away(p) && r2.Norm(r2.Sub(p, e.nearest(p))) <= touch {
			return outlineFault(e, f, "touches itself", p)
		}
	}
	return nil
}

// outlineFault names two edges that meet, the vertices with their places.
func outlineFault(e, f outlineEdge, how string, where r2.Vec) error {
	ends := func(e outlineEdge) string {
		if e.roundedCorner {
			return e.String()
		}
		return fmt.Sprintf("%s, %s to %s", e, outlinePlace(e.from), outlinePlace(e.to))
	}
	return fmt.Errorf("the outline %s at %s, where %s, meets %s", how, outlinePlace(where), ends(e), ends(f))
}
