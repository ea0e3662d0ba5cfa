package tank

import (
	"fmt"

	"gonum.org/v1/gonum/spatial/r3"

	"gaugewright/internal/quantity"
)

// openError describes open edges: how many there are, around how many holes,
// and where.
func (c *meshCheck) openError(e *meshEdges) error {
	// Open edges that meet make the rim of a hole.
	parent := map[int32]int32{}
	root := func(i int32) int32 {
		for {
			p, ok := parent[i]
			if !ok {
				return i
			}
			if q, ok := parent[p]; ok {
				parent[i] = q
			}
			i = p
		}
	}
	for _, edge := range e.open {
		a, b := c.ends(edge)
		if a, b = root(a), root(b); a != b {
			parent[a] = b
		}
	}
	type hole struct {
		edges     int
		round     float64
		low, high r3.Vec
	}
	holes := map[int32]*hole{}
	var largest *hole
	for _, edge := range e.open {
		a, b := c.ends(edge)
		h := holes[root(a)]
		if h == nil {
			h = &hole{low: c.corner(a), high: c.corner(a)}
			holes[root(a)] = h
		}
		h.edges++
		h.round += r3.Norm(r3.Sub(c.corner(a), c.corner(b)))
		for _, v := range []r3.Vec{c.corner(a), c.corner(b)} {
			h.low, h.high = crossingLow(h.low, v), crossingHigh(h.high, v)
		}
		if largest == nil || h.round > largest.round {
			largest = h
		}
	}
	first := ""
	for i, edge := range e.open[:min(3, len(e.open))] {
		if i > 0 {
			first += "; "
		}
		a, b := c.ends(edge)
		first += fmt.Sprintf("triangle %d from %s to %s", c.number[edge/3], c.place(c.corner(a)), c.place(c.corner(b)))
	}
	where := "around 1 hole"
	if len(holes) > 1 {
		where = fmt.Sprintf("around %d holes, the largest", len(holes))
	}
	many := ""
	if len(e.many) > 0 {
		many = fmt.Sprintf(" (and %s with more than two)", meshCount(len(e.many), "edge"))
	}
	return fmt.Errorf("the mesh is open: %s with one triangle only%s, %s of %s, %s round and within %s to %s; at first: %s; expected a closed surface; close it in the drawing program and export again",
		meshCount(len(e.open), "edge"), many, where, meshCount(largest.edges, "edge"), quantity.Metre(largest.round), c.place(largest.low), c.place(largest.high), first)
}
