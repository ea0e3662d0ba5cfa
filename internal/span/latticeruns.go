package span

import "math"

// run is a stretch of ordinates.
type run struct{ lo, hi float64 }

// findRuns is find for corners at any ordinate.
func (l *lattice) findRuns(links int) (path []vertex, ok, ended bool) {
	n := len(l.at)
	// new[m][i] is what the m-th link reaches first at abscissa i.
	news := [][][]run{make([][]run, n)}
	all := make([][]run, n)
	for i := range n {
		if r := (run{max(l.lo[i], l.startLo[i]), min(l.hi[i], l.startHi[i])}); r.lo <= r.hi {
			news[0][i], all[i] = []run{r}, []run{r}
		}
	}
	lowAfter, highAfter := l.after(l.lows), l.after(l.highs)
	sight := newLink()
	for m := 1; m <= links; m++ {
		reached := make([][]run, n)
		anything := false
		for i := range n {
			for _, from := range news[m-1][i] {
				if l.jumps && from.hi < l.hi[i] {
					reached[i] = join(reached[i], run{from.lo, l.hi[i]})
				}
				if !l.see(sight, i, from, lowAfter[i], highAfter[i], m == 1, reached) {
					return nil, false, false
				}
			}
		}
		fresh := make([][]run, n)
		for j := range n {
			for _, r := range reached[j] {
				if lo, hi := max(r.lo, l.endLo[j]), min(r.hi, l.endHi[j]); lo <= hi {
					return l.trace(news, m, j, (lo+hi)/2), true, true
				}
			}
			fresh[j] = without(reached[j], all[j])
			anything = anything || len(fresh[j]) > 0
			for _, r := range fresh[j] {
				all[j] = join(all[j], r)
			}
		}
		if !anything {
			break
		}
		news = append(news, fresh)
	}
	return nil, false, true
}

// see adds to reached what a link from a stretch at abscissa i leads to; false
// where the work is used up.
func (l *lattice) see(sight *link, i int, from run, low, high int, first bool, reached [][]run) bool {
	*sight = link{lows: sight.lows[:0], highs: sight.highs[:0], steepest: line{slope: math.Inf(1)}, flattest: line{slope: math.Inf(-1)}}
	sight.add(half{l.at[i], from.lo}, half{l.at[i], from.hi})
	for j := i + 1; j < len(l.at); j++ {
		// A stretch costs a few times what a point does.
		if *l.work -= 4 + len(reached[j]); *l.work < 0 {
			return false
		}
		x := l.at[j]
		for low < len(l.lows) && l.lows[low].x <= x || high < len(l.highs) && l.highs[high].x <= x {
			// In the order of their places; what stands at one place is judged
			// by what stands before it.
			*l.work -= 1 + len(sight.lows)/8
			takeLow := low < len(l.lows) && (high >= len(l.highs) || l.lows[low].x <= l.highs[high].x)
			takeHigh := high < len(l.highs) && (low >= len(l.lows) || l.highs[high].x <= l.lows[low].x)
			if takeLow {
				sight.cutBelow(l.lows[low])
			}
			if takeHigh {
				sight.cutAbove(l.highs[high])
			}
			if takeLow {
				sight.addLow(l.lows[low])
				low++
			}
			if takeHigh {
				sight.addHigh(l.highs[high])
				high++
			}
		}
		r := run{max(l.lo[j], from.lo), l.hi[j]}
		if !math.IsInf(sight.flattest.slope, 0) {
			r.lo = max(r.lo, sight.flattest.at(x))
		}
		if !math.IsInf(sight.steepest.slope, 0) {
			r.hi = min(r.hi, sight.steepest.at(x))
			if sight.steepest.slope < 0 || sight.flattest.slope > sight.steepest.slope+1e-12 {
				return true
			}
		}
		if first && x <= l.before {
			continue
		}
		if r.lo <= r.hi {
			reached[j] = join(reached[j], r)
		}
	}
	return true
}

// trace gives the polyline that ends with its m-th link at a place.
func (l *lattice) trace(news [][][]run, m, column int, y float64) []vertex {
	path := make([]vertex, m+1)
	path[m] = vertex{l.at[column], y}
	for m--; m >= 0; m-- {
		// Where the link before may have stood: of what is seen looking back,
		// the place with the most room.
		room, next, nextY := math.Inf(-1), 0, 0.0
		consider := func(i int, r run, lo, hi float64) {
			lo, hi = max(lo, r.lo), min(hi, r.hi)
			if hi-lo > room {
				room, next, nextY = hi-lo, i, min(r.hi, max(r.lo, (lo+hi)/2))
			}
		}
		if l.jumps {
			for _, r := range news[m][column] {
				if r.lo <= y {
					consider(column, r, r.lo, min(r.hi, y))
				}
			}
		}
		l.lookBack(column, y, func(i int, lo, hi float64) {
			for _, r := range news[m][i] {
				consider(i, r, lo, hi)
			}
		})
		column, y = next, nextY
		path[m] = vertex{l.at[column], y}
	}
	return path
}

// lookBack tells for each abscissa before a place between which ordinates a
// link that ends there may begin.
func (l *lattice) lookBack(column int, y float64, tell func(i int, lo, hi float64)) {
	x := l.at[column]
	flattest, steepest := 0.0, math.Inf(1)
	low, high := len(l.lows)-1, len(l.highs)-1
	for i := column - 1; i >= 0; i-- {
		for ; low >= 0 && l.lows[low].x > l.at[i]+1e-9; low-- {
			if h := l.lows[low]; h.x < x-1e-9 {
				steepest = min(steepest, (y-h.y)/(x-h.x))
			}
		}
		for ; high >= 0 && l.highs[high].x > l.at[i]+1e-9; high-- {
			if h := l.highs[high]; h.x < x-1e-9 {
				flattest = max(flattest, (y-h.y)/(x-h.x))
			}
		}
		dx := x - l.at[i]
		lo := math.Inf(-1)
		if !math.IsInf(steepest, 1) {
			lo = y - steepest*dx
		}
		tell(i, lo, y-flattest*dx)
	}
}

// join adds a stretch to a rising list of stretches that don't touch.
func join(list []run, r run) []run {
	k := 0
	for k < len(list) && list[k].hi < r.lo {
		k++
	}
	e := k
	for e < len(list) && list[e].lo <= r.hi {
		r.lo, r.hi = min(r.lo, list[e].lo), max(r.hi, list[e].hi)
		e++
	}
	if e == k {
		list = append(list, run{})
		copy(list[k+1:], list[k:])
		list[k] = r
		return list
	}
	list[k] = r
	return append(list[:k+1], list[e:]...)
}

// without gives what of a rising list of stretches another doesn't hold. A
// stretch that ends where a held one begins keeps that end.
func without(list, held []run) []run {
	var out []run
	for _, r := range list {
		for _, h := range held {
			if h.hi < r.lo || h.lo > r.hi {
				continue
			}
			if h.lo > r.lo {
				out = append(out, run{r.lo, h.lo})
			}
			r.lo = h.hi
			if h.hi >= r.hi {
				r.lo, r.hi = nowhereLo, nowhereHi
				break
			}
		}
		if r.lo <= r.hi {
			out = append(out, r)
		}
	}
	return out
}
