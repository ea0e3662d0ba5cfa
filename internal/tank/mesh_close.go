package tank

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"gaugewright/internal/quantity"
)

// close sees to it that no edge is open.
func (c *meshCheck) close() (*meshEdges, error) {
	e := c.edges()
	if len(e.many) > 0 && c.dropRepeated() {
		e = c.edges()
	}
	if len(e.open) > 0 {
		if c.weld(e) {
			c.dropDoubled()
			if e = c.edges(); len(e.many) > 0 && c.dropRepeated() {
				e = c.edges()
			}
		}
	}
	if len(c.facets.Triangles) == 0 {
		return nil, fmt.Errorf("no triangle of the mesh is left: %s expected a closed surface", c.said[len(c.said)-1])
	}
	if len(e.open) > 0 {
		return nil, c.openError(e)
	}
	return c.dropFlat(e), nil
}

// dropRepeated leaves out triangles that have the same corners as another one.
// Of those turned the same way one stays; two turned opposite ways, a sheet
// without thickness, both go.
func (c *meshCheck) dropRepeated() bool {
	type same struct {
		corners [3]int32
		odd     bool // turned the other way than the sorted corners
		at      int32
	}
	all := make([]same, len(c.facets.Triangles))
	for i, t := range c.facets.Triangles {
		s := same{corners: t, at: int32(i)}
		for _, k := range []int{0, 1, 0} {
			if s.corners[k] > s.corners[k+1] {
				s.corners[k], s.corners[k+1] = s.corners[k+1], s.corners[k]
				s.odd = !s.odd
			}
		}
		all[i] = s
	}
	slices.SortFunc(all, func(a, b same) int {
		return cmp.Or(cmp.Compare(a.corners[0], b.corners[0]), cmp.Compare(a.corners[1], b.corners[1]),
			cmp.Compare(a.corners[2], b.corners[2]), cmp.Compare(a.at, b.at))
	})
	gone := make([]bool, len(all))
	for len(all) > 0 {
		k := 1
		for k < len(all) && all[k].corners == all[0].corners {
			k++
		}
		even, odd := int32(-1), int32(-1)
		for _, s := range all[:k] {
			one := &even
			if s.odd {
				one = &odd
			}
			if *one >= 0 {
				gone[s.at] = true
			} else {
				*one = s.at
			}
		}
		if even >= 0 && odd >= 0 {
			gone[even], gone[odd] = true, true
		}
		all = all[k:]
	}
	n, first := c.keep(func(i int) bool { return !gone[i] })
	if n > 0 {
		c.say("%s left out, since others have the same three corners (%s).", meshWere(n, "triangle"), meshFirst(n, first))
	}
	return n > 0
}

// dropFlat leaves out triangles whose corners lie in one line, if the mesh is
// closed without them. Else they stay: they hold their neighbours together and
// add nothing to the volume.
func (c *meshCheck) dropFlat(e *meshEdges) *meshEdges {
	flat := make([]bool, len(c.facets.Triangles))
	n, first := 0, int32(0)
	for i, t := range c.facets.Triangles {
		a, b, d := c.corner(t[0]), c.corner(t[1]), c.corner(t[2])
		u, v := r3.Sub(b, a), r3.Sub(d, a)
		longest := max(r3.Norm2(u), r3.Norm2(v), r3.Norm2(r3.Sub(d, b)))
		if flat[i] = r3.Norm(r3.Cross(u, v)) <= 1e-14*longest; flat[i] {
			if n++; n == 1 {
				first = c.number[i]
			}
		}
	}
	if n == 0 {
		return e
	}
	without := &meshCheck{facets: Facets{Corners: c.facets.Corners}, number: slices.Clone(c.number)}
	without.facets.Triangles = slices.Clone(c.facets.Triangles)
	without.keep(func(i int) bool { return !flat[i] })
	if left := without.edges(); len(without.number) > 0 && len(left.open) == 0 && len(left.many) <= len(e.many) {
		c.facets, c.number = without.facets, without.number
		c.say("%s left out for having no area (%s).", meshWere(n, "triangle"), meshFirst(n, first))
		return left
	}
	c.say("%s kept although its corners lie in one line (%s): the surface would be open without, and the volume is the same.", meshWere(n, "triangle"), meshFirst(n, first))
	return e
}

// weld joins corners of open edges that lie close together. It says whether
// there were any.
func (c *meshCheck) weld(e *meshEdges) bool {
	reach := c.options.Weld
	if reach == 0 {
		reach = 1e-6 * c.extent
	}
	// Boxes of the size of the reach: what is near is in one of 27.
	type cell [3]int64
	cells := map[cell][]int32{}
	in := func(v r3.Vec) cell {
		return cell{int64(math.Floor(v.X / reach)), int64(math.Floor(v.Y / reach)), int64(math.Floor(v.Z / reach))}
	}
	to := map[int32]int32{} // every corner of an open edge, to what it becomes
	joined, furthest := 0, 0.0
	for _, edge := range e.open {
		a, b := c.ends(edge)
		for _, corner := range [2]int32{a, b} {
			if _, ok := to[corner]; ok {
				continue
			}
			to[corner] = corner
			v := c.corner(corner)
			at := in(v)
			nearest := reach
			for i := range int64(27) {
				for _, other := range cells[cell{at[0] + i%3 - 1, at[1] + i/3%3 - 1, at[2] + i/9 - 1}] {
					if d := r3.Norm(r3.Sub(v, c.corner(other))); d <= nearest {
						nearest, to[corner] = d, other
					}
				}
			}
			if to[corner] == corner {
				cells[at] = append(cells[at], corner)
			} else {
				joined++
				furthest = max(furthest, nearest)
			}
		}
	}
	if joined == 0 {
		return false
	}
	for i, t := range c.facets.Triangles {
		for k, corner := range t {
			if other, ok := to[corner]; ok {
				c.facets.Triangles[i][k] = other
			}
		}
	}
	c.say("%s joined to others no further off than %s mm, since the mesh was open there.", meshWere(joined, "corner"), quantity.Short(1000*furthest, 6))
	return true
}

func meshCount(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}
