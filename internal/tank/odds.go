package tank

import (
	"cmp"
	"math"
	"slices"
)

// oddsOf gives each of several explanations that were equally likely before its
// probability, by Bayes' rule from the logarithms of their likelihoods, and puts
// the most probable first.
func oddsOf[T any](list []T, of func(*T) (logLike float64, probability *float64)) {
	slices.SortStableFunc(list, func(a, b T) int {
		la, _ := of(&a)
		lb, _ := of(&b)
		return cmp.Compare(lb, la)
	})
	if len(list) == 0 {
		return
	}
	// Against the greatest, so that nothing is too small for a number.
	most, _ := of(&list[0])
	sum := 0.0
	for i := range list {
		logLike, p := of(&list[i])
		*p = math.Exp(logLike - most)
		sum += *p
	}
	for i := range list {
		_, p := of(&list[i])
		*p /= sum
	}
}
