package contents

import (
	"math"

	"gaugewright/internal/doubt"
)

// quantiles gives the values at three parts of an ordered list, 0 < low < mid <
// high < 1, each straight between the two elements around it, as in a plain
// distribution function. It puts the list into another order: only as much of it
// is sorted as that takes.
func quantiles(list []float64, low, mid, high float64) Estimate {
	var e Estimate
	e.Mid = quantile(list, 0, len(list), mid)
	at := int(mid * float64(len(list)-1))
	e.Low = quantile(list, 0, at+1, low)
	e.High = quantile(list, at, len(list), high)
	return e
}

// quantile gives the value at a part of the whole list, where all of
// list[:from] are no greater and all of list[to:] no less than what lies
// between, and the place sought lies there.
func quantile(list []float64, from, to int, p float64) float64 {
	place := p * float64(len(list)-1)
	i := int(place)
	here := doubt.SelectRank(list[from:to], i-from)
	next := here
	if rest := list[i+1:]; len(rest) > 0 {
		next = math.Inf(1)
		for _, v := range rest {
			next = min(next, v)
		}
	}
	return here + (place-float64(i))*(next-here)
}
