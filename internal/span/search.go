package span

import "math"

// unreached is more, in points, than any score.
const unreached = 1e6

// search finds the best pair on the readout's steps, starting from the best
// one of all. It gives how many pairs it disposed of.
func (p *problem) search(free pair) (pair, int, error) {
	step := float64(p.readout.Step)
	low, high := p.upperRange()
	if low > high {
		return pair{}, 0, p.noPair()
	}
	best, bestError, disposed := pair{}, unreached, 0
	// Outward both ways from the best upper value without steps. The pairs that
	// keep within any error form a convex set, so on the way out the least error
	// for an upper value, whatever the lower, doesn't fall again: a side ends
	// where that can't beat what is in hand.
	for _, direction := range []float64{1, -1} {
		start := math.Ceil(free.upper/step) * step
		if direction < 0 {
			start -= step
		}
		start = min(high, max(low, start))
		for k := 0; ; k++ {
			upper := p.onStep(start + direction*float64(k)*step)
			if upper < low || upper > high {
				break
			}
			if least, greatest := p.lowerWithin(upper, bestError-tie); least > greatest {
				break
			}
			lower, e := p.bestLower(upper, step)
			disposed += p.lowersFor(upper)
			if e < bestError-tie {
				best, bestError = pair{lower, upper}, e
			}
		}
	}
	if bestError == unreached {
		if p.objective == NeverHigh {
			return pair{}, 0, p.tooHigh()
		}
		return pair{}, 0, p.noPair()
	}
	return best, disposed, nil
}

// onStep removes the rounding of counting in steps.
func (p *problem) onStep(v float64) float64 {
	step := float64(p.readout.Step)
	return math.Round(v/step) * step
}

// upperRange gives the least and the greatest upper value on the steps; it is
// cut where a lesser one would put 100 % below every reading.
func (p *problem) upperRange() (low, high float64) {
	low, high = p.lowestUpper, p.highest
	if math.IsInf(low, -1) {
		least, greatest := p.extent()
		low = least - (greatest - least)
	}
	if p.sign > 0 {
		low, high = p.readout.up(low), p.readout.down(high)
	} else {
		low, high = -p.readout.down(-low), -p.readout.up(-high)
	}
	return low, high
}

// lowerRange gives the least and greatest lower value for an upper one, on the
// given steps (0: any).
func (p *problem) lowerRange(upper, step float64) (low, high float64) {
	low, high = p.lowest, p.highestLower
	if math.IsInf(low, -1) {
		// Far beyond where any display could still tell readings apart.
		least, greatest := p.extent()
		low = upper - 1000*(greatest-least+1)
	}
	if step == 0 {
		return low, min(high, upper-1e-9*(1+math.Abs(upper)))
	}
	return math.Ceil(low/step-1e-9) * step, min(math.Floor(high/step+1e-9)*step, p.onStep(upper-step))
}

func (p *problem) lowersFor(upper float64) int {
	step := float64(p.readout.Step)
	low, high := p.lowerRange(upper, step)
	return max(0, int(math.Round((high-low)/step))+1)
}

func (p *problem) extent() (least, greatest float64) {
	least, greatest = p.readings[0].ohm, p.readings[0].ohm
	for _, r := range p.readings {
		least, greatest = min(least, r.ohm), max(greatest, r.ohm)
	}
	return least, greatest
}

// bestLower gives the lower value on the steps that makes the worst error least
// for a given upper value, and that error. As the lower value grows, the largest
// amount too high falls and the largest amount too low grows; the least of the
// greater of the two stands where they cross.
func (p *problem) bestLower(upper, step float64) (lower, worst float64) {
	low, high := p.lowerRange(upper, step)
	if low > high {
		return 0, math.Inf(1)
	}
	crossed := func(v float64) bool {
		tooHigh, tooLow := p.errors(pair{v, upper})
		return tooLow >= tooHigh
	}
	for n := int(math.Round((high - low) / step)); n > 1; n = int(math.Round((high - low) / step)) {
		mid := p.onStep(low + float64(n/2)*step)
		if crossed(mid) {
			high = mid
		} else {
			low = mid
		}
	}
	eLow, eHigh := p.worst(pair{low, upper}), p.worst(pair{high, upper})
	if eHigh < eLow {
		return high, eHigh
	}
	return low, eLow
}
