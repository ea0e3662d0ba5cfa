package curve

import (
	"math"
	"sort"
)

// What counts as too far off, in parts of the span. Both are far beyond what
// floats and dials are said to err (2 to 5 % of span; common practice, no
// source), so that an honest but poor sender isn't taken for a bad reading.
const (
	wildPart  = 0.08 // a repeat that far from its fellows
	orderPart = 0.05 // a mark that far out of order

	// hair keeps a reading that stands exactly at a limit from being judged by
	// the rounding of its last digit.
	hair = 1 + 1e-9
)

// wildRepeats finds single readings that stand far from the others at the same
// mark: more than 8 % of the span and six times the usual scatter from the
// median of three or more.
func wildRepeats(readings []Reading, groups []group, span float64) []int {
	type off struct {
		index    int
		distance float64
	}
	var offs []off
	for _, g := range groups {
		all := g.all()
		if len(all) < 3 {
			continue
		}
		middle := median(ohmsOf(readings, all))
		for _, i := range all {
			offs = append(offs, off{i, math.Abs(float64(readings[i].Ohm) - middle)})
		}
	}
	if len(offs) == 0 {
		return nil
	}
	distances := make([]float64, len(offs))
	for k, o := range offs {
		distances[k] = o.distance
	}
	// 1.4826 × median absolute deviation is the standard deviation of a normal
	// scatter, untouched by the wild ones themselves.
	limit := hair * max(wildPart*span, 6*1.4826*median(distances))
	var wild []int
	for _, o := range offs {
		if o.distance > limit {
			wild = append(wild, o.index)
		}
	}
	return wild
}

// outOfOrder finds the marks whose pooled ohms break the order by more than
// noise would: those left out by the longest ordered run through all marks
// that also lie further than the limit from what that run gives at their mark.
// y must be turned so that it should rise. When too many would have to go (one
// in five, and more than one) the sender itself doesn't keep an order, and the
// second result is true.
func outOfOrder(x, y []float64, limit float64) (suspects []int, hopeless bool) {
	w := make([]float64, len(y))
	for i := range w {
		w[i] = 1
	}
	limit *= hair
	worst := 0.0
	for i, f := range Isotonic(y, w) {
		worst = max(worst, math.Abs(y[i]-f))
	}
	if worst <= limit {
		return nil, false
	}
	keep := longestOrdered(y)
	kept := make([]bool, len(y))
	kx, ky := make([]float64, 0, len(keep)), make([]float64, 0, len(keep))
	for _, i := range keep {
		kept[i] = true
		kx, ky = append(kx, x[i]), append(ky, y[i])
	}
	for i := range y {
		if !kept[i] && distanceFrom(kx, ky, x[i], y[i]) > limit {
			suspects = append(suspects, i)
		}
	}
	return suspects, len(suspects) > max(1, len(y)/5) || len(y)-len(suspects) < 4
}

// distanceFrom says how far y lies outside what an ordered run allows at x: the
// straight line between the neighbours, or beyond the end value outside them.
func distanceFrom(kx, ky []float64, x, y float64) float64 {
	k := sort.SearchFloat64s(kx, x)
	switch {
	case k == 0:
		return max(0, y-ky[0])
	case k == len(kx):
		return max(0, ky[k-1]-y)
	}
	t := (x - kx[k-1]) / (kx[k] - kx[k-1])
	return math.Abs(y - (ky[k-1] + t*(ky[k]-ky[k-1])))
}

// longestOrdered gives the indices of a longest non-decreasing subsequence, by
// patience sorting: n log n, so that long sheets don't stall.
func longestOrdered(y []float64) []int {
	var tails []int
	before := make([]int, len(y))
	for i, v := range y {
		k := sort.Search(len(tails), func(k int) bool { return y[tails[k]] > v })
		before[i] = -1
		if k > 0 {
			before[i] = tails[k-1]
		}
		if k == len(tails) {
			tails = append(tails, i)
		} else {
			tails[k] = i
		}
	}
	run := make([]int, len(tails))
	for i, k := tails[len(tails)-1], len(tails)-1; k >= 0; i, k = before[i], k-1 {
		run[k] = i
	}
	return run
}

func median(values []float64) float64 {
	s := append([]float64(nil), values...)
	sort.Float64s(s)
	n := len(s)
	if n%2 == 1 {
		return s[n/2]
	}
	return (s[n/2-1] + s[n/2]) / 2
}
