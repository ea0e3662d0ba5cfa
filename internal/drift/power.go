package drift

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"gaugewright/internal/doubt"
)

// powerDraws is how many draws a power is counted from: a power of 95 % comes out
// to a third of a percent.
const powerDraws = 4000

// needs gives how far each draw has to be moved along a direction of
// unit length until one of the two statistics passes its limit and stays beyond
// it. The part of them up to a distance is the probability that a change of so
// many standard uncertainties is found.
func (v *verdict) needs(l direction) []float64 {
	n := v.draws.n
	a := l.a
	if a == nil {
		a = unit(v.frame.see(l.d))
	}
	need := make([]float64, min(v.draws.many, powerDraws))
	for k := range need {
		e := v.draws.e[k*n : (k+1)*n]
		// |e + x·a|² = limit: the greater root.
		along, square := dot(e, a), dot(e, e)
		if root := along*along - square + v.wholeLimit; root > 0 {
			need[k] = max(0, math.Sqrt(root)-along)
		}
	}
	for i, d := range v.directions {
		f := dot(d.a, a) // how far this direction looks along the other
		if math.Abs(f) < 0.05 || f < 0 && !d.both {
			continue
		}
		sign := math.Copysign(1, f)
		for k, z := range v.along[i][:len(need)] {
			if x := max(0, (v.sharpLimit-sign*z)/math.Abs(f)); x < need[k] {
				need[k] = x
			}
		}
	}
	return need
}

// least gives the size of a cause's parameter from which on these readings
// would be found to have changed with the probability [Found].
func (v *verdict) least(l direction) float64 {
	if v.trials > 0 {
		need := v.needs(l)
		return doubt.SelectRank(need, min(len(need)-1, int(math.Ceil(Found*float64(len(need)))))) / l.size
	}
	low, high := 0.0, v.sharpLimit+distuv.UnitNormal.Quantile(Found)
	for range 60 {
		if mid := (low + high) / 2; v.finds(l, mid/l.size) < Found {
			low = mid
		} else {
			high = mid
		}
	}
	return high / l.size
}

// finds gives the probability that a change of a size along a direction is
// found. Without draws it is that of the better of the two tests by itself,
// which the two together don't fall below.
func (v *verdict) finds(l direction, size float64) float64 {
	x := math.Abs(size) * l.size
	if v.trials > 0 {
		found := 0
		need := v.needs(l)
		for _, far := range need {
			if far <= x {
				found++
			}
		}
		return float64(found) / float64(len(need))
	}
	return max(distuv.UnitNormal.CDF(x-v.sharpLimit), wholePower(x*x, v.wholeLimit, len(v.frame.e)))
}

// wholePower gives the probability that the test of the change as a whole finds
// a change whose statistic is λ without any doubt, at a limit: noncentral χ² as
// a Poisson mixture of central ones. It is exact where the covariance is known.
// Source: Johnson, Kotz and Balakrishnan, Continuous Univariate Distributions
// 2, ch. 29 (from memory).
func wholePower(lambda, limit float64, n int) float64 {
	half := lambda / 2
	centre := int(half)
	term := func(j int) float64 {
		lg, _ := math.Lgamma(float64(j) + 1)
		w := math.Exp(-half + float64(j)*math.Log(max(half, 1e-300)) - lg)
		if half == 0 && j == 0 {
			w = 1
		}
		return w * distuv.ChiSquared{K: float64(n + 2*j)}.Survival(limit)
	}
	sum := 0.0
	reach := 20 + int(10*math.Sqrt(half+1))
	for j := max(0, centre-reach); j <= centre+reach; j++ {
		sum += term(j)
	}
	return min(1, sum)
}
