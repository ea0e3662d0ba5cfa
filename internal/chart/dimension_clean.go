package chart

import (
	"math"
	"strings"
)

// cleaned leaves out what can't be drawn.
func (s Dimensioned) cleaned() Dimensioned {
	place := func(p [2]float64) bool { return drawable(p[0]) && drawable(p[1]) }
	near := func(p [2]float64) bool { return math.Abs(p[0]) <= 2000 && math.Abs(p[1]) <= 2000 } // pixels
	turn := func(v float64) bool { return math.Abs(v) <= 3600 }
	var edges []Edge
	for _, e := range s.Edges {
		e.Points = keep(e.Points, place)
		if len(e.Points) < 2 {
			continue
		}
		if k, ok := looks[e.Role]; !ok || k.size > 0 {
			e.Role = Outline
		}
		edges = append(edges, e)
	}
	s.Edges = edges
	s.Dimensions = keep(s.Dimensions, func(d Dimension) bool { return place(d.From) && place(d.To) && near(d.Off) })
	s.Radii = keep(s.Radii, func(r Radius) bool {
		return place(r.Centre) && place(r.Tip) && r.Centre != r.Tip && math.Abs(r.Out) <= 2000
	})
	s.Angles = keep(s.Angles, func(a Angle) bool {
		return place(a.Vertex) && turn(a.From) && turn(a.To) && a.Radius > 0 && drawable(a.Radius)
	})
	s.Notes = keep(s.Notes, func(n Note) bool { return place(n.Tip) && near(n.Off) })
	s.Words = keep(s.Words, func(w Word) bool { return place(w.At) && near(w.Off) && w.Anchor >= Start && w.Anchor <= End })
	s.Axes = keep(s.Axes, func(a Axes) bool { return place(a.At) && near(a.Off) })
	s.Surfaces = keep(s.Surfaces, place)
	return s
}

// bounds gives the box around the places of a drawing, in mm.
func (s Dimensioned) bounds() (left, low, right, high float64) {
	var all [][2]float64
	for _, e := range s.Edges {
		all = append(all, e.Points...)
	}
	for _, d := range s.Dimensions {
		all = append(all, d.From, d.To)
	}
	for _, r := range s.Radii {
		all = append(all, r.Tip)
	}
	for _, a := range s.Angles {
		all = append(all, [2]float64{a.Vertex[0] - a.Radius, a.Vertex[1]}, [2]float64{a.Vertex[0] + a.Radius, a.Vertex[1]})
	}
	for _, n := range s.Notes {
		all = append(all, n.Tip)
	}
	for _, w := range s.Words {
		all = append(all, w.At)
	}
	for _, a := range s.Axes {
		all = append(all, a.At)
	}
	return bounds([][][2]float64{append(all, s.Surfaces...)})
}

// described names the sizes that the drawing shows.
func (s Dimensioned) described() string {
	var names []string
	add := func(label string) {
		for _, n := range names {
			if n == label {
				return
			}
		}
		if label != "" {
			names = append(names, label)
		}
	}
	for _, d := range s.Dimensions {
		add(d.Label)
	}
	for _, r := range s.Radii {
		add(r.Label)
	}
	for _, a := range s.Angles {
		add(a.Label)
	}
	if len(names) == 0 {
		return "A drawing without dimensions."
	}
	return "A drawing with these dimensions: " + strings.Join(names, ", ") + "."
}
