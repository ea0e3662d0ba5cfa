package tank

import (
	"cmp"
	"slices"
)

// outlineBands answers how much of an outline lies below a line v = c. With the
// boundary run through counter-clockwise and only where v < c,
//
//	Tk(c) = ∮ (c−v)^k/k! du      Uk(c) = ∮ u·(c−v)^k/k! du
//
// are by Green's theorem: T0 the length of the line within, T1 the area below
// it, T2 = ∫T1 dc, T3 = ∫T2 dc; U1 the first moment ∫u dA, U2 = ∫U1 dc. The
// other first moment is ∫v dA = c·T1 − T2.
//
// Between the levels at which edges end, what straight edges contribute is a
// polynomial in c, and each arc contributes closed terms, so that an answer
// costs a search and a term for each arc that the line crosses.
type outlineBands struct {
	level []float64     // where bands begin, rising; the last one is above all
	band  []outlineBand // one for each level
	bow   []outlineBow  // the arcs crossed, band after band
}

// outlineBand holds Tk and Uk at its beginning, and what crosses it.
type outlineBand struct {
	t           [4]float64
	u           [3]float64
	s0          float64 // Σ rise·slope of the straight edges that cross it
	s1, s2      float64 // Σ rise·slope·u, Σ rise·slope²
	first, last int     // its arcs
}

// newOutlineBands prepares the answers, working upward from nothing.
func newOutlineBands(walls outlineWalls) *outlineBands {
	b := &outlineBands{level: walls.ends()}
	rising := slices.Clone(walls)
	slices.SortStableFunc(rising, func(v, w outlineWall) int { return cmp.Compare(v.low, w.low) })
	var crossing []outlineWall
	var t [4]float64
	var u [3]float64
	for i, v := range b.level {
		for ; len(rising) > 0 && rising[0].low == v; rising = rising[1:] {
			if w := rising[0]; w.rise != 0 {
				crossing = append(crossing, w)
			} else {
				t[0] += w.uHigh - w.uLow
				u[0] += (w.uHigh - w.uLow) * (w.uHigh + w.uLow) / 2
			}
		}
		crossing = slices.DeleteFunc(crossing, func(w outlineWall) bool { return w.high <= v })
		band := outlineBand{t: t, u: u, first: len(b.bow)}
		if i == len(b.level)-1 {
			// The outline is closed: what is left of its length is rounding.
			band.t[0], band.u[0], band.last = 0, 0, band.first
			b.band = append(b.band, band)
			break
		}
		next := b.level[i+1]
		var ends []float64 // w of the arcs at the band's end
		for k := range crossing {
			w := &crossing[k]
			if w.radius > 0 {
				b.bow, ends = append(b.bow, newOutlineBow(w, v)), append(ends, w.half(next))
				continue
			}
			at := w.at(v)
			band.s0 += w.rise * w.slope
			band.s1 += w.rise * w.slope * at
			band.s2 += w.rise * w.slope * w.slope
		}
		band.last = len(b.bow)
		b.band = append(b.band, band)
		t, u = band.straight(next - v)
		for k, w := range ends {
			q := &b.bow[band.first+k]
			q.add(next-q.centreV, next-v, w, &t, &u)
		}
	}
	return b
}

// straight gives Tk and Uk without the arcs at a height x above the band's
// beginning.
func (b *outlineBand) straight(x float64) (t [4]float64, u [3]float64) {
	x2 := x * x / 2
	x3, x4 := x2*x/3, x2*x*x/12
	t[0] = b.t[0] + b.s0*x
	t[1] = b.t[1] + b.t[0]*x + b.s0*x2
	t[2] = b.t[2] + b.t[1]*x + b.t[0]*x2 + b.s0*x3
	t[3] = b.t[3] + b.t[2]*x + b.t[1]*x2 + b.t[0]*x3 + b.s0*x4
	u[0] = b.u[0] + b.s1*x + b.s2*x2
	u[1] = b.u[1] + b.u[0]*x + b.s1*x2 + b.s2*x3
	u[2] = b.u[2] + b.u[1]*x + b.u[0]*x2 + b.s1*x3 + b.s2*x4
	return t, u
}

// find gives the band of a level, -1 below all.
func (b *outlineBands) find(c float64) int {
	low, high := 0, len(b.level)
	for low < high {
		mid := (low + high) / 2
		if b.level[mid] <= c {
			low = mid + 1
		} else {
			high = mid
		}
	}
	return low - 1
}

// area gives T0 and T1.
func (b *outlineBands) area(c float64) (width, area float64) {
	i := b.find(c)
	if i < 0 {
		return 0, 0
	}
	n := &b.band[i]
	x := c - b.level[i]
	width = n.t[0] + n.s0*x
	area = n.t[1] + x*(n.t[0]+x*n.s0/2)
	for k := n.first; k < n.last; k++ {
		q := &b.bow[k]
		y, w := q.half(c)
		width += q.turn * (w - q.w0)
		area += q.turn * (q.under(y, w) - q.a0 - x*q.w0)
	}
	return width, area
}

// above gives T1 and T2.
func (b *outlineBands) above(c float64) (area, over float64) {
	i := b.find(c)
	if i < 0 {
		return 0, 0
	}
	n := &b.band[i]
	x := c - b.level[i]
	area = n.t[1] + x*(n.t[0]+x*n.s0/2)
	over = n.t[2] + x*(n.t[1]+x*(n.t[0]/2+x*n.s0/6))
	for k := n.first; k < n.last; k++ {
		q := &b.bow[k]
		y, w := q.half(c)
		a1 := q.under(y, w) - q.a0
		area += q.turn * (a1 - x*q.w0)
		over += q.turn * (y*a1 + (w*w*w-q.w0*q.w0*q.w0)/3 - x*x/2*q.w0)
	}
	return area, over
}

// all gives every Tk and Uk.
func (b *outlineBands) all(c float64) (t [4]float64, u [3]float64) {
	i := b.find(c)
	if i < 0 {
		return t, u
	}
	n := &b.band[i]
	x := c - b.level[i]
	t, u = n.straight(x)
	for k := n.first; k < n.last; k++ {
		y, w := b.bow[k].half(c)
		b.bow[k].add(y, x, w, &t, &u)
	}
	return t, u
}

// low and high are the ends of the outline along v.
func (b *outlineBands) low() float64  { return b.level[0] }
func (b *outlineBands) high() float64 { return b.level[len(b.level)-1] }
