package tank

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
)

// outlineWall is a stretch of an edge that only rises or only falls along v, the
// second of two axes (u, v) in the outline's plane. rise is +1 or −1, or 0 where
// it runs level. Of a straight stretch u = uLow + slope·(v − low); of an arc
// u = centreU + side·w, with w² = r² − (v − centreV)².
type outlineWall struct {
	low, high        float64 // v at its ends
	uLow, uHigh      float64
	rise             float64
	slope            float64
	radius           float64 // 0 where straight
	centreU, centreV float64
	side             float64
}

// outlineWalls are the stretches of a whole outline; their ends have few
// different v.
type outlineWalls []outlineWall

// newOutlineWalls cuts edges into stretches along the direction v, a unit
// vector, measured from a point. u runs to the right of v.
func newOutlineWalls(edges []outlineEdge, from, v r2.Vec) outlineWalls {
	u := r2.Vec{X: v.Y, Y: -v.X}
	var walls outlineWalls
	flat := func(p r2.Vec) r2.Vec {
		p = r2.Sub(p, from)
		return r2.Vec{X: r2.Dot(p, u), Y: r2.Dot(p, v)}
	}
	lean := math.Atan2(u.Y, u.X)
	for _, e := range edges {
		a, b := flat(e.from), flat(e.to)
		if e.radius == 0 {
			walls = append(walls, outlineStretch(a, b))
			continue
		}
		c := flat(e.centre)
		// Cut at the highest and lowest points of the circle. A cut within
		// rounding of an end would leave a stretch of nothing.
		start := e.start - lean
		const near = 1e-8
		low, high := min(start, start+e.sweep)+near, max(start, start+e.sweep)-near
		var cuts []float64
		for k := math.Ceil((low - math.Pi/2) / math.Pi); ; k++ {
			angle := math.Pi/2 + k*math.Pi
			if angle > high {
				break
			}
			cuts = append(cuts, angle)
		}
		if e.sweep < 0 {
			slices.Reverse(cuts)
		}
		p, at := a, start
		for k := 0; k <= len(cuts); k++ {
			q, end := b, start+e.sweep
			if k < len(cuts) {
				end = cuts[k]
				q = r2.Vec{X: c.X, Y: c.Y + math.Copysign(e.radius, math.Sin(end))}
			}
			w := outlineStretch(p, q)
			w.radius, w.centreU, w.centreV = e.radius, c.X, c.Y
			w.side = math.Copysign(1, math.Cos((at+end)/2))
			// The sign of the middle's tangent, which rounding doesn't reach.
			w.rise = w.side * math.Copysign(1, e.sweep)
			if w.rise > 0 {
				w.low, w.high, w.uLow, w.uHigh = p.Y, max(p.Y, q.Y), p.X, q.X
			} else {
				w.low, w.high, w.uLow, w.uHigh = q.Y, max(p.Y, q.Y), q.X, p.X
			}
			walls = append(walls, w)
			p, at = q, end
		}
	}
	walls.gather()
	return walls
}

// outlineStretch is a straight stretch.
func outlineStretch(a, b r2.Vec) outlineWall {
	w := outlineWall{low: a.Y, high: b.Y, uLow: a.X, uHigh: b.X, rise: 1}
	if a.Y > b.Y {
		w = outlineWall{low: b.Y, high: a.Y, uLow: b.X, uHigh: a.X, rise: -1}
	}
	return w
}

// gather makes ends one that differ by rounding only, so that what is level
// counts as level, and works out the slopes.
func (walls outlineWalls) gather() {
	var ends []float64
	var most float64
	for _, w := range walls {
		ends = append(ends, w.low, w.high)
		most = max(most, math.Abs(w.low), math.Abs(w.high), math.Abs(w.uLow), math.Abs(w.uHigh))
	}
	slices.Sort(ends)
	few := ends[:0:0]
	for i, v := range ends {
		if i == 0 || v-few[len(few)-1] > 1e-14*most {
			few = append(few, v)
		}
	}
	one := func(v float64) float64 {
		i, found := slices.BinarySearch(few, v)
		if found {
			return v
		}
		return few[i-1]
	}
	for i := range walls {
		w := &walls[i]
		w.low, w.high = one(w.low), one(w.high)
		switch {
		case w.low == w.high:
			if w.rise < 0 { // keep the way it runs: from uLow to uHigh
				w.uLow, w.uHigh = w.uHigh, w.uLow
			}
			w.rise, w.radius = 0, 0
		case w.radius == 0:
			w.slope = (w.uHigh - w.uLow) / (w.high - w.low)
		}
	}
}

// at gives u at a level within the stretch.
func (w *outlineWall) at(v float64) float64 {
	if w.radius == 0 {
		return w.uLow + w.slope*(v-w.low)
	}
	y := v - w.centreV
	return w.centreU + w.side*math.Sqrt(max(0, (w.radius-y)*(w.radius+y)))
}

// ends gives the different levels at which stretches end, rising.
func (walls outlineWalls) ends() []float64 {
	var ends []float64
	for _, w := range walls {
		ends = append(ends, w.low, w.high)
	}
	slices.Sort(ends)
	return slices.Compact(ends)
}
