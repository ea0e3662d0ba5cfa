package span

import (
	"math"
	"sort"

	"gaugewright/internal/quantity"
)

// leastSquares looks for the table with the least root-mean-square error, and
// gives a bound that none goes below.
//
// For given places of the entries the best shares are a least-squares problem
// with three unknowns to a row, solved outright; the places are moved about
// from those of the table with the least worst error, by ever smaller amounts,
// while that helps. The problem has many dips, so this need not be the best of
// all. The bound is: the readings are cut into as many stretches as there are
// links, and a level one at either end, each with the straight line that fits
// it best, whether or not they join; the best cuts are found exactly.
func (t *tabler) leastSquares(readout TableReadout) (foundTable, error) {
	links := readout.Points - 1
	bound := t.cutBound(links)
	// Both tables that the least worst error would give are begun from.
	_, e, path := t.least(links, 1e-10, 100, func(e float64) []door { return t.doors(e, 100) })
	table := t.move(t.spread(t.table(path), readout.Points))
	_, _, path = t.least(links, 1e-7, 100, func(d float64) []door { return t.doors(e+1e-9, d) })
	if other := t.move(t.spread(t.table(path), readout.Points)); t.score(other) < t.score(table) {
		table = other
	}
	if readout.Step > 0 || readout.ShareStep > 0 {
		settled, ok := t.settle(table, readout)
		if !ok {
			return foundTable{}, t.noTable(readout)
		}
		table = settled
	}
	return foundTable{table: table, bound: bound, onSteps: bound}, nil
}

// fitted gives the readings by rising ohms, with rising targets.
func (t *tabler) fitted() (x, y []float64) {
	for _, m := range t.marks {
		if m.kind == reading {
			x, y = append(x, m.ohm), append(y, m.target)
		}
	}
	return x, y
}

// mostCut is how many readings a bound is made from; fewer give a lesser bound,
// and a true one.
const mostCut = 1000

// cutBound gives the bound of leastSquares, in points.
func (t *tabler) cutBound(links int) float64 {
	x, y := t.fitted()
	all := float64(len(x))
	if n := len(x); n > mostCut {
		for i := range mostCut {
			x[i], y[i] = x[i*n/mostCut], y[i*n/mostCut]
		}
		x, y = x[:mostCut], y[:mostCut]
	}
	n := len(x)
	links = min(links, n)
	sums := make([]moments, n+1)
	for i := range x {
		u, m := x[i]-x[n/2], sums[i]
		sums[i+1] = moments{m.n + 1, m.x + u, m.xx + u*u, m.t + y[i], m.xt + u*y[i], m.tt + y[i]*y[i]}
	}
	least := make([]float64, n+1) // for the readings before, with the links so far
	for i := range least {
		least[i] = sums[i].level()
		if t.pinned && i > 0 {
			least[i] = math.Inf(1)
		}
	}
	for range links {
		next := make([]float64, n+1)
		for i := range next {
			next[i] = least[i]
			for k := i - 1; k >= 0; k-- {
				line := sums[i].less(sums[k]).line()
				if line >= next[i] {
					break // a longer stretch fits no better
				}
				next[i] = min(next[i], least[k]+line)
			}
		}
		least = next
	}
	best := least[n]
	for i := range least {
		if !t.pinned {
			best = min(best, least[i]+sums[n].less(sums[i]).level())
		}
	}
	return math.Sqrt(max(0, best-1e-9*(1+best)) / all)
}

// level gives the sum of squares about the mean.
func (m moments) level() float64 {
	if m.n == 0 {
		return 0
	}
	return max(0, m.tt-m.t*m.t/m.n)
}

// line gives the sum of squares about the straight line that fits best.
func (m moments) line() float64 {
	if m.n == 0 {
		return 0
	}
	xx, xt := m.xx-m.x*m.x/m.n, m.xt-m.x*m.t/m.n
	if xx <= 1e-12*m.xx {
		return m.level()
	}
	return max(0, m.level()-xt*xt/xx)
}

// spread puts entries into the widest gaps of a table until it has as many as
// it may.
func (t *tabler) spread(table []Entry, points int) []Entry {
	table = append([]Entry(nil), table...)
	x, _ := t.fitted()
	for len(table) < min(points, len(x)+2) {
		widest := 1
		for i := range table {
			if i > 0 && table[i].Ohm-table[i-1].Ohm > table[widest].Ohm-table[widest-1].Ohm {
				widest = i
			}
		}
		a, b := table[widest-1], table[widest]
		if b.Ohm-a.Ohm < 1e-6 {
			break
		}
		table = append(table[:widest], append([]Entry{{(a.Ohm + b.Ohm) / 2, (a.Share + b.Share) / 2}}, table[widest:]...)...)
	}
	return table
}

// move moves the places of the entries while that makes the sum of squares less.
func (t *tabler) move(table []Entry) []Entry {
	x, y := t.fitted()
	least, greatest := x[0], max(x[len(x)-1], t.reach)
	best := append([]Entry(nil), table...)
	bestScore := t.score(best)
	take := func(next []Entry) bool {
		t.shares(next, x, y)
		if score := t.score(next); score < bestScore-1e-12 && t.allowedAll(next) {
			best, bestScore = next, score
			return true
		}
		return false
	}
	take(append([]Entry(nil), best...))
	last := len(best) - 1
	for part := 0.25; part > 1e-5; part /= 2 {
		for round, moved := 0, true; moved && round < 40; round++ {
			moved = false
			for i := range best {
				if t.pinned && (i == 0 || i == last) {
					continue
				}
				for _, direction := range []quantity.Ohm{1, -1} {
					next := append([]Entry(nil), best...)
					next[i].Ohm += direction * quantity.Ohm(part*(greatest-least)/float64(last))
					between := (i == 0 || next[i].Ohm > next[i-1].Ohm+1e-6) && (i == last || next[i].Ohm < next[i+1].Ohm-1e-6)
					if between && t.allowed(next, i) && take(next) {
						moved = true
						break
					}
				}
			}
		}
	}
	return best
}

// shares gives the entries the shares with the least sum of squares for their
// places, put in order where they come out of it. The unknowns of each reading
// are those of the entries beside it, so the equations are tridiagonal; a touch
// of the shares as they are keeps an entry with no reading beside it in place.
func (t *tabler) shares(table []Entry, x, y []float64) {
	n := len(table)
	diagonal, beside, right := make([]float64, n), make([]float64, n), make([]float64, n)
	const touch = 1e-6
	for i, e := range table {
		share := float64(e.Share) * 100
		if t.sign < 0 {
			share = 100 - share
		}
		diagonal[i], right[i] = touch, touch*share
	}
	for k, v := range x {
		i := sort.Search(n, func(i int) bool { return float64(table[i].Ohm) >= v })
		if i == 0 || i == n {
			i = min(i, n-1)
			diagonal[i]++
			right[i] += y[k]
			continue
		}
		w := (v - float64(table[i-1].Ohm)) / float64(table[i].Ohm-table[i-1].Ohm)
		diagonal[i-1] += (1 - w) * (1 - w)
		diagonal[i] += w * w
		beside[i] += w * (1 - w)
		right[i-1] += (1 - w) * y[k]
		right[i] += w * y[k]
	}
	for i := 1; i < n; i++ {
		f := beside[i] / diagonal[i-1]
		diagonal[i] -= f * beside[i]
		right[i] -= f * right[i-1]
	}
	for i := n - 1; i >= 0; i-- {
		if i < n-1 {
			right[i] -= beside[i+1] * right[i+1]
		}
		right[i] /= diagonal[i]
	}
	for i := range table {
		right[i] = min(100, max(0, right[i]))
		if i > 0 {
			right[i] = max(right[i], right[i-1])
		}
		table[i].Share = quantity.Share(right[i] / 100)
		if t.sign < 0 {
			table[i].Share = 1 - table[i].Share
		}
	}
}
