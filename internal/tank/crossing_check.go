package tank

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

// crossingBeside gives a point a step outside the middle of a triangle.
func crossingBeside(f Facets, i int32, step float64) r3.Vec {
	t := f.Triangles[i]
	a, b, c := f.Corners[t[0]], f.Corners[t[1]], f.Corners[t[2]]
	middle := r3.Scale(1./3, r3.Add(a, r3.Add(b, c)))
	return r3.Add(middle, r3.Scale(step, r3.Unit(r3.Cross(r3.Sub(b, a), r3.Sub(c, a)))))
}

// crossings refuses a mesh that goes through itself.
func (c *meshCheck) crossings() error {
	s := newCrossingSearch(c.facets, c.digits)
	if !s.run() {
		c.say("Whether the mesh crosses itself was looked at in part only: its triangles are long needles, too many of them side by side.")
	}
	if len(s.found) == 0 {
		return nil
	}
	first := slices.MinFunc(s.found, func(p, q crossingPair) int {
		return cmp.Or(cmp.Compare(p.a, q.a), cmp.Compare(p.b, q.b))
	})
	many := meshCount(len(s.found), "pair")
	if len(s.found) >= crossingMost {
		many = fmt.Sprintf("%d pairs or more", crossingMost)
	}
	return fmt.Errorf("the mesh crosses itself: %s of triangles, at first %d and %d, near %s; %s",
		many, c.number[first.a], c.number[first.b], c.place(first.at), crossingCure)
}

const crossingCure = "expected a surface that doesn't; unite the bodies in the drawing program and export again"

// crossingSamples is how many triangles the winding is looked at: as many as
// take a few tenths of a second.
const crossingSamples = 20_000

// crossingVisits is the most boxes and triangles that are looked at for that.
const crossingVisits = 15_000_000

// windings refuses a mesh that winds twice round some point, as where two
// bodies have a wall in common, or one goes through another along edges only.
// It looks just outside and just inside the middles of triangles spread over
// all.
func (c *meshCheck) windings() error {
	tree := newCrossingTree(c.facets)
	step, visits := 1+(len(c.facets.Triangles)-1)/crossingSamples, 0
	for i := 0; i < len(c.facets.Triangles) && visits < crossingVisits; i += step {
		t := c.facets.Triangles[i]
		u, v := r3.Sub(c.corner(t[1]), c.corner(t[0])), r3.Sub(c.corner(t[2]), c.corner(t[0]))
		longest := math.Sqrt(max(r3.Norm2(u), r3.Norm2(v), r3.Norm2(r3.Sub(u, v))))
		if r3.Norm(r3.Cross(u, v)) <= 8*c.digits*longest {
			continue // a needle, whose normal tells nothing
		}
		for _, side := range []float64{4, -4} {
			w, looks := tree.wind(crossingBeside(c.facets, int32(i), side*c.digits))
			if visits += looks; w != 0 && w != 1 {
				return fmt.Errorf("the mesh overlaps itself at triangle %d, near %s; %s",
					c.number[i], c.place(c.middle(int32(i))), crossingCure)
			}
		}
	}
	return nil
}
