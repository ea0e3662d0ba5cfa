package doubt

import "math"

// Pooled is a standard deviation pooled from several groups of repeats.
type Pooled struct {
	SD float64 // of one observation
	DF int     // degrees of freedom; with 0 nothing was repeated and SD is 0
}

// Pool gives the standard deviation of a single observation from groups of
// repeated ones: s² = Σ(xᵢⱼ − x̄ᵢ)² / Σ(nᵢ − 1). Groups of one add nothing.
// Its weakness: one wild value in any group swells it for all.
// Source: JCGM 100:2008, 4.2.4 and H.3.6 (pooled estimate of variance).
func Pool(groups [][]float64) Pooled {
	var ss float64
	df := 0
	for _, g := range groups {
		if len(g) < 2 {
			continue
		}
		mean := Mean(g)
		for _, v := range g {
			ss += (v - mean) * (v - mean)
		}
		df += len(g) - 1
	}
	if df == 0 {
		return Pooled{}
	}
	return Pooled{SD: math.Sqrt(ss / float64(df)), DF: df}
}

// Mean gives the arithmetic mean of at least one value.
func Mean(values []float64) float64 {
	sum := 0.0
	for _, v := range values {
		sum += v
	}
	return sum / float64(len(values))
}
