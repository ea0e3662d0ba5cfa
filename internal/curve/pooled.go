package curve

import (
	"math"
	"sort"

	"gaugewright/internal/doubt"
	"gaugewright/internal/quantity"
)

// group is the readings at one mark, as indices into the sheet.
type group struct {
	mark              float64
	up, down, neither []int
}

func (g group) all() []int {
	return append(append(append([]int(nil), g.up...), g.down...), g.neither...)
}

// groupByMark collects readings by mark, in rising order of mark. Marks that
// differ by less than a billionth of the largest are one mark: they differ
// only by how they were converted.
func groupByMark(readings []Reading, sweeps []Sweep, skip []bool) []group {
	order := make([]int, 0, len(readings))
	largest := 0.0
	for i, r := range readings {
		largest = max(largest, math.Abs(r.Mark))
		if !skip[i] {
			order = append(order, i)
		}
	}
	sort.SliceStable(order, func(a, b int) bool { return readings[order[a]].Mark < readings[order[b]].Mark })
	var groups []group
	for _, i := range order {
		if n := len(groups); n == 0 || readings[i].Mark-groups[n-1].mark > 1e-9*largest {
			groups = append(groups, group{mark: readings[i].Mark})
		}
		g := &groups[len(groups)-1]
		switch sweeps[i] {
		case Up:
			g.up = append(g.up, i)
		case Down:
			g.down = append(g.down, i)
		default:
			g.neither = append(g.neither, i)
		}
	}
	return groups
}

// sweepsOf gives the direction of each reading: as written down, or, where
// nobody wrote one, from the order in which they were taken, provided that
// order really is sweeps (runs of three or more marks one way). The second
// result says that they were taken from the order.
func sweepsOf(readings []Reading) ([]Sweep, bool) {
	sweeps := make([]Sweep, len(readings))
	stated := false
	for i, r := range readings {
		sweeps[i] = r.Sweep
		stated = stated || r.Sweep != Unstated
	}
	if stated {
		return sweeps, false
	}
	var previous Sweep
	for i := 1; i < len(readings); i++ {
		switch {
		case readings[i].Mark > readings[i-1].Mark:
			sweeps[i] = Up
		case readings[i].Mark < readings[i-1].Mark:
			sweeps[i] = Down
		default:
			// A repeat belongs to the run; a repeat at the turn, taken after
			// standing still at the end of the travel, to neither: leave it
			// with the run that led there.
			sweeps[i] = previous
		}
		previous = sweeps[i]
	}
	turned := false
	runStart := 1
	for i := 1; i <= len(readings); i++ {
		if i < len(readings) && sweeps[i] == sweeps[runStart] {
			continue
		}
		if sweeps[runStart] != Unstated && i-runStart < 2 {
			return make([]Sweep, len(readings)), false
		}
		turned = turned || (i < len(readings) && sweeps[runStart] != Unstated)
		runStart = min(i, len(readings)-1)
	}
	if !turned {
		return make([]Sweep, len(readings)), false
	}
	sweeps[0] = sweeps[1]
	return sweeps, true
}

// repeats gives the groups of ohms read at one mark in one direction.
func repeats(readings []Reading, groups []group) [][]float64 {
	var out [][]float64
	for _, g := range groups {
		for _, part := range [][]int{g.up, g.down, g.neither} {
			if len(part) > 1 {
				out = append(out, ohmsOf(readings, part))
			}
		}
	}
	return out
}

func ohmsOf(readings []Reading, which []int) []float64 {
	ohms := make([]float64, len(which))
	for k, i := range which {
		ohms[k] = float64(readings[i].Ohm)
	}
	return ohms
}

// pooledOhm is one figure for a mark. Where both directions were read each
// counts half, however often it was repeated: the middle of the hysteresis is
// what a display should be set for.
//
// It is rounded to a billionth of an ohm, so that means that differ by their
// rounding alone are equal.
func pooledOhm(readings []Reading, g group) float64 {
	mean := func(part []int) float64 { return doubt.Mean(ohmsOf(readings, part)) }
	both := append(append([]int(nil), g.up...), g.down...)
	var v float64
	switch {
	case len(both) == 0:
		return quantity.Round(mean(g.neither), 9)
	case len(g.up) > 0 && len(g.down) > 0:
		v = (mean(g.up) + mean(g.down)) / 2
	default:
		v = mean(both)
	}
	if len(g.neither) > 0 {
		n, m := float64(len(both)), float64(len(g.neither))
		v = (n*v + m*mean(g.neither)) / (n + m)
	}
	return quantity.Round(v, 9)
}

// resolutionOf gives the step of the meter as far as the readings show it: the
// power of ten of which all are whole multiples, 1 Ω at the most and a
// millionth at the least. For volts and milliamps it is a hundredth at the
// most, for shares of the supply a tenth: 8 mA is what people write for the
// 8.00 that a meter shows (common practice, no source).
func resolutionOf(readings []Reading, signal Signal) float64 {
	for decimals := signals[signal].coarsest; decimals < 6; decimals++ {
		p := math.Pow(10, float64(decimals))
		whole := true
		for _, r := range readings {
			v := float64(r.Ohm) * p
			if math.Abs(v-math.Round(v)) > 1e-6 {
				whole = false
				break
			}
		}
		if whole {
			return 1 / p
		}
	}
	return 1e-6
}
