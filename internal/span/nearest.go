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
	// The distance has one least value over the upper values where a lower one of
	// any kind will do. From there outward it only grows, so a side ends where it
	// has grown past the nearest pair in hand.
	step := float64(p.readout.Step)
	low, high := p.upperRange()
	middle := p.nearestReal(natural, best, limit, distance).upper
	nearest := best
	for _, direction := range []float64{1, -1} {
		start := math.Ceil(middle/step-1e-9) * step
		if direction < 0 {
			start -= step
		}
		for k := 0; ; k++ {
			upper := p.onStep(start + direction*float64(k)*step)
			if upper < low || upper > high {
				break
			}
			real, ok := p.lowerNear(natural.lower, upper, 0, limit)
			if !ok || distance(pair{real, upper}) >= distance(nearest) {
				break
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
	low, high := p.lowerWithin(upper, limit)
	if low > high {
		return 0, false
	}
	v := min(high, max(low, want))
	if step == 0 {
		return v, true
	}
	least, greatest := math.Ceil(low/step-1e-9), math.Floor(high/step+1e-9)
	if least > greatest {
		return 0, false
	}
	v = p.onStep(min(greatest, max(least, math.Round(v/step))) * step)
	return v, p.worst(pair{v, upper}) <= limit
}

// lowerWithin gives the least and the greatest lower value with which no error
// is greater than e points, for a given upper value; the least is the greater
// where there is none. What is shown is a ratio of straight lines in the lower
// value, so each reading sets one limit or none to either side.
func (p *problem) lowerWithin(upper, e float64) (least, greatest float64) {
	least, greatest = p.lowerRange(upper, 0)
	for i := range p.readings {
		r := &p.readings[i]
		if atMost := r.ceiling(e); atMost < 100 {
			least = max(least, (100*r.ohm-atMost*upper)/(100-atMost))
		}
		if atLeast := r.floor(e); atLeast > 0 {
			if atLeast >= 100 {
				// The display must be at its end: the reading at or beyond upper.
				if r.ohm < upper {
					return 1, 0
				}
				continue
			}
			greatest = min(greatest, (100*r.ohm-atLeast*upper)/(100-atLeast))
		}
	}
	return least, greatest
}
