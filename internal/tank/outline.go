package tank

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"

	"gaugewright/internal/quantity"
)

// Vertex is a corner of an outline, in metres in the outline's plane.
type Vertex struct {
	A, B float64
	// Corner is the radius that rounds this corner; 0 leaves it sharp.
	Corner float64
	// Through makes the edge from the vertex before to this one an arc of a
	// circle through that point; nil makes it straight.
	Through *[2]float64
}

// Outline is a closed line of straight edges and circular arcs that doesn't
// cross or touch itself, counter-clockwise. It is made by [NewOutline] and not
// changed after; the zero Outline encloses nothing.
type Outline struct {
	edges []outlineEdge
	walls outlineWalls // its edges cut into stretches that rise or fall along B
}

// NewOutline makes an outline of its vertices in order; the last is joined to
// the first. Vertices in clockwise order are turned round. Two vertices are
// enough where an edge is an arc, else three.
//
// An error names the vertices by their place in the order, counting from 1, with
// their coordinates in millimetres: doubled vertices, an arc's point that lies
// on the straight line, a rounding that doesn't fit on its edges, an outline
// that encloses no area, that crosses itself or touches itself (comes nearer to
// itself than 1e-9 of its extent anywhere but where edges join).
func NewOutline(vertices []Vertex) (Outline, error) {
	edges, err := outlineSharp(vertices)
	if err != nil {
		return Outline{}, err
	}
	size := outlineSize(edges)
	if outlineFlat(edges, size) {
		return Outline{}, fmt.Errorf("the outline encloses no area: its %d vertices lie on one line, from %s to %s",
			len(vertices), outlinePlace(edges[0].from), outlinePlace(edges[0].to))
	}
	if edges, err = outlineRounded(edges, vertices, size); err != nil {
		return Outline{}, err
	}
	if err := outlineClear(edges, size); err != nil {
		return Outline{}, err
	}
	area := outlineArea(edges)
	if math.Abs(area) <= 1e-12*size*size {
		return Outline{}, fmt.Errorf("the outline through vertex 1 %s encloses no area", outlinePlace(edges[0].from))
	}
	if area < 0 {
		outlineTurn(edges)
	}
	return newOutline(edges), nil
}

// newOutline takes edges that are in order.
func newOutline(edges []outlineEdge) Outline {
	return Outline{edges, newOutlineWalls(edges, r2.Vec{}, r2.Vec{Y: 1})}
}

// outlineSharp joins the vertices, before any rounding. Edge i leads to vertex i.
func outlineSharp(vertices []Vertex) ([]outlineEdge, error) {
	n := len(vertices)
	var arcs bool
	for i, v := range vertices {
		numbers := []float64{v.A, v.B, v.Corner}
		if v.Through != nil {
			numbers, arcs = append(numbers, v.Through[:]...), true
		}
		for _, x := range numbers {
			if math.IsNaN(x) || math.Abs(x) > 1e6 {
				return nil, fmt.Errorf("vertex %d of the outline has a coordinate or radius of %g; expected numbers of mm", i+1, x*1000)
			}
		}
		if v.Corner < 0 {
			return nil, fmt.Errorf("vertex %d %s of the outline has a rounding radius of %s; expected 0 mm (sharp) or more",
				i+1, outlinePlace(r2.Vec{X: v.A, Y: v.B}), quantity.Metre(v.Corner))
		}
	}
	if n < 2 || n == 2 && !arcs {
		return nil, fmt.Errorf("the outline has %d vertices; expected 3 or more, or 2 joined by an arc", n)
	}
	edges := make([]outlineEdge, n)
	for i, v := range vertices {
		before := (i + n - 1) % n
		e := outlineEdge{
			from: r2.Vec{X: vertices[before].A, Y: vertices[before].B}, to: r2.Vec{X: v.A, Y: v.B},
			first: before + 1, last: i + 1,
		}
		if e.from == e.to {
			hint := "leave one out"
			if i == 0 {
				hint = "leave the last out, the outline closes by itself"
			}
			return nil, fmt.Errorf("vertices %d and %d of the outline are both at %s; %s", before+1, i+1, outlinePlace(e.to), hint)
		}
		if v.Through != nil {
			if !e.bend(r2.Vec{X: v.Through[0], Y: v.Through[1]}) {
				return nil, fmt.Errorf("the arc from vertex %d %s to vertex %d %s goes through %s, which lies on the straight line of the two; expected a point beside it",
					before+1, outlinePlace(e.from), i+1, outlinePlace(e.to), outlinePlace(r2.Vec{X: v.Through[0], Y: v.Through[1]}))
			}
		}
		edges[i] = e
	}
	return edges, nil
}

// outlinePlace writes a point of the outline's plane in millimetres.
func outlinePlace(p r2.Vec) string {
	return "(" + quantity.Short(p.X*1000, 3) + ", " + quantity.Short(p.Y*1000, 3) + " mm)"
}

// outlineFlat says whether all edges are straight and on one line.
func outlineFlat(edges []outlineEdge, size float64) bool {
	far := edges[0]
	for _, e := range edges {
		if e.radius > 0 {
			return false
		}
		if r2.Norm(r2.Sub(e.to, edges[0].from)) > r2.Norm(r2.Sub(far.to, edges[0].from)) {
			far = e
		}
	}
	along := r2.Sub(far.to, edges[0].from)
	for _, e := range edges {
		if math.Abs(r2.Cross(along, r2.Sub(e.to, edges[0].from))) > 1e-9*size*size {
			return false
		}
	}
	return true
}

// outlineArea is the area enclosed, negative where the edges run clockwise: the
// shoelace formula, and the segment r²/2·(φ − sin φ) of each arc. It is taken
// from the first point, so that an outline far from the origin loses no digits.
func outlineArea(edges []outlineEdge) float64 {
	var twice float64
	for _, e := range edges {
		twice += r2.Cross(r2.Sub(e.from, edges[0].from), r2.Sub(e.to, edges[0].from))
		if e.radius > 0 {
			twice += e.radius * e.radius * (e.sweep - math.Sin(e.sweep))
		}
	}
	return twice / 2
}

// outlineTurn turns the edges round, in place.
func outlineTurn(edges []outlineEdge) {
	slices.Reverse(edges)
	for i := range edges {
		edges[i] = edges[i].reversed()
	}
}

// Area gives the area enclosed in m².
func (o Outline) Area() float64 {
	if len(o.edges) == 0 {
		return 0
	}
	return outlineArea(o.edges)
}

// box gives the corners of the box around it, arcs and all.
func (o Outline) box() (low, high r2.Vec) { return outlineBox(o.edges) }

// contains says whether a point lies inside: whether a ray from it crosses the
// outline an odd number of times.
func (o Outline) contains(a, b float64) bool {
	var inside bool
	for i := range o.walls {
		w := &o.walls[i]
		if b >= w.low && b < w.high && w.at(b) > a {
			inside = !inside
		}
	}
	return inside
}

// outlineRectangle is a rectangle from its limits along both axes, each rising.
func outlineRectangle(a, b [2]float64) Outline {
	corner := [4]r2.Vec{{X: a[0], Y: b[0]}, {X: a[1], Y: b[0]}, {X: a[1], Y: b[1]}, {X: a[0], Y: b[1]}}
	edges := make([]outlineEdge, 4)
	for i := range edges {
		edges[i] = outlineEdge{from: corner[i], to: corner[(i+1)%4], first: i + 1, last: (i+1)%4 + 1}
	}
	return newOutline(edges)
}
