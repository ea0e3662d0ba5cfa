package tank

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// outlineEdge is a straight edge, or with a radius above 0 an arc: it starts at
// the angle start as seen from its centre and turns by sweep, counter-clockwise
// where that is positive. first and last are the vertices it was made of,
// counting from 1; of a rounding both are the vertex that is rounded.
type outlineEdge struct {
	from, to      r2.Vec
	centre        r2.Vec
	radius        float64
	start, sweep  float64
	first, last   int
	roundedCorner bool
}

// String names the edge for an error.
func (e outlineEdge) String() string {
	switch {
	case e.roundedCorner:
		return fmt.Sprintf("the rounding of vertex %d", e.first)
	case e.radius > 0:
		return fmt.Sprintf("the arc from vertex %d to vertex %d", e.first, e.last)
	}
	return fmt.Sprintf("the edge from vertex %d to vertex %d", e.first, e.last)
}

// bend makes the edge an arc through a point; false where the point lies on the
// straight line, or at an end.
func (e *outlineEdge) bend(through r2.Vec) bool {
	// From the chord's start: the centre is equally far from all three points.
	c, p := r2.Sub(e.to, e.from), r2.Sub(through, e.from)
	cross := r2.Cross(c, p)
	longest := max(r2.Norm(c), r2.Norm(p))
	if math.Abs(cross) <= 1e-9*longest*longest {
		return false
	}
	c2, p2 := r2.Norm2(c), r2.Norm2(p)
	middle := r2.Scale(1/(2*cross), r2.Vec{X: c2*p.Y - p2*c.Y, Y: p2*c.X - c2*p.X})
	e.centre, e.radius = r2.Add(e.from, middle), r2.Norm(middle)
	e.start = outlineAngle(r2.Sub(e.from, e.centre))
	turn := outlineAngle(r2.Sub(e.to, e.centre)) - e.start
	// A point to the right of the chord is reached counter-clockwise.
	if cross < 0 {
		e.sweep = outlinePositive(turn)
	} else {
		e.sweep = -outlinePositive(-turn)
	}
	return true
}

func outlineAngle(v r2.Vec) float64 { return math.Atan2(v.Y, v.X) }

// outlinePositive brings an angle into [0, 2π).
func outlinePositive(a float64) float64 {
	if a = math.Mod(a, 2*math.Pi); a < 0 {
		a += 2 * math.Pi
	}
	return a
}

// outlineSigned brings an angle into [−π, π].
func outlineSigned(a float64) float64 { return math.Remainder(a, 2*math.Pi) }

func (e outlineEdge) reversed() outlineEdge {
	e.from, e.to, e.first, e.last = e.to, e.from, e.last, e.first
	e.start, e.sweep = e.start+e.sweep, -e.sweep
	return e
}

func (e outlineEdge) length() float64 {
	if e.radius > 0 {
		return e.radius * math.Abs(e.sweep)
	}
	return r2.Norm(r2.Sub(e.to, e.from))
}

// at gives the point at a share of the way along the edge.
func (e outlineEdge) at(share float64) r2.Vec {
	switch {
	case share == 0:
		return e.from
	case share == 1:
		return e.to
	case e.radius > 0:
		return e.round(e.start + share*e.sweep)
	}
	return r2.Add(e.from, r2.Scale(share, r2.Sub(e.to, e.from)))
}

// round gives the point of an arc's circle at an angle.
func (e outlineEdge) round(angle float64) r2.Vec {
	s, c := math.Sincos(angle)
	return r2.Add(e.centre, r2.Vec{X: e.radius * c, Y: e.radius * s})
}

// heading gives the direction in which the edge runs at its start or its end.
func (e outlineEdge) heading(end bool) r2.Vec {
	if e.radius == 0 {
		return r2.Unit(r2.Sub(e.to, e.from))
	}
	p := e.from
	if end {
		p = e.to
	}
	out := r2.Unit(r2.Sub(p, e.centre))
	return r2.Scale(math.Copysign(1, e.sweep), r2.Vec{X: -out.Y, Y: out.X})
}

// share says how far along the edge the point nearest to p on its whole line or
// circle lies; between 0 and 1 it is on the edge.
func (e outlineEdge) share(p r2.Vec) float64 {
	if e.radius == 0 {
		along := r2.Sub(e.to, e.from)
		return r2.Dot(r2.Sub(p, e.from), along) / r2.Norm2(along)
	}
	turn := outlineAngle(r2.Sub(p, e.centre)) - e.start
	if e.sweep < 0 {
		turn = -turn
	}
	sweep := math.Abs(e.sweep)
	// What lies on neither side of the arc is before its start or behind its
	// end, whichever is nearer.
	turn = outlinePositive(turn)
	if turn > sweep && turn-sweep > 2*math.Pi-turn {
		turn -= 2 * math.Pi
	}
	return turn / sweep
}

// nearest gives the point of the edge nearest to p.
func (e outlineEdge) nearest(p r2.Vec) r2.Vec {
	if e.radius > 0 && p == e.centre {
		return e.from
	}
	return e.at(min(1, max(0, e.share(p))))
}

// extremes gives the shares, within the edge, at which it is furthest along a
// direction or against it.
func (e outlineEdge) extremes(direction r2.Vec) []r2.Vec {
	points := []r2.Vec{e.from, e.to}
	if e.radius > 0 {
		for _, sign := range []float64{-1, 1} {
			p := r2.Add(e.centre, r2.Scale(sign*e.radius, direction))
			if s := e.share(p); s > 0 && s < 1 {
				points = append(points, p)
			}
		}
	}
	return points
}

// outlineBox gives the corners of the box around edges.
func outlineBox(edges []outlineEdge) (low, high r2.Vec) {
	inf := math.Inf(1)
	low, high = r2.Vec{X: inf, Y: inf}, r2.Vec{X: -inf, Y: -inf}
	for _, e := range edges {
		for _, p := range e.extremes(r2.Vec{X: 1}) {
			low.X, high.X = min(low.X, p.X), max(high.X, p.X)
		}
		for _, p := range e.extremes(r2.Vec{Y: 1}) {
			low.Y, high.Y = min(low.Y, p.Y), max(high.Y, p.Y)
		}
	}
	return low, high
}

// outlineSize is the diagonal of the box around edges.
func outlineSize(edges []outlineEdge) float64 {
	low, high := outlineBox(edges)
	return r2.Norm(r2.Sub(high, low))
}
