package drift

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mathext"
)

// manyDraws is how many draws the common rate of false alarms is counted from:
// as many as usually make a block (JCGM 101:2008, 7.9.4). mostDrawn is the
// number of places up to which they are made; beyond, the bound by Bonferroni
// stands in their place, which is stricter and as quick for any number. fewest
// is the number of draws beyond a statistic below which the bound is the better
// of the two.
const (
	manyDraws = 10_000
	mostDrawn = 24
	fewest    = 10
)

// fTail gives the probability that F with n and m degrees of freedom lies above
// x: I(m/(m + n·x); m/2, n/2), with I the regularised incomplete beta function
// (Abramowitz and Stegun, 26.6.2; from memory).
func fTail(x, n, m float64) float64 {
	if !(x > 0) {
		return 1
	}
	return mathext.RegIncBeta(m/2, n/2, m/(m+n*x))
}

// verdict is both tests of a change and what they say together.
type verdict struct {
	frame      *frame
	directions []direction
	whole      Whole
	sharp      Sharp
	p          float64
	trials     int
	// Beyond either of these a change is beyond doubt at the rate asked for.
	wholeLimit, sharpLimit float64

	sharpDF float64 // effective degrees of freedom along the leading direction
	draws   draws
	along   [][]float64 // per direction, the statistic in every draw, its sign kept
}

// judge makes both tests. They look at the same change, so the smaller of their
// two probabilities is smaller than it should be by chance; how often so small a
// one comes where nothing changed is counted in draws (the greatest of several
// statistics: P. H. Westfall, S. S. Young, Resampling-Based Multiple Testing,
// 1993; from memory), or bounded by twice itself (Bonferroni).
func judge(c change, list []direction, rate float64, seed uint64) verdict {
	f := newFrame(c)
	v := verdict{frame: f, directions: list, whole: f.whole()}
	tests := measured(list, f, c.r)
	lead := 0
	for i, l := range list {
		if l.z > list[lead].z {
			lead = i
		}
	}
	top := list[lead]
	v.sharpDF = f.freedomAlong(unit(f.see(top.d)))
	v.sharp = Sharp{Statistic: top.z, Along: top.cause, Directions: tests}
	bound := min(1, float64(tests)*tailSharp(top.z, v.sharpDF))
	if len(c.r) > mostDrawn {
		v.sharp.P = bound
		v.p = min(1, 2*min(v.whole.P, bound))
		v.wholeLimit = quantileWhole(rate/2, len(c.r), f.freedom())
		v.sharpLimit = quantileSharp(rate/2/float64(tests), v.sharpDF)
		return v
	}
	v.trials = manyDraws
	v.draw(seed)
	wholes, sharps := v.statistics()
	sortedWhole, partWhole := ranks(wholes)
	sortedSharp, partSharp := ranks(sharps)
	v.sharp.P = counted(sortedSharp, top.z, bound)
	least := make([]float64, manyDraws)
	for i := range least {
		least[i] = -min(partWhole[i], partSharp[i]) // so that greater is rarer
	}
	slices.Sort(least)
	both := min(counted(sortedWhole, v.whole.Statistic, v.whole.P), v.sharp.P)
	v.p = counted(least, -both, min(1, 2*both))
	// The limits are where the smaller of the two is as rare as the rate.
	limit := -least[min(len(least)-1, int(math.Ceil(float64(len(least))*(1-rate))))]
	v.wholeLimit, v.sharpLimit = upper(sortedWhole, limit), upper(sortedSharp, limit)
	return v
}

// counted gives how large a part of sorted draws lies at or above a value, the
// value itself counting as one; where too few do, the bound.
func counted(sorted []float64, at, bound float64) float64 {
	k, _ := slices.BinarySearch(sorted, at)
	beyond := len(sorted) - k
	if beyond < fewest {
		return min(bound, float64(fewest)/float64(len(sorted)))
	}
	return float64(beyond+1) / float64(len(sorted)+1)
}

// upper gives the value above which a part of sorted draws lies.
func upper(sorted []float64, part float64) float64 {
	return sorted[min(len(sorted)-1, max(0, len(sorted)-int(part*float64(len(sorted)))))]
}

func unit(a []float64) []float64 {
	size := math.Sqrt(max(dot(a, a), 1e-300))
	for i := range a {
		a[i] /= size
	}
	return a
}

// draw makes the draws and the statistics along every direction.
func (v *verdict) draw(seed uint64) {
	v.draws = v.frame.draw(manyDraws, seed)
	n := v.draws.n
	v.along = make([][]float64, len(v.directions))
	for i := range v.directions {
		a := unit(v.frame.see(v.directions[i].d))
		v.directions[i].a = a
		z := make([]float64, v.draws.many)
		for k := range z {
			sum := 0.0
			for j, e := range v.draws.e[k*n : (k+1)*n] {
				sum += a[j] * e
			}
			z[k] = sum
		}
		v.along[i] = z
	}
}

// statistics gives both statistics of every draw.
func (v *verdict) statistics() (wholes, sharps []float64) {
	n := v.draws.n
	wholes, sharps = make([]float64, v.draws.many), make([]float64, v.draws.many)
	for k := range wholes {
		e := v.draws.e[k*n : (k+1)*n]
		wholes[k] = dot(e, e)
		sharps[k] = math.Inf(-1)
	}
	for i, z := range v.along {
		if v.directions[i].both {
			for k, s := range z {
				sharps[k] = max(sharps[k], math.Abs(s))
			}
		} else {
			for k, s := range z {
				sharps[k] = max(sharps[k], s)
			}
		}
	}
	return wholes, sharps
}
