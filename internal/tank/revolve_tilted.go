package tank

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

// revolveTiltedCut cuts any body of revolution by levels in any direction but
// square to its axis.
//
// In the plane through the axis and up, with t along the axis and s across it,
// the level is the line (t, s) = d(m, n) + l(n, −m), l the distance along it. A
// section of the body at t is a disc, of which the part below s(l) is wet. The
// line's crossings with the profile part l into stretches where the disc is
// dry, full, or cut. Full ones have a closed form; over cut ones the segments
// of the disc are integrated by l, which is well conditioned at every tilt.
type revolveTiltedCut struct {
	revolveFrame
	spans      [][2]float64 // of each piece
	full       []float64    // the volume of each piece
	capacity   float64
	tolVolume  float64
	tolSurface float64
}

func newRevolveTiltedCut(f revolveFrame) *revolveTiltedCut {
	c := &revolveTiltedCut{revolveFrame: f}
	var rough, widest, length float64
	for i := range f.pieces {
		p := &f.pieces[i]
		low, high := -p.reach(-f.m, f.n), p.reach(f.m, f.n)
		c.spans = append(c.spans, [2]float64{low, high})
		v := p.volume(p.from, p.to)
		rough += v
		if p.inner {
			v = -v
		}
		c.full = append(c.full, v)
		c.capacity += v
		widest = max(widest, p.reach(0, 1))
		length = max(length, p.to-p.from)
	}
	// A ring's pieces are larger than the ring: no more than their rounding.
	c.tolVolume = max(1e-13*c.capacity, 1e-14*rough)
	c.tolSurface = 1e-12 * widest * math.Hypot(widest, length)
	return c
}

func (c *revolveTiltedCut) Span() (low, high float64) { return c.low, c.high }

func (c *revolveTiltedCut) Below(d float64) (volume, surface float64) {
	switch {
	case !(d > c.low):
		return 0, 0
	case d >= c.high:
		return c.capacity, 0
	}
	for i := range c.pieces {
		p := &c.pieces[i]
		switch {
		case d >= c.spans[i][1]:
			volume += c.full[i]
		case d > c.spans[i][0]:
			v, s := c.pieceBelow(p, d)
			if p.inner {
				v, s = -v, -s
			}
			volume, surface = volume+v, surface+s
		}
	}
	return min(c.capacity, max(0, volume)), max(0, surface)
}

// pieceBelow gives volume and surface of one piece, as if it stood alone.
func (c *revolveTiltedCut) pieceBelow(p *revolvePiece, d float64) (volume, surface float64) {
	m, n := c.m, c.n
	if p.kind == revolveLine && p.first == p.last {
		rho, length := p.first, p.to-p.from
		if m == 0 {
			area, half := revolveSegment(rho, d)
			return area * length, 2 * half * length
		}
		// The sum of segments from s2 to s1, in closed form. Where the tilt is
		// slight that is the small difference of two large sums: better
		// integrated.
		if m*length > 1e-3*n*rho {
			s1, s2 := (d-m*p.from)/n, (d-m*p.to)/n
			a1, _ := revolveSegment(rho, s1)
			a2, _ := revolveSegment(rho, s2)
			return n / m * (revolveSegmentSum(rho, s1) - revolveSegmentSum(rho, s2)), (a1 - a2) / m
		}
	}
	if m == 0 && p.kind == revolveEllipse && p.halfHead() {
		h, b, r := p.across+d, p.along, p.across
		return math.Pi / 6 * b / r * h * h * (2*r - d), math.Pi / 2 * b / r * h * (r - d)
	}
	var at [revolveMost]float64
	for k, marks := 1, c.marks(p, d, at[:0]); k < len(marks); k++ {
		a, b := marks[k-1], marks[k]
		switch c.state(p, d, a, b) {
		case revolveFull:
			volume += p.volume(p.hold(d*m+a*n), p.hold(d*m+b*n))
		case revolveCutThrough:
			v, s := quadratureEnds(func(l float64) (float64, float64) {
				area, half := revolvePart(p.radius(d*m+l*n), d*n-l*m)
				return n * area, 2 * half
			}, a, b, c.tolVolume, c.tolSurface)
			volume, surface = volume+v, surface+s
		}
	}
	return volume, surface
}

// halfHead says whether the piece is half an ellipsoid, from foot to pole.
func (p *revolvePiece) halfHead() bool {
	return p.from == p.centre && p.to == p.centre+p.along || p.to == p.centre && p.from == p.centre-p.along
}

// hold holds t within the piece.
func (p *revolvePiece) hold(t float64) float64 { return min(p.to, max(p.from, t)) }

// revolvePart is [revolveSegment] without its care for small areas, which the
// integral has no use for, and at less cost.
func revolvePart(radius, s float64) (area, half float64) {
	q := (radius - s) * (radius + s)
	if !(q > 0) {
		if s > 0 {
			return math.Pi * radius * radius, 0
		}
		return 0, 0
	}
	half = math.Sqrt(q)
	return radius*radius*(math.Pi/2+math.Atan(s/half)) + s*half, half
}

const revolveMost = 8 // both ends and four crossings, with room

const (
	revolveDry = iota
	revolveFull
	revolveCutThrough
)

// marks gives in rising order the ends of the stretches of l over a piece.
func (c *revolveTiltedCut) marks(p *revolvePiece, d float64, list []float64) []float64 {
	a, b := (p.from-d*c.m)/c.n, (p.to-d*c.m)/c.n
	list = p.crossings(d, c.m, c.n, append(list, a, b))
	slices.Sort(list)
	i, j := 0, len(list)
	for i < j && list[i] < a {
		i++
	}
	for j > i && list[j-1] > b {
		j--
	}
	return list[i:j]
}

// state says how the discs between two marks are wetted. Two are looked at, and
// neither is the middle one: there the line may touch the profile without
// crossing it. Where they differ the integral finds out.
func (c *revolveTiltedCut) state(p *revolvePiece, d, a, b float64) int {
	one, two := c.disc(p, d, a+0.382*(b-a)), c.disc(p, d, a+0.719*(b-a))
	if one != two {
		return revolveCutThrough
	}
	return one
}

// disc says how the disc at l is wetted.
func (c *revolveTiltedCut) disc(p *revolvePiece, d, l float64) int {
	s, rho := d*c.n-l*c.m, p.radius(d*c.m+l*c.n)
	switch {
	case s >= rho:
		return revolveFull
	case s <= -rho:
		return revolveDry
	}
	return revolveCutThrough
}

// Moment integrates along the axis the levers of the segments, and across it
// their own moments, −2/3 of the cube of half the chord.
func (c *revolveTiltedCut) Moment(d float64) r3.Vec {
	d = min(c.high, max(c.low, d))
	m, n := c.m, c.n
	tol := c.tolVolume * max(math.Abs(c.low), math.Abs(c.high))
	var along, across float64
	var at [revolveMost]float64
	for i := range c.pieces {
		p := &c.pieces[i]
		sign := 1.0
		if p.inner {
			sign = -1
		}
		for k, marks := 1, c.marks(p, d, at[:0]); k < len(marks); k++ {
			a, b := marks[k-1], marks[k]
			switch c.state(p, d, a, b) {
			case revolveFull:
				along += sign * p.lever(p.hold(d*m+a*n), p.hold(d*m+b*n))
			case revolveCutThrough:
				u, v := quadratureEnds(func(l float64) (float64, float64) {
					t := d*m + l*n
					area, half := revolvePart(p.radius(t), d*n-l*m)
					return n * t * area, -2.0 / 3 * n * half * half * half
				}, a, b, tol, tol)
				along, across = along+sign*u, across+sign*v
			}
		}
	}
	return r3.Add(r3.Scale(along, c.along), r3.Scale(across, c.across))
}
