package span

import "math"

// onSteps finds the pair on the readout's steps with the least sum of squares,
// and how many pairs it disposed of; false where no pair is on the steps.
func (q *squares) onSteps(free, natural pair) (best pair, disposed int, ok bool) {
	p := q.p
	step := float64(p.readout.Step)
	least := math.Inf(1)
	distance := func(v pair) float64 {
		return math.Abs(v.lower-natural.lower) + math.Abs(v.upper-natural.upper)
	}
	take := func(v pair) {
		v = pair{p.onStep(v.lower), p.onStep(v.upper)}
		if sum := q.sum(v); sum < least-1e-9 || (sum < least+1e-9 && distance(v) < distance(best)-1e-9) {
			best, least = v, min(least, sum)
		}
	}
	allowed := func(v pair) bool {
		low, high := p.upperRange()
		lowerLow, lowerHigh := p.lowerRange(v.upper, step)
		return v.upper >= low-1e-9 && v.upper <= high+1e-9 && v.lower >= lowerLow-1e-9 && v.lower <= lowerHigh+1e-9
	}
	// A first pair in hand keeps the search short.
	for _, v := range []pair{natural, free} {
		for i := range 4 {
			w := pair{math.Floor(v.lower/step) * step, math.Floor(v.upper/step) * step}
			w.lower += float64(i%2) * step
			w.upper += float64(i/2) * step
			if allowed(w) {
				take(w)
			}
		}
	}
	// Without one, any: the cells go through all there are.
	q.cells(func() float64 { return least + 1e-9 }, func(c cell) {
		v, sum := q.least(c)
		if sum > least+1e-9 {
			return
		}
		start := math.Floor((v.upper+q.shift)/step) * step
		for _, direction := range []float64{-1, 1} {
			for k := 0; ; k++ {
				upper := p.onStep(start + direction*float64(k)*step)
				if direction > 0 {
					upper = p.onStep(upper + step)
				}
				if u := upper - q.shift; u < c.u0-1e-9 || u > c.u1+1e-9 {
					if k == 0 {
						continue // the cell may lie just beyond the start
					}
					break
				}
				v, sum, there := q.leastLower(c, upper-q.shift)
				if !there || sum >= least-1e-9 {
					break
				}
				low := math.Ceil((c.l0+q.shift)/step-1e-9) * step
				high := min(math.Floor((c.l1+q.shift)/step+1e-9)*step, p.onStep(upper-step))
				if low > high {
					continue
				}
				if !math.IsInf(low, 0) {
					disposed += int(math.Round((high-low)/step)) + 1
				}
				below := math.Floor((v.lower+q.shift)/step) * step
				take(pair{min(high, max(low, below)), upper})
				take(pair{min(high, max(low, below+step)), upper})
			}
		}
	})
	return best, max(disposed, 1), !math.IsInf(least, 1)
}
