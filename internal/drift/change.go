package drift

import (
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// change is what is to be judged: the differences r between a later occasion and
// an earlier, and their covariance V. The part S of V goes with a standard
// deviation that was estimated with df degrees of freedom (0: it is simply
// known).
type change struct {
	r      []float64
	v, s   *mat.SymDense
	sd, df float64
}

// frame is a change seen from where its doubt is a unit sphere and the estimated
// part of it lies along the axes: the coordinates of x are Qᵀ L⁻¹ x with V =
// L·Lᵀ and the eigenvectors Q of L⁻¹ S L⁻ᵀ. part[j] is which part of the
// variance along axis j goes with the estimate.
type frame struct {
	chol mat.Cholesky
	low  mat.TriDense
	q    mat.Dense
	part []float64
	df   float64
	e    []float64 // the change itself
}

func newFrame(c change) *frame {
	n := len(c.r)
	f := &frame{part: make([]float64, n), df: c.df}
	if !f.chol.Factorize(c.v) {
		// The covariance is a sum of squares with something of its own at every
		// place; what rounding took away is put back.
		v := mat.NewSymDense(n, nil)
		v.CopySym(c.v)
		for i := range n {
			v.SetSym(i, i, v.At(i, i)*(1+1e-9))
		}
		f.chol.Factorize(v)
	}
	f.chol.LTo(&f.low)
	f.q = *mat.NewDense(n, n, nil)
	for i := range n {
		f.q.Set(i, i, 1)
	}
	if c.df > 0 {
		var half, both mat.Dense
		if half.Solve(&f.low, c.s) == nil && both.Solve(&f.low, half.T()) == nil {
			sym := mat.NewSymDense(n, nil)
			for i := range n {
				for k := i; k < n; k++ {
					sym.SetSym(i, k, (both.At(i, k)+both.At(k, i))/2)
				}
			}
			var eig mat.EigenSym
			if eig.Factorize(sym, true) {
				eig.VectorsTo(&f.q)
				for j, v := range eig.Values(nil) {
					f.part[j] = min(1, max(0, v))
				}
			}
		}
	}
	f.e = f.see(c.r)
	return f
}

// see gives the coordinates of a vector of differences.
func (f *frame) see(x []float64) []float64 {
	n := len(x)
	var white, turned mat.VecDense
	if err := white.SolveVec(&f.low, mat.NewVecDense(n, append([]float64(nil), x...))); err != nil && white.Len() != n {
		return make([]float64, n)
	}
	turned.MulVec(f.q.T(), &white)
	return turned.RawVector().Data
}

// freedom gives the effective degrees of freedom of the doubt along all axes
// together: df over the mean square of the parts, after Welch–Satterthwaite
// (JCGM 100:2008, G.4.1). It is df itself where all doubt is that of the
// estimate; infinite where none is.
func (f *frame) freedom() float64 {
	if f.df == 0 {
		return math.Inf(1)
	}
	sum := 0.0
	for _, p := range f.part {
		sum += p * p
	}
	if nu := f.df * float64(len(f.part)) / max(sum, 1e-12); nu < 1e6 {
		return nu
	}
	return math.Inf(1)
}

// freedomAlong is the same along one direction of unit length.
func (f *frame) freedomAlong(a []float64) float64 {
	if f.df == 0 {
		return math.Inf(1)
	}
	share := 0.0
	for j, v := range a {
		share += f.part[j] * v * v
	}
	if nu := f.df / max(share*share, 1e-12); nu < 1e6 {
		return nu
	}
	return math.Inf(1)
}

// whole is the test of the change as a whole.
func (f *frame) whole() Whole {
	w := Whole{Statistic: dot(f.e, f.e), N: len(f.e)}
	nu := f.freedom()
	if !math.IsInf(nu, 1) {
		w.DF = nu
	}
	w.P = tailWhole(w.Statistic, w.N, nu)
	return w
}

// tailWhole gives the probability of a statistic r'V⁻¹r at least as large where
// nothing changed: χ² with n degrees of freedom or, of a covariance of nu
// degrees of freedom, n times F with n and nu.
func tailWhole(t float64, n int, nu float64) float64 {
	if math.IsInf(nu, 1) {
		return distuv.ChiSquared{K: float64(n)}.Survival(t)
	}
	return fTail(t/float64(n), float64(n), nu)
}

// quantileWhole is the reverse of tailWhole.
func quantileWhole(p float64, n int, nu float64) float64 {
	if math.IsInf(nu, 1) {
		return distuv.ChiSquared{K: float64(n)}.Quantile(1 - p)
	}
	// Halving keeps to the tail that is tested, where the difference from one
	// has no digits left.
	low, high := 0.0, float64(n)
	for tailWhole(high, n, nu) > p && high < 1e300 {
		high *= 2
	}
	for range 100 {
		if mid := (low + high) / 2; tailWhole(mid, n, nu) > p {
			low = mid
		} else {
			high = mid
		}
	}
	return high
}

// tailSharp gives the probability of a statistic along one direction at least
// as large.
func tailSharp(z, nu float64) float64 {
	if math.IsInf(nu, 1) {
		return distuv.UnitNormal.Survival(z)
	}
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: nu}.Survival(z)
}

func quantileSharp(p, nu float64) float64 {
	if math.IsInf(nu, 1) {
		return distuv.UnitNormal.Quantile(1 - p)
	}
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: nu}.Quantile(1 - p)
}

func dot(a, b []float64) float64 {
	sum := 0.0
	for i, v := range a {
		sum += v * b[i]
	}
	return sum
}

// draws are changes as they come where nothing changed: along axis j normal
// with the variance 1 − part + part/q, where q = χ²(df)/df is how far the
// estimate of the scatter lay from the truth. In the two limits that is exactly
// χ² and F.
type draws struct {
	e       []float64 // n for each draw
	n, many int
}

func (f *frame) draw(many int, seed uint64) draws {
	n := len(f.e)
	random := rand.New(rand.NewPCG(seed, 0x6a09e667f3bcc908)) // the second word only has to be fixed
	d := draws{e: make([]float64, n*many), n: n, many: many}
	chi := distuv.ChiSquared{K: max(1, f.df), Src: random}
	for k := range many {
		q := 1.0
		if f.df > 0 {
			q = chi.Rand() / f.df
		}
		for j := range n {
			z := random.NormFloat64()
			if p := f.part[j]; p > 0 {
				z *= math.Sqrt(1 - p + p/q)
			}
			d.e[k*n+j] = z
		}
	}
	return d
}

// ranks gives values in rising order, and for each value how large a part of
// all lies at or above it.
func ranks(v []float64) (sorted, part []float64) {
	sorted = slices.Clone(v)
	slices.Sort(sorted)
	part = make([]float64, len(v))
	for i, x := range v {
		k, _ := slices.BinarySearch(sorted, x)
		part[i] = float64(len(v)-k) / float64(len(v))
	}
	return sorted, part
}
