package doubt

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// Polynomial is a polynomial fitted by least squares,
// y = c₀ + c₁(x−x₀) + … + c_d(x−x₀)^d, with what is known of its coefficients.
type Polynomial struct {
	Origin     float64   // x₀
	Coef       []float64 // c₀ …, lowest power first
	Covariance *mat.SymDense
	ResidualSD float64 // s, of one observation; 0 with no degrees of freedom
	ResidualSS float64
	DF         int // observations − coefficients
	RSquared   float64

	mid, half float64       // x is scaled to (x−mid)/half for the arithmetic
	scaled    []float64     // coefficients in the scaled variable
	scaledCov *mat.SymDense // and their covariance
}

// FitPolynomial fits a polynomial of the given degree about the origin x₀ by
// unweighted least squares. It solves by QR in x scaled to ±1, because the
// normal equations in raw x lose all digits for a degree of two or more.
//
// It needs more points than coefficients for an uncertainty; with exactly as
// many the curve passes through them and every uncertainty is zero. Fewer
// points, or too few different x, are an error.
//
// Source: JCGM 100:2008, H.3 (straight line); the NIST StRD linear regression
// sets are the check of the arithmetic.
func FitPolynomial(x, y []float64, degree int, origin float64) (*Polynomial, error) {
	n, p := len(x), degree+1
	if n != len(y) {
		return nil, fmt.Errorf("doubt: %d x and %d y", n, len(y))
	}
	if n < p {
		return nil, fmt.Errorf("doubt: %d points can't fix %d coefficients", n, p)
	}
	lo, hi := x[0], x[0]
	for _, v := range x {
		lo, hi = min(lo, v), max(hi, v)
	}
	if degree > 0 && !(hi > lo) {
		return nil, fmt.Errorf("doubt: all %d points are at x = %g; a slope needs two different x", n, lo)
	}
	f := &Polynomial{Origin: origin, DF: n - p, mid: (lo + hi) / 2, half: max((hi-lo)/2, math.SmallestNonzeroFloat64)}
	if degree == 0 {
		f.half = 1
	}

	design := mat.NewDense(n, p, nil)
	for i, v := range x {
		design.SetRow(i, powers((v-f.mid)/f.half, p))
	}
	var qr mat.QR
	qr.Factorize(design)
	var c mat.VecDense
	if err := qr.SolveVecTo(&c, false, mat.NewVecDense(n, y)); err != nil {
		return nil, fmt.Errorf("doubt: the points don't fix a polynomial of degree %d: %w", degree, err)
	}
	f.scaled = c.RawVector().Data

	mean := Mean(y)
	var total float64
	for i := range y {
		r := y[i] - f.eval(x[i])
		f.ResidualSS += r * r
		total += (y[i] - mean) * (y[i] - mean)
	}
	if total > 0 {
		f.RSquared = 1 - f.ResidualSS/total
	}
	var s2 float64
	if f.DF > 0 {
		s2 = f.ResidualSS / float64(f.DF)
		f.ResidualSD = math.Sqrt(s2)
	}

	// Covariance s² (XᵀX)⁻¹ = s² R⁻¹R⁻ᵀ, from the same triangular factor.
	var r mat.Dense
	qr.RTo(&r)
	inv := mat.NewDense(p, p, nil)
	if err := inv.Inverse(r.Slice(0, p, 0, p)); err != nil {
		return nil, fmt.Errorf("doubt: the points don't fix a polynomial of degree %d: %w", degree, err)
	}
	f.scaledCov = mat.NewSymDense(p, nil)
	f.scaledCov.SymOuterK(s2, inv)

	// Back to powers of (x − origin): the change of basis is linear.
	basis := f.changeOfBasis(p)
	var coef mat.VecDense
	coef.MulVec(basis, &c)
	f.Coef = coef.RawVector().Data
	var left, cov mat.Dense
	left.Mul(basis, f.scaledCov)
	cov.Mul(&left, basis.T())
	f.Covariance = mat.NewSymDense(p, nil)
	for i := range p {
		for j := i; j < p; j++ {
			f.Covariance.SetSym(i, j, cov.At(i, j))
		}
	}
	return f, nil
}

// At gives the fitted value at x and its standard uncertainty, that of the
// curve itself; add ResidualSD in squares for a single new observation.
// Leaving out the covariance of the coefficients is the usual mistake.
func (f *Polynomial) At(x float64) (y, u float64) {
	row := mat.NewVecDense(len(f.scaled), powers((x-f.mid)/f.half, len(f.scaled)))
	return f.eval(x), math.Sqrt(max(0, mat.Inner(row, f.scaledCov, row)))
}

// Correlation gives the correlation coefficient of two coefficients.
func (f *Polynomial) Correlation(i, j int) float64 {
	return f.Covariance.At(i, j) / math.Sqrt(f.Covariance.At(i, i)*f.Covariance.At(j, j))
}

func (f *Polynomial) eval(x float64) float64 {
	z, y := (x-f.mid)/f.half, 0.0
	for i := len(f.scaled) - 1; i >= 0; i-- {
		y = y*z + f.scaled[i]
	}
	return y
}

// changeOfBasis gives the matrix that turns coefficients of
// z = (x−mid)/half into coefficients of t = x−origin: z = (t + origin−mid)/half.
func (f *Polynomial) changeOfBasis(p int) *mat.Dense {
	m := mat.NewDense(p, p, nil)
	shift := (f.Origin - f.mid) / f.half
	for k := range p {
		for i := 0; i <= k; i++ { // zᵏ = Σᵢ C(k,i) (t/half)ⁱ shiftᵏ⁻ⁱ
			m.Set(i, k, binomial(k, i)*math.Pow(shift, float64(k-i))/math.Pow(f.half, float64(i)))
		}
	}
	return m
}

func binomial(n, k int) float64 {
	b := 1.0
	for i := range k {
		b = b * float64(n-i) / float64(i+1)
	}
	return b
}

func powers(z float64, n int) []float64 {
	row := make([]float64, n)
	v := 1.0
	for i := range row {
		row[i] = v
		v *= z
	}
	return row
}
