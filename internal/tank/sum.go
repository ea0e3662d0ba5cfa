package tank

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// Sum is several solids with one level in all of them: tanks joined at the
// bottom and open to each other above, the parts of a stack, or a tank without
// what is built into it. The parts of Plus don't overlap, and those of Minus lie
// within them; Check looks for what breaks that.
type Sum struct {
	Plus, Minus []Solid
}

// Box gives the corners of the box around what is added.
func (s Sum) Box() (low, high r3.Vec) {
	inf := math.Inf(1)
	low, high = r3.Vec{X: inf, Y: inf, Z: inf}, r3.Vec{X: -inf, Y: -inf, Z: -inf}
	for _, p := range s.Plus {
		l, h := p.Box()
		low = r3.Vec{X: min(low.X, l.X), Y: min(low.Y, l.Y), Z: min(low.Z, l.Z)}
		high = r3.Vec{X: max(high.X, h.X), Y: max(high.Y, h.Y), Z: max(high.Z, h.Z)}
	}
	return low, high
}

// Cut cuts every part.
func (s Sum) Cut(up r3.Vec) (Cut, error) {
	c := sumCut{low: math.Inf(1), high: math.Inf(-1)}
	for i, p := range append(append([]Solid(nil), s.Plus...), s.Minus...) {
		cut, err := p.Cut(up)
		if err != nil {
			return nil, err
		}
		c.cuts = append(c.cuts, cut)
		if i < len(s.Plus) {
			low, high := cut.Span()
			c.low, c.high = min(c.low, low), max(c.high, high)
			c.plus++
		}
	}
	return c, nil
}

// Contains says whether a point lies in what is added and not in what is taken
// away.
func (s Sum) Contains(p r3.Vec) bool {
	for _, m := range s.Minus {
		if m.Contains(p) {
			return false
		}
	}
	for _, a := range s.Plus {
		if a.Contains(p) {
			return true
		}
	}
	return false
}

// Facets gives those of all parts, the ones taken away turned inward.
func (s Sum) Facets(tolerance float64) Facets {
	var all Facets
	add := func(f Facets, inward bool) {
		base := int32(len(all.Corners))
		all.Corners = append(all.Corners, f.Corners...)
		for _, t := range f.Triangles {
			if inward {
				t[1], t[2] = t[2], t[1]
			}
			all.Triangles = append(all.Triangles, [3]int32{t[0] + base, t[1] + base, t[2] + base})
		}
	}
	for _, p := range s.Plus {
		add(p.Facets(tolerance), false)
	}
	for _, m := range s.Minus {
		add(m.Facets(tolerance), true)
	}
	return all
}

// sumCut is the cuts of all parts, those that are added first.
type sumCut struct {
	cuts      []Cut
	plus      int
	low, high float64
}

func (c sumCut) Span() (low, high float64) { return c.low, c.high }

func (c sumCut) Below(d float64) (volume, surface float64) {
	for i, cut := range c.cuts {
		v, s := cut.Below(d)
		if i >= c.plus {
			v, s = -v, -s
		}
		volume, surface = volume+v, surface+s
	}
	return volume, surface
}

func (c sumCut) Moment(d float64) (m r3.Vec) {
	for i, cut := range c.cuts {
		if i < c.plus {
			m = r3.Add(m, cut.Moment(d))
		} else {
			m = r3.Sub(m, cut.Moment(d))
		}
	}
	return m
}
