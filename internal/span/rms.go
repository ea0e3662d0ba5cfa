package span

import (
	"math"
	"sort"
)

// leastSquares finds the pair with the least root-mean-square error and a
// bound that none goes below, in points; on steps it also gives how many pairs
// it disposed of.
//
// What is shown is held to 0..100, so the sum of squares as a whole has several
// dips. But which readings are held is known once it's known between which two
// readings the lower value stands and between which two the upper one: those
// below the first show 0, those above the second 100, and between them the sum
// is that of a straight line a + b·R, convex in (a, b). The pairs of such a cell
// are a convex quadrilateral in (a, b), so its least sum is the line's own, or
// stands on an edge, where it's a parabola. All cells that could hold less than
// what is in hand are gone through; the readings held to 0 and 100 alone rule
// most of them out.
//
// On steps every such cell is searched: for a given upper value the sum is a
// parabola in b, so its best lower value is one of the two beside its lowest
// point; and as the pairs of a cell that keep below any sum are a convex set,
// the upper values are tried outward from the cell's best until no lower value
// of any kind could beat the pair in hand.
func (p *problem) leastSquares(natural pair) (best pair, bound float64, searched int, err error) {
	q := newSquares(p)
	free := q.free()
	n := float64(len(p.readings))
	least := q.sum(free)
	// What rounding may have hidden is taken off the bound.
	bound = math.Sqrt(max(0, least-1e-9*(1+least)) / n)
	if p.readout.Step == 0 {
		if natural.lower < natural.upper && q.sum(natural) <= least+1e-9 {
			free = natural
		}
		return free, bound, 0, nil
	}
	best, searched, ok := q.onSteps(free, natural)
	if !ok {
		return pair{}, 0, 0, p.noPair()
	}
	return best, bound, searched, nil
}

// squares holds the readings by rising ohms, with sums from the start, so that
// the sum of squares of any stretch of them is at hand.
type squares struct {
	p       *problem
	shift   float64   // taken off the ohms, so that the sums keep their digits
	x, t    []float64 // ohms less the shift, target
	places  []float64 // the different ohms, rising, with an infinity at both ends
	first   []int     // the first reading at places[k+1] or beyond
	sums    []moments // of the readings before
	sumHeld []float64 // Σ target² of the readings before: the cost of showing 0
	sumFull []float64 // Σ (100−target)² of the readings from here: of showing 100
	// What may be keyed in, less the shift, cut where nothing is told apart.
	lowest, highestLower, lowestUpper, highest float64
}

// moments are sums over some readings.
type moments struct{ n, x, xx, t, xt, tt float64 }

func (m moments) less(o moments) moments {
	return moments{m.n - o.n, m.x - o.x, m.xx - o.xx, m.t - o.t, m.xt - o.xt, m.tt - o.tt}
}

// at gives the sum of squares for shown = a + b·x.
func (m moments) at(a, b float64) float64 {
	return max(0, m.n*a*a+2*m.x*a*b+m.xx*b*b-2*m.t*a-2*m.xt*b+m.tt)
}

func newSquares(p *problem) *squares {
	q := &squares{p: p}
	sorted := append([]at(nil), p.readings...)
	sort.SliceStable(sorted, func(i, j int) bool { return sorted[i].ohm < sorted[j].ohm })
	for _, r := range sorted {
		q.shift += r.ohm / float64(len(sorted))
	}
	n := len(sorted)
	q.sums, q.sumHeld, q.sumFull = make([]moments, n+1), make([]float64, n+1), make([]float64, n+1)
	q.places = []float64{math.Inf(-1)}
	for i, r := range sorted {
		x, t := r.ohm-q.shift, r.target
		q.x, q.t = append(q.x, x), append(q.t, t)
		m := q.sums[i]
		q.sums[i+1] = moments{m.n + 1, m.x + x, m.xx + x*x, m.t + t, m.xt + x*t, m.tt + t*t}
		q.sumHeld[i+1] = q.sumHeld[i] + t*t
		if i == 0 || x > q.places[len(q.places)-1] {
			q.places = append(q.places, x)
			q.first = append(q.first, i)
		}
	}
	for i := n - 1; i >= 0; i-- {
		q.sumFull[i] = q.sumFull[i+1] + (100-q.t[i])*(100-q.t[i])
	}
	q.places, q.first = append(q.places, math.Inf(1)), append(q.first, n)
	q.lowest, q.highestLower = p.lowest-q.shift, p.highestLower-q.shift
	q.lowestUpper, q.highest = p.lowestUpper-q.shift, p.highest-q.shift
	return q
}

// sum gives the sum of squares of a pair, as the readings themselves have it.
func (q *squares) sum(v pair) float64 {
	k, sum := 100/(v.upper-v.lower), 0.0
	for _, r := range q.p.readings {
		e := min(100, max(0, k*(r.ohm-v.lower))) - r.target
		sum += e * e
	}
	return sum
}

// cell is the pairs whose lower value stands in one gap between readings and
// whose upper value stands in one, with the same readings held at either end.
type cell struct {
	l0, l1, u0, u1 float64 // the lower and the upper value lie between
	m              moments // of the readings in between
	held           float64 // what the held ones cost
}

// cells goes through the cells that could hold a sum of less than the limit,
// which is asked for again each time.
func (q *squares) cells(limit func() float64, visit func(cell)) {
	gaps := len(q.places) - 1
	for k := range gaps {
		low := q.sumHeld[q.first[k]]
		if low >= limit() {
			return
		}
		l0, l1 := max(q.places[k], q.lowest), min(q.places[k+1], q.highestLower)
		if l0 > l1 {
			continue
		}
		for j := gaps - 1; j >= k; j-- {
			held := low + q.sumFull[q.first[j]]
			if held >= limit() {
				break
			}
			u0, u1 := max(q.places[j], q.lowestUpper), min(q.places[j+1], q.highest)
			if u0 <= u1 && u1 > l0 {
				visit(cell{l0, l1, u0, u1, q.sums[q.first[j]].less(q.sums[q.first[k]]), held})
			}
		}
	}
}

// flattest is the least slope that a pair is given, in points per ohm: beyond
// it no display could tell the readings apart.
func (q *squares) flattest() float64 {
	return 1e-4 / (q.x[len(q.x)-1] - q.x[0] + 1)
}

// least gives the pair of a cell with the least sum, and that sum.
func (q *squares) least(c cell) (best pair, least float64) {
	least = math.Inf(1)
	take := func(v pair, sum float64) {
		if sum < least && v.upper > v.lower && !math.IsInf(v.lower, 0) && !math.IsInf(v.upper, 0) {
			best, least = v, sum
		}
	}
	// The line's own best.
	if det := c.m.n*c.m.xx - c.m.x*c.m.x; det > 1e-9*c.m.n*c.m.xx {
		b := (c.m.n*c.m.xt - c.m.x*c.m.t) / det
		a := (c.m.t - b*c.m.x) / c.m.n
		if v := (pair{-a / b, (100 - a) / b}); b > q.flattest() && v.lower >= c.l0 && v.lower <= c.l1 && v.upper >= c.u0 && v.upper <= c.u1 {
			take(v, c.held+c.m.at(a, b))
			return best, least
		}
	}
	// The edges.
	for _, u := range []float64{c.u0, c.u1} {
		if v, sum, ok := q.leastLower(c, u); ok {
			take(v, sum)
		}
	}
	for _, l := range []float64{c.l0, c.l1} {
		if v, sum, ok := q.leastUpper(c, l); ok {
			take(v, sum)
		}
	}
	return best, least
}

// leastLower gives the best pair of a cell with a given upper value: with
// shown = 100 − b·(u−x) the sum is a parabola in b.
func (q *squares) leastLower(c cell, u float64) (pair, float64, bool) {
	from, to := max(q.flattest(), 100/(u-c.l0)), 100/(u-c.l1)
	if math.IsInf(u, 0) || u <= c.l0 {
		return pair{}, 0, false
	}
	if u <= c.l1 {
		to = math.Inf(1)
	}
	dd := c.m.n*u*u - 2*u*c.m.x + c.m.xx
	dr := 100*c.m.n*u - 100*c.m.x - u*c.m.t + c.m.xt
	b := q.vertex(dr, dd, from, to)
	return pair{u - 100/b, u}, c.held + c.m.at(100-b*u, b), true
}

// leastUpper gives the best pair of a cell with a given lower value: with
// shown = b·(x−l) the sum is a parabola in b.
func (q *squares) leastUpper(c cell, l float64) (pair, float64, bool) {
	if math.IsInf(l, 0) || l >= c.u1 {
		return pair{}, 0, false
	}
	from, to := max(q.flattest(), 100/(c.u1-l)), 100/(c.u0-l)
	if l >= c.u0 {
		to = math.Inf(1)
	}
	dd := c.m.n*l*l - 2*l*c.m.x + c.m.xx
	dt := c.m.xt - l*c.m.t
	b := q.vertex(dt, dd, from, to)
	return pair{l, l + 100/b}, c.held + c.m.at(-b*l, b), true
}

// vertex gives the b between from and to with the least dd·b² − 2·dr·b; where
// no b is better than another, the flattest.
func (q *squares) vertex(dr, dd, from, to float64) float64 {
	if dd <= 0 {
		return from
	}
	return max(from, min(to, dr/dd))
}

// free gives the pair of any values with the least sum.
func (q *squares) free() pair {
	best, least := pair{}, math.Inf(1)
	q.cells(func() float64 { return least + 1e-9 }, func(c cell) {
		// The sums of a cell are known to their rounding; the readings decide.
		if v, sum := q.least(c); sum < least+1e-9 {
			v.lower, v.upper = v.lower+q.shift, v.upper+q.shift
			if sum = q.sum(v); sum < least {
				best, least = v, sum
			}
		}
	})
	return best
}
