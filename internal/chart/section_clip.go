package chart

import (
	"math"
	"sort"
)

// clipped cuts loops by a horizontal line of the drawing and gives what lies at
// or under it, or at or over it. Each loop is cut by itself and closed along the line; where
// that joins separate parts, the joints lie on the line and enclose nothing, so
// that the inside by the even-odd rule, and the area, are right for outlines of
// any form. The loops given stay as they are.
func clipped(loops [][]Point, y float64, under bool) [][]Point {
	inside := func(p Point) bool { return (p.Y >= y) == under || p.Y == y }
	var out [][]Point
	for _, loop := range loops {
		var cut []Point
		for i, q := range loop {
			p := loop[(i+len(loop)-1)%len(loop)]
			if inside(p) != inside(q) {
				cut = append(cut, Point{p.X + (q.X-p.X)*((y-p.Y)/(q.Y-p.Y)), y})
			}
			if inside(q) {
				cut = append(cut, q)
			}
		}
		if len(cut) >= 3 {
			out = append(out, cut)
		}
	}
	return out
}

// chords gives the stretches of a horizontal line that lie within loops, from
// left to right.
func chords(loops [][]Point, y float64) [][2]float64 {
	var xs []float64
	for _, loop := range loops {
		for i, p := range loop {
			q := loop[(i+1)%len(loop)]
			if (p.Y <= y) != (q.Y <= y) {
				xs = append(xs, p.X+(q.X-p.X)*((y-p.Y)/(q.Y-p.Y)))
			}
		}
	}
	sort.Float64s(xs)
	var out [][2]float64
	for i := 0; i+1 < len(xs); i += 2 {
		switch n := len(out); {
		case n > 0 && xs[i]-out[n-1][1] < 1e-6: // the same stretch, or they touch
			out[n-1][1] = xs[i+1]
		case xs[i+1]-xs[i] > 1e-6:
			out = append(out, [2]float64{xs[i], xs[i+1]})
		}
	}
	return out
}

// widestChord gives the longest of some stretches.
func widestChord(list [][2]float64) (c [2]float64, ok bool) {
	for _, k := range list {
		if !ok || k[1]-k[0] > c[1]-c[0] {
			c, ok = k, true
		}
	}
	return c, ok
}

// bounds gives the box around loops; empty where there are none.
func bounds(loops [][][2]float64) (left, low, right, high float64) {
	left, low, right, high = math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	for _, loop := range loops {
		for _, p := range loop {
			left, right = min(left, p[0]), max(right, p[0])
			low, high = min(low, p[1]), max(high, p[1])
		}
	}
	return left, low, right, high
}

// thinned leaves out points of a polyline in any direction that lie within a
// twentieth of a pixel of the straight line between those kept. The first and
// the last stay; a closed one is thinned from its first point round.
func thinned(points []Point) []Point {
	const near = 0.05
	if len(points) < 3 {
		return points
	}
	out := []Point{points[0]}
	from := 0
	for to := 2; to < len(points); to++ {
		for k := from + 1; k < to; k++ {
			if apart(points[k], points[from], points[to]) > near || to-from > 64 {
				out, from = append(out, points[to-1]), to-1
				break
			}
		}
	}
	return append(out, points[len(points)-1])
}

// apart gives the distance of p from the stroke from a to b.
func apart(p, a, b Point) float64 {
	dx, dy := b.X-a.X, b.Y-a.Y
	t := 0.0
	if l := dx*dx + dy*dy; l > 0 {
		t = min(1, max(0, ((p.X-a.X)*dx+(p.Y-a.Y)*dy)/l))
	}
	return math.Hypot(p.X-a.X-t*dx, p.Y-a.Y-t*dy)
}

// areas draws closed outlines as one shape, filled by the even-odd rule where
// its role is.
func (p *pen) areas(r Role, loops [][]Point) {
	var steps []Step
	for _, loop := range loops {
		if len(loop) < 3 {
			continue
		}
		for i, q := range loop {
			kind := Line
			if i == 0 {
				kind = Move
			}
			steps = append(steps, Step{Kind: kind, To: q})
		}
		steps = append(steps, Step{Kind: Close})
	}
	if len(steps) > 0 {
		p.shapes = append(p.shapes, Path{r, steps})
	}
}
