package span

import "math"

// nearestTo gives, among all pairs that do as well as the best one (to within a
// billionth of a point), the one nearest to the natural ends, by the sum of
// both distances in ohms. Pairs on the readout's steps only, where it has steps.
//
// Worst errors often tie: where two readings can't both be met (hysteresis, a
// dead stretch), a whole region of end values does equally well.
func (p *problem) nearestTo(natural pair, best pair) pair {
	limit := p.worst(best) + tie
	distance := func(v pair) float64 {
		return math.Abs(v.lower-natural.lower) + math.Abs(v.upper-natural.upper)
	}
	if p.readout.Step == 0 {
		return p.nearestReal(natural, best, limit, distance)
	}
	step := float64(p.readout.Step)
	low, high := p.upperRange()
	start := p.onStep(min(high, max(low, natural.upper)))
	nearest := best
	for k := 0; float64(k-1)*step <= distance(nearest); k++ {
		for _, upper := range []float64{p.onStep(start - float64(k)*step), p.onStep(start + float64(k)*step)} {
			if upper < low || upper > high {
				continue
			}
			if lower, ok := p.lowerNear(natural.lower, upper, step, limit); ok {
				if v := (pair{lower, upper}); distance(v) < distance(nearest)-1e-12 {
					nearest = v
				}
			}
		}
	}
	return nearest
}

// nearestReal is nearestTo for a readout that takes any value. The pairs that
// do equally well form a convex set, so the distance to the natural ends has
// one least value along it.
func (p *problem) nearestReal(natural, best pair, limit float64, distance func(pair) float64) pair {
	if p.worst(natural) <= limit && natural.lower < natural.upper {
		return natural
	}
	at := func(upper float64) (pair, bool) {
		lower, ok := p.lowerNear(natural.lower, upper, 0, limit)
		return pair{lower, upper}, ok
	}
	// How far the set reaches either way from the pair in hand.
	reach := func(end float64) float64 {
		in, out := best.upper, end
		for range 60 {
			mid := (in + out) / 2
			if _, ok := at(mid); ok {
				in = mid
			} else {
				out = mid
			}
		}
		return in
	}
	d := distance(best)
	lo := reach(max(p.lowestUpper, best.upper-d))
	hi := reach(min(p.highest, best.upper+d))
	if hi-lo < 1e-6 {
		return best // no region to speak of
	}
	for range 80 {
		a, b := lo+(hi-lo)/3, hi-(hi-lo)/3
		va, okA := at(a)
		vb, okB := at(b)
		if !okA || !okB {
			break
		}
		if distance(va) <= distance(vb) {
			hi = b
		} else {
			lo = a
		}
	}
	if v, ok := at((lo + hi) / 2); ok && distance(v) < d {
		return v
	}
	return best
}

// lowerNear gives the lower value nearest to the wanted one with which no error
// is greater than the limit, for a given upper value; false where there is none.
func (p *problem) lowerNear(want, upper, step, limit float64) (float64, bool) {
	low, high := p.lowerRange(upper, step)
	if low > high {
		return 0, false
	}
	// The least lower value at which nothing is too high, the greatest at which
	// nothing is too low.
	notHigh := func(v float64) bool { e, _ := p.errors(pair{v, upper}); return e <= limit }
	notLow := func(v float64) bool { _, e := p.errors(pair{v, upper}); return e <= limit }
	if !notHigh(high) || !notLow(low) {
		return 0, false
	}
	from := p.edge(low, high, step, notHigh)
	to := p.edge(high, low, step, notLow)
	if from > to {
		return 0, false
	}
	v := min(to, max(from, want))
	if step > 0 {
		if v = p.onStep(v); v < from {
			v += step
		} else if v > to {
			v -= step
		}
		v = p.onStep(v)
	}
	return v, p.worst(pair{v, upper}) <= limit
}

// edge finds the value nearest to a, between a and b, for which ok holds, where
// ok holds at b and, once it holds on the way there, goes on holding.
func (p *problem) edge(a, b, step float64, ok func(float64) bool) float64 {
	if ok(a) {
		return a
	}
	for range 64 {
		mid := (a + b) / 2
		if step > 0 {
			if math.Abs(b-a) < 1.5*step {
				break
			}
			mid = p.onStep(mid)
		}
		if mid == a || mid == b {
			break
		}
		if ok(mid) {
			b = mid
		} else {
			a = mid
		}
	}
	return b
}
