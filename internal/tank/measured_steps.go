package tank

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// measuredSolution is where a fit ended: parameters, misfit, the Jacobian
// divided by the doubts, and the doubt of each point by itself.
type measuredSolution struct {
	p          []float64
	chi2       float64
	jacobian   *mat.Dense
	sigma      []float64
	iterations int
	stopped    string
}

// fit begins at every start and goes on from the least misfit, with the doubts
// of the heights turned into ones of volume by the slope where the fit stands,
// again until they stay.
func (m *measuredModel) fit(points []Poured, cov mat.Symmetric) (*measuredSolution, error) {
	var best *measuredSolution
	var failed error
	for _, start := range m.starts(points) {
		s, err := m.from(start, points, cov)
		if err != nil {
			failed = err
			continue
		}
		if best == nil || s.chi2 < best.chi2 {
			best = s
		}
	}
	if best == nil {
		return nil, failed
	}
	doubtful := false
	for _, point := range points {
		doubtful = doubtful || point.UHeight > 0
	}
	for round := 0; doubtful && round < 50; round++ {
		s, err := m.from(best.p, points, cov)
		if err != nil {
			return nil, err
		}
		moved := 0.0
		for i := range s.p {
			moved = max(moved, math.Abs(s.p[i]-best.p[i])/s.p[i])
		}
		s.iterations += best.iterations
		if best = s; moved < 1e-10 {
			break
		}
	}
	return best, nil
}

// from fits with the doubts as they are at the start.
func (m *measuredModel) from(start []float64, points []Poured, cov mat.Symmetric) (*measuredSolution, error) {
	chol, sigma, err := m.weights(start, points, cov)
	if err != nil {
		return nil, err
	}
	s := m.descend(start, points, chol)
	s.sigma = sigma
	return s, nil
}

// weights gives the Cholesky factor of the points' covariance.
func (m *measuredModel) weights(p []float64, points []Poured, cov mat.Symmetric) (*mat.TriDense, []float64, error) {
	n := len(points)
	c, sigma := mat.NewSymDense(n, nil), make([]float64, n)
	for i, point := range points {
		if cov != nil {
			for j := i; j < n; j++ {
				c.SetSym(i, j, cov.At(i, j))
			}
		} else {
			c.SetSym(i, i, float64(point.U*point.U))
		}
		_, byH := m.volume(p, float64(point.Height), nil)
		own := byH * float64(point.UHeight)
		// A height above the fitted tank has no slope there; its doubt is that
		// of the steepest, so that the point doesn't weigh without bounds.
		if own == 0 && point.UHeight > 0 {
			_, byH = m.volume(p, float64(point.Height)/2, nil)
			own = byH * float64(point.UHeight)
		}
		c.SetSym(i, i, c.At(i, i)+own*own)
		sigma[i] = math.Sqrt(c.At(i, i))
	}
	var chol mat.Cholesky
	if !chol.Factorize(c) {
		return nil, nil, fmt.Errorf("the covariance of the volumes isn't positive definite; expected one whose points each have a doubt of their own")
	}
	lower := mat.NewTriDense(n, mat.Lower, nil)
	chol.LTo(lower)
	return lower, sigma, nil
}

// residuals gives poured less fitted, divided by the doubts, and the Jacobian
// of the fitted likewise; priors are the last rows.
func (m *measuredModel) residuals(p []float64, points []Poured, lower *mat.TriDense) (*mat.VecDense, *mat.Dense, float64) {
	n, k := len(points), len(p)
	rows := mat.NewDense(n, k+1, nil)
	grad := make([]float64, k)
	for i, point := range points {
		v, _ := m.volume(p, float64(point.Height), grad)
		rows.SetRow(i, append(append([]float64(nil), grad...), float64(point.Volume)-v))
	}
	measuredForward(lower, rows)
	all := mat.NewDense(n+len(m.priors), k, nil)
	r := mat.NewVecDense(n+len(m.priors), nil)
	for i := range n {
		for j := range k {
			all.Set(i, j, rows.At(i, j))
		}
		r.SetVec(i, rows.At(i, k))
	}
	for i, prior := range m.priors {
		all.Set(n+i, prior.index, 1/prior.u)
		r.SetVec(n+i, (prior.value-p[prior.index])/prior.u)
	}
	return r, all, mat.Dot(r, r)
}

// measuredForward solves L·X = B in place.
func measuredForward(lower *mat.TriDense, b *mat.Dense) {
	n, k := b.Dims()
	for i := range n {
		for j := range k {
			v := b.At(i, j)
			for l := range i {
				v -= lower.At(i, l) * b.At(l, j)
			}
			b.Set(i, j, v/lower.At(i, i))
		}
	}
}

// descend takes Levenberg's steps with Marquardt's scaling: damped by λ times
// the diagonal of JᵀJ, λ a tenth after a step that lowers the misfit and ten
// times after one that doesn't. Source: D. W. Marquardt, J. Soc. Ind. Appl.
// Math. 11 (1963) 431, from memory. Steps that would make a size less than a
// fifth of what it was are refused, so that sizes stay above 0.
func (m *measuredModel) descend(start []float64, points []Poured, lower *mat.TriDense) *measuredSolution {
	const most, tiny = 300, 1e-9
	s := &measuredSolution{p: append([]float64(nil), start...), stopped: fmt.Sprintf("after %d steps", most)}
	r, j, chi2 := m.residuals(s.p, points, lower)
	lambda := 1e-3
	for s.iterations = 0; s.iterations < most; s.iterations++ {
		step := measuredStep(j, r, lambda)
		next := make([]float64, len(s.p))
		usable, small := true, true
		for i, v := range s.p {
			next[i] = v + step[i]
			usable = usable && next[i] > v/5 && next[i] < v*20
			small = small && math.Abs(step[i]) <= tiny*v
		}
		if small {
			s.stopped = "the steps became too small to count"
			break
		}
		if usable {
			if rn, jn, c := m.residuals(next, points, lower); c <= chi2 {
				settled := chi2-c <= 1e-15*chi2 && lambda < 1e-12
				s.p, r, j, chi2 = next, rn, jn, c
				lambda = max(lambda/10, 1e-16)
				if settled {
					s.stopped = "the misfit no longer fell"
					break
				}
				continue
			}
		}
		if lambda *= 10; lambda > 1e12 {
			s.stopped = "no step lowered the misfit"
			break
		}
	}
	// So near the least the misfit is flat to its last digits, and says no more
	// which step is good; undamped steps settle the sizes to theirs.
	for range 6 {
		step := measuredStep(j, r, 0)
		next := make([]float64, len(s.p))
		for i, v := range s.p {
			if math.Abs(step[i]) > 1e-6*v {
				next = nil
				break
			}
			next[i] = v + step[i]
		}
		if next == nil {
			break
		}
		s.p = next
		r, j, chi2 = m.residuals(s.p, points, lower)
	}
	s.chi2, s.jacobian = chi2, j
	return s
}

// measuredStep solves the damped problem as a least-squares one, by QR.
func measuredStep(j *mat.Dense, r *mat.VecDense, lambda float64) []float64 {
	n, k := j.Dims()
	a, b := mat.NewDense(n+k, k, nil), mat.NewVecDense(n+k, nil)
	for c := range k {
		sum := 0.0
		for i := range n {
			a.Set(i, c, j.At(i, c))
			sum += j.At(i, c) * j.At(i, c)
		}
		a.Set(n+c, c, math.Sqrt(lambda*sum))
	}
	for i := range n {
		b.SetVec(i, r.AtVec(i))
	}
	var x mat.VecDense
	step := make([]float64, k)
	// A column of nothing, or one like another, has no step.
	if err := x.SolveVec(a, b); err != nil {
		if _, badly := err.(mat.Condition); !badly {
			return step
		}
	}
	for i := range k {
		if v := x.AtVec(i); !math.IsNaN(v) && !math.IsInf(v, 0) {
			step[i] = v
		}
	}
	return step
}

// covariance gives (JᵀJ)⁻¹, by the singular values of J with its columns
// brought to parts of the sizes. The error says which sizes go together so that
// the points tell only what they come to together.
func (m *measuredModel) covariance(s *measuredSolution) (*mat.SymDense, error) {
	n, k := s.jacobian.Dims()
	scaled := mat.NewDense(n, k, nil)
	for i := range n {
		for c := range k {
			scaled.Set(i, c, s.jacobian.At(i, c)*s.p[c])
		}
	}
	var svd mat.SVD
	if !svd.Factorize(scaled, mat.SVDThin) {
		return nil, fmt.Errorf("the fit can't be judged; look for a point that is far off")
	}
	values := svd.Values(nil)
	if least := values[len(values)-1]; !(least > 1e-9*values[0]) || len(values) < k {
		return nil, fmt.Errorf("these points can't tell the %s apart; measure one of them, or pour to other heights", measuredList(m.names))
	}
	var v mat.Dense
	svd.VTo(&v)
	cov := mat.NewSymDense(k, nil)
	for a := range k {
		for b := a; b < k; b++ {
			sum := 0.0
			for l, value := range values {
				sum += v.At(a, l) * v.At(b, l) / (value * value)
			}
			cov.SetSym(a, b, sum*s.p[a]*s.p[b])
		}
	}
	return cov, nil
}
