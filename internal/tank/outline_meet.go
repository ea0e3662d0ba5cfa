package tank

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// outlineMeet gives the points in which two edges' whole lines or circles meet.
// Circles and lines that miss each other by less than slack meet in one point.
func outlineMeet(e, f outlineEdge, slack float64) []r2.Vec {
	switch {
	case e.radius == 0 && f.radius == 0:
		u, v := r2.Sub(e.to, e.from), r2.Sub(f.to, f.from)
		cross := r2.Cross(u, v)
		if math.Abs(cross) <= 1e-12*r2.Norm(u)*r2.Norm(v) {
			return nil
		}
		return []r2.Vec{r2.Add(e.from, r2.Scale(r2.Cross(r2.Sub(f.from, e.from), v)/cross, u))}
	case e.radius == 0:
		u := r2.Unit(r2.Sub(e.to, e.from))
		return outlineChord(e.from, u, f.centre, f.radius, slack)
	case f.radius == 0:
		return outlineMeet(f, e, slack)
	}
	apart := r2.Sub(f.centre, e.centre)
	d := r2.Norm(apart)
	if d <= slack {
		return nil
	}
	// The common chord of two circles stands across the line of their centres. Of
	// the smaller circle rounding leaves a gap between the two what it is: seen
	// from the greater, R, a circle of r within it and δ away from it has the
	// chord δ·r/R outside, and that drowns in R's last digit long before δ does.
	if f.radius < e.radius {
		e, f, apart = f, e, r2.Scale(-1, apart)
	}
	u := r2.Scale(1/d, apart)
	foot := r2.Add(e.centre, r2.Scale(((d-f.radius)*(d+f.radius)+e.radius*e.radius)/(2*d), u))
	return outlineChord(foot, r2.Vec{X: -u.Y, Y: u.X}, e.centre, e.radius, slack)
}

// outlineChord gives where a line through a point along u meets a circle.
func outlineChord(point, u, centre r2.Vec, radius, slack float64) []r2.Vec {
	foot := r2.Add(point, r2.Scale(r2.Dot(r2.Sub(centre, point), u), u))
	off := r2.Norm(r2.Sub(foot, centre))
	if off > radius+slack {
		return nil
	}
	if off >= radius {
		return []r2.Vec{foot}
	}
	half := math.Sqrt((radius - off) * (radius + off))
	return []r2.Vec{r2.Add(foot, r2.Scale(-half, u)), r2.Add(foot, r2.Scale(half, u))}
}

// outlineGap gives the least distance between two edges, and where.
//
// It is 0 where they meet; else it is found at an end of one of them, or where
// both run the same way: on the line of two centres, or on the perpendicular
// from a centre to a line.
func outlineGap(e, f outlineEdge) (gap float64, where r2.Vec) {
	for _, p := range outlineMeet(e, f, 0) {
		if a, b := e.share(p), f.share(p); a >= 0 && a <= 1 && b >= 0 && b <= 1 {
			return 0, p
		}
	}
	gap = math.Inf(1)
	try := func(p, q r2.Vec) {
		if d := r2.Norm(r2.Sub(p, q)); d < gap {
			gap, where = d, r2.Scale(0.5, r2.Add(p, q))
		}
	}
	for _, p := range []r2.Vec{e.from, e.to} {
		try(p, f.nearest(p))
	}
	for _, p := range []r2.Vec{f.from, f.to} {
		try(p, e.nearest(p))
	}
	across := func(arc, other outlineEdge) {
		if arc.radius == 0 {
			return
		}
		q := other.nearest(arc.centre)
		if other.radius > 0 {
			q = other.centre
		}
		away := r2.Sub(q, arc.centre)
		if r2.Norm(away) == 0 {
			away = r2.Vec{X: 1}
		}
		for _, sign := range []float64{-1, 1} {
			p := arc.nearest(r2.Add(arc.centre, r2.Scale(sign, away)))
			try(p, other.nearest(p))
		}
	}
	across(e, f)
	across(f, e)
	return gap, where
}
