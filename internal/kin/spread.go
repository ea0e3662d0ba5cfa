package kin

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"gaugewright/internal/curve"
	"gaugewright/internal/doubt"
	"gaugewright/internal/quantity"
)

// spread fills in the curve of the type, and how units differ from it.
func (s *gathering) spread(l layout, g *Gathered) {
	n, k, q := len(s.off), len(s.x), len(s.basis)
	// The whole of the differences, over all knots: components and degrees of
	// freedom.
	var between, within float64
	for j := range s.x {
		column := make([]float64, n)
		for i := range column {
			column[i] = s.off[i][j] / s.span
		}
		b, w := l.squares(column, column)
		between, within = between+b/float64(k), within+w/float64(k)
	}
	g.Spread = l.settled(between, within)
	share := l.meanShare(g.Spread)
	least := g.Spread.leastBatch()
	// Covariance of the coefficients, of a unit of a new batch.
	cov := mat.NewSymDense(q, nil)
	noise := 0.0 // what the units' own noise makes of a coefficient
	for j := range s.x {
		noise += square(s.own[j]) / float64(k*k)
	}
	for a := range q {
		for b := a; b < q; b++ {
			bs, ws := l.squares(s.coef[a], s.coef[b])
			c := l.of(bs, ws)
			v := c.Unit + c.Batch
			if least > 0 {
				v = c.Unit * (1 + least)
			}
			if a == b {
				v -= noise
			}
			cov.SetSym(a, b, v)
		}
	}
	values, vectors := eigen(cov)
	trace := 0.0
	for a, v := range values {
		values[a] = max(0, v)
		trace += values[a]
	}
	trace = max(trace, noise, square(1e-4*s.span)) // units are never told to be all alike
	lambda := formWeight / (formWeight + g.Spread.DF)
	shares := 0.0
	for a := range q {
		shares += expectedForm[a]
	}
	for a := range q {
		for b := a; b < q; b++ {
			v := 0.0
			for e := range values {
				v += values[e] * vectors.At(a, e) * vectors.At(b, e)
			}
			v *= 1 - lambda
			if a == b {
				v += lambda * trace * expectedForm[a] / shares
			}
			cov.SetSym(a, b, v)
		}
	}
	values, vectors = eigen(cov)
	widen := math.Sqrt(1 + share)
	if g.Widened {
		widen *= oneBatch
	}
	g.Known.DF = tidy(g.Spread.DF)
	rest := s.restSD()
	g.Known.Knots = make([]Knot, k)
	ordered := s.orderedMean()
	for j := range s.x {
		knot := Knot{Mark: quantity.Round(s.unit.ToShown(s.x[j]), 9), Value: quantity.Round(ordered[j], 9), Floor: tidy(s.common[j])}
		sum := 0.0
		for e := q - 1; e >= 0; e-- { // the largest first
			v := 0.0
			for a, f := range s.basis {
				v += vectors.At(a, e) * f[j]
			}
			v = tidy(v * math.Sqrt(max(0, values[e])) * widen)
			knot.Modes = append(knot.Modes, v)
			sum += v * v
		}
		// The mean's own noise stays in the rest: it is independent at each knot.
		own := rest[j] * widen
		knot.U = tidy(doubt.Combine(math.Sqrt(sum), own, s.own[j]/math.Sqrt(float64(n)), knot.Floor) * (1 + 1e-7))
		g.Known.Knots[j] = knot
	}
}

// restSD gives the standard deviation of the rest at each knot: half that of the
// knot itself, half that of all, less the units' own noise, and widened by
// Student's t for how well it is known.
func (s *gathering) restSD() []float64 {
	n, k := len(s.off), len(s.x)
	df := float64(n - 1)
	at, all := make([]float64, k), 0.0
	for j := range s.x {
		for i := range s.rest {
			at[j] += square(s.rest[i][j]) / float64(n-1) * s.restFactor
		}
		all += at[j] / float64(k)
	}
	least := square(1e-4 * s.span)
	wide := doubt.Factor(0.95, df*s.restVariables) / doubt.Factor(0.95, math.Inf(1))
	out := make([]float64, k)
	for j := range out {
		// One knot's own figure has the degrees of freedom of the units alone.
		weight := df / (df + s.restVariables)
		v := weight*at[j] + (1-weight)*all
		out[j] = wide * math.Sqrt(max(v-square(s.own[j]), restLeast*v, least))
	}
	return out
}

// orderedMean is the mean over the units, in order: it is already, but for
// rounding.
func (s *gathering) orderedMean() []float64 {
	sign := 1.0
	if s.mean[len(s.mean)-1] < s.mean[0] {
		sign = -1
	}
	y, w := make([]float64, len(s.mean)), make([]float64, len(s.mean))
	for j, v := range s.mean {
		y[j], w[j] = sign*v, 1
	}
	y = curve.Isotonic(y, w)
	for j := range y {
		y[j] *= sign
	}
	return y
}

// eigen gives the eigenvalues in rising order and the eigenvectors, each with
// its largest part above zero so that the same units give the same modes.
func eigen(m *mat.SymDense) ([]float64, *mat.Dense) {
	var e mat.EigenSym
	if !e.Factorize(m, true) {
		panic("kin: a covariance without eigenvalues")
	}
	var v mat.Dense
	e.VectorsTo(&v)
	n, _ := v.Dims()
	for c := range n {
		most := 0.0
		for r := range n {
			if math.Abs(v.At(r, c)) > math.Abs(most)*(1+1e-9) {
				most = v.At(r, c)
			}
		}
		if most < 0 {
			for r := range n {
				v.Set(r, c, -v.At(r, c))
			}
		}
	}
	return e.Values(nil), &v
}

func dot(a, b []float64) float64 {
	sum := 0.0
	for i, v := range a {
		sum += v * b[i]
	}
	return sum
}
