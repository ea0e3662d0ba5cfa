package chart_test

import (
	"math"

	"gaugewright/internal/chart"
)

// Parts of the handbook's drawings. All sizes in them are invented.

type place = [2]float64

func seen(points ...place) chart.Edge {
	return chart.Edge{Role: chart.Outline, Points: points, Closed: true}
}

func open(r chart.Role, points ...place) chart.Edge { return chart.Edge{Role: r, Points: points} }

func round(r chart.Role, x, y, radius float64) chart.Edge {
	return chart.Edge{Role: r, Points: bow(x, y, radius, radius, 0, 352.5), Closed: true}
}

func boxAt(x, y, w, h float64) []place {
	return []place{{x, y}, {x + w, y}, {x + w, y + h}, {x, y + h}}
}

// cross gives the centre lines of a round part, a little longer than it.
func cross(x, y, rx, ry float64) []chart.Edge {
	return []chart.Edge{
		open(chart.Centre, place{x - rx, y}, place{x + rx, y}),
		open(chart.Centre, place{x, y - ry}, place{x, y + ry}),
	}
}

func across(x1, x2, y, off float64, label string) chart.Dimension {
	return chart.Dimension{From: place{x1, y}, To: place{x2, y}, Off: place{0, off}, Measure: chart.Horizontal, Label: label}
}

func upward(y1, y2, x, off float64, label string) chart.Dimension {
	return chart.Dimension{From: place{x, y1}, To: place{x, y2}, Off: place{off, 0}, Measure: chart.Vertical, Label: label}
}

func caption(x, y float64, a chart.Anchor, text string) chart.Word {
	return chart.Word{At: place{x, y}, Anchor: a, Role: chart.Caption, Text: text}
}

// head gives the inside profile of a head over a diameter that lies along the
// horizontal, its pole up, from the right to the left, and its depth. Of the
// torispherical ones: crown and knuckle radii.
func head(diameter, crown, knuckle float64) (profile []place, depth float64) {
	c := diameter/2 - knuckle
	s := math.Sqrt((crown-knuckle)*(crown-knuckle) - c*c)
	turn := math.Asin(c/(crown-knuckle)) * 180 / math.Pi
	return joined(bow(c, 0, knuckle, knuckle, 0, 90-turn), bow(0, -s, crown, crown, 90-turn, 90+turn), bow(-c, 0, knuckle, knuckle, 90+turn, 180)), crown - s
}

// moved sets points elsewhere.
func moved(points []place, dx, dy float64) []place {
	out := make([]place, len(points))
	for i, p := range points {
		out[i] = place{p[0] + dx, p[1] + dy}
	}
	return out
}

// viewpoint looks at a solid from starboard, turned towards the bow and raised,
// both in degrees; lengths along lines of one direction keep their ratios.
type viewpoint struct{ toBow, raised float64 }

type corner struct{ x, y, z float64 } // x forward, y to port, z up

func (v viewpoint) axes() (right, up, out corner) {
	sa, ca := math.Sincos(v.toBow * math.Pi / 180)
	se, ce := math.Sincos(v.raised * math.Pi / 180)
	return corner{ca, sa, 0}, corner{-se * sa, se * ca, ce}, corner{ce * sa, -ce * ca, se}
}

func (a corner) dot(b corner) float64 { return a.x*b.x + a.y*b.y + a.z*b.z }

func (v viewpoint) see(p corner) place {
	right, up, _ := v.axes()
	return place{right.dot(p), up.dot(p)}
}

func (v viewpoint) line(r chart.Role, corners ...corner) chart.Edge {
	e := chart.Edge{Role: r}
	for _, c := range corners {
		e.Points = append(e.Points, v.see(c))
	}
	return e
}

// off gives an offset in pixels along a direction of the solid.
func (v viewpoint) off(d corner, pixels float64) place {
	p := v.see(d)
	l := math.Hypot(p[0], p[1])
	return place{p[0] / l * pixels, p[1] / l * pixels}
}

// slab draws the twelve edges of a box, those behind dashed.
func (v viewpoint) slab(from, to corner) []chart.Edge {
	a, b := from, to
	return []chart.Edge{
		v.line(chart.Hidden, corner{a.x, b.y, b.z}, corner{a.x, b.y, a.z}, corner{a.x, a.y, a.z}),
		v.line(chart.Hidden, corner{a.x, b.y, a.z}, corner{b.x, b.y, a.z}),
		v.line(chart.Outline, a, corner{b.x, a.y, a.z}, corner{b.x, a.y, b.z}, corner{a.x, a.y, b.z}, a),
		v.line(chart.Outline, corner{b.x, a.y, a.z}, corner{b.x, b.y, a.z}, b, corner{b.x, a.y, b.z}),
		v.line(chart.Outline, corner{a.x, a.y, b.z}, corner{a.x, b.y, b.z}, b),
	}
}
