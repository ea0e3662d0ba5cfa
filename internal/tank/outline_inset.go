package tank

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"gaugewright/internal/quantity"
)

// Inset gives the outline moved inward by a wall thickness in metres: the inside
// of what was measured outside. Straight edges move, arcs change their radius;
// corners stay sharp (mitred) both ways, and edges that run on into one another
// still do. What the wall swallows, such as a rounding of less radius than the
// wall, is left out and its neighbours meet.
//
// The error says that nothing is left, that a corner comes apart, or that walls
// meet inside, so that there would be several insides.
//
// Of an outline without hollow corners the area that is left is
// A − P·t + (π for all that is round, tan(φ/2) for a sharp corner that turns by
// φ)·t², while no edge is swallowed: Steiner's formula.
func (o Outline) Inset(wall float64) (Outline, error) {
	if !(wall >= 0) || math.IsInf(wall, 0) {
		return Outline{}, fmt.Errorf("the wall is %s thick; expected 0 mm or more", quantity.Metre(wall))
	}
	if wall == 0 || len(o.edges) == 0 {
		return o, nil
	}
	size := outlineSize(o.edges)
	edges := append([]outlineEdge(nil), o.edges...)
	nothing := fmt.Errorf("a wall of %s leaves no inside in an outline whose box has a diagonal of %s", quantity.Metre(wall), quantity.Metre(size))
	var done float64
	for {
		inner, gone := outlineInner(edges, wall, size)
		if gone == nil {
			return o.inside(inner, wall, size, nothing)
		}
		// The first edge to vanish on the way to this thickness is left out.
		low, high := done, wall
		for range 60 {
			mid := low + (high-low)/2
			if mid <= low || mid >= high {
				break
			}
			if _, g := outlineInner(edges, mid, size); g == nil {
				low = mid
			} else {
				high, gone = mid, g
			}
		}
		if gone.apart >= 0 {
			at := edges[gone.apart].to
			if len(edges) <= 3 {
				return Outline{}, nothing
			}
			return Outline{}, fmt.Errorf("a wall of %s can't be taken off the outline: at the corner %s the inner edges no longer meet at %s",
				quantity.Metre(wall), outlinePlace(at), quantity.Metre(high))
		}
		kept := edges[:0:0]
		for i, e := range edges {
			if !gone.swallowed[i] {
				kept = append(kept, e)
			}
		}
		edges, done = kept, low
		if !outlineEnough(edges) {
			return Outline{}, nothing
		}
	}
}

// outlineEnough says whether there are edges enough to enclose something.
func outlineEnough(edges []outlineEdge) bool {
	switch len(edges) {
	case 0, 1:
		return false
	case 2:
		return edges[0].radius > 0 || edges[1].radius > 0
	}
	return true
}

// inside checks what is left: it runs counter-clockwise within the outline, doesn't
// meet itself, and no edge of it comes nearer to the outline than the wall. The
// last is what tells insides that were turned inside out.
func (o Outline) inside(inner []outlineEdge, wall, size float64, nothing error) (Outline, error) {
	if err := outlineClear(inner, size); err != nil {
		return Outline{}, fmt.Errorf("with a wall of %s taken off, %w", quantity.Metre(wall), err)
	}
	if !(outlineArea(inner) > 1e-12*size*size) {
		return Outline{}, nothing
	}
	for _, e := range inner {
		for _, f := range o.edges {
			if gap, where := outlineGap(e, f); gap < wall-outlineTouch*size {
				return Outline{}, fmt.Errorf("a wall of %s can't be taken off the outline: the walls meet near %s", quantity.Metre(wall), outlinePlace(where))
			}
		}
	}
	// Now it is within or without as a whole; a wall within rounding is within.
	if p := inner[0].at(0.5); wall > 10*outlineTouch*size && !o.contains(p.X, p.Y) {
		return Outline{}, nothing
	}
	return newOutline(inner), nil
}

// outlineGone says what keeps edges from being moved inward: the edges that
// were swallowed, or the one whose end comes apart from the next (else -1).
type outlineGone struct {
	swallowed []bool
	apart     int
}

// outlineInner moves all edges inward and joins them anew.
func outlineInner(edges []outlineEdge, wall, size float64) ([]outlineEdge, *outlineGone) {
	n := len(edges)
	inner, gone := make([]outlineEdge, n), outlineGone{make([]bool, n), -1}
	var any bool
	for i, e := range edges {
		moved, ok := e.beside(wall)
		inner[i] = moved
		if !ok {
			gone.swallowed[i], any = true, true
		}
	}
	if any {
		return nil, &gone
	}
	// What is left of an edge that is no longer than what counts as touching would
	// have its neighbours touch: a rounding of the wall's own thickness, but for the
	// last digit of a number.
	touch := outlineTouch * size
	joints := make([]r2.Vec, n) // where edge i ends
	for i := range edges {
		next := (i + 1) % n
		p, ok := outlineJoin(edges[i], edges[next], inner[i], inner[next], size)
		if !ok {
			gone.apart = i
			return nil, &gone
		}
		joints[i] = p
	}
	for i := range inner {
		e, from, to := &inner[i], joints[(i+n-1)%n], joints[i]
		if e.radius == 0 {
			if r2.Dot(r2.Sub(to, from), r2.Unit(r2.Sub(edges[i].to, edges[i].from))) <= touch {
				gone.swallowed[i], any = true, true
			}
		} else {
			begin := outlineSigned(outlineAngle(r2.Sub(from, e.centre)) - e.start)
			end := outlineSigned(outlineAngle(r2.Sub(to, e.centre)) - e.start - e.sweep)
			sweep := e.sweep + end - begin
			if sweep*e.sweep <= 0 || math.Abs(sweep)*e.radius <= touch || math.Abs(sweep) >= 2*math.Pi {
				gone.swallowed[i], any = true, true
			}
			e.start, e.sweep = e.start+begin, sweep
		}
		e.from, e.to = from, to
	}
	if any {
		return nil, &gone
	}
	return inner, nil
}

// outlineJoin gives the point where two moved edges join: the moved joint where
// they run on into one another, else where their lines or circles meet, nearest
// to where they ended. False where they don't.
func outlineJoin(e, f, movedE, movedF outlineEdge, size float64) (r2.Vec, bool) {
	if e.to == f.from {
		t1, t2 := e.heading(true), f.heading(false)
		if math.Abs(r2.Cross(t1, t2)) < outlineTangent && r2.Dot(t1, t2) > 0 {
			return movedE.to, true
		}
	}
	middle := r2.Scale(0.5, r2.Add(movedE.to, movedF.from))
	best, nearest := r2.Vec{}, math.Inf(1)
	for _, p := range outlineMeet(movedE, movedF, 1e-12*size) {
		if d := r2.Norm(r2.Sub(p, middle)); d < nearest {
			best, nearest = p, d
		}
	}
	return best, !math.IsInf(nearest, 1)
}
