package kin

import (
	"math"

	"gaugewright/internal/curve"
)

// gathering is the units' values at the knots, and what is known of them.
type gathering struct {
	x, mean       []float64
	unit          curve.MarkUnit
	off           [][]float64 // of each unit, from the mean
	own, common   []float64   // root mean squares over the units, at each knot
	span          float64
	basis         [][]float64 // offset, gain, bend over the knots, orthonormal in the mean square
	coef          [][]float64 // of each basis function, over the units
	rest          [][]float64 // of each unit, what the basis leaves
	restFactor    float64     // makes good for what the fit takes from the rest
	restVariables float64     // independent values of the rest in one unit
}

func gatheringOf(all []drawn, x []float64) *gathering {
	n, k := len(all), len(x)
	s := &gathering{x: x, unit: all[0].course.Unit(), mean: make([]float64, k), own: make([]float64, k), common: make([]float64, k), off: make([][]float64, n)}
	for i, d := range all {
		s.off[i] = make([]float64, k)
		for j, mark := range x {
			value, own, common := d.at(mark)
			s.off[i][j] = value
			s.mean[j] += value / float64(n)
			s.own[j] += own * own / float64(n)
			s.common[j] += common * common / float64(n)
		}
	}
	for j := range x {
		s.own[j], s.common[j] = math.Sqrt(s.own[j]), math.Sqrt(s.common[j])
		for i := range all {
			s.off[i][j] -= s.mean[j]
		}
	}
	s.span = math.Abs(s.mean[k-1] - s.mean[0])
	s.basis = basisOf(x, s.mean, s.span)
	q := len(s.basis)
	s.coef = make([][]float64, q)
	s.rest = make([][]float64, n)
	for b := range s.basis {
		s.coef[b] = make([]float64, n)
	}
	for i := range all {
		s.rest[i] = append([]float64(nil), s.off[i]...)
		for b, f := range s.basis {
			c := dot(s.off[i], f) / float64(k)
			s.coef[b][i] = c
			for j := range f {
				s.rest[i][j] -= c * f[j]
			}
		}
	}
	s.restFactor = float64(k) / max(1, float64(k-q))
	s.restVariables = max(1, min(float64(k-q), 1/(2*restReach)-float64(q)))
	return s
}

// basisOf gives offset, gain and bend over the knots: a constant, the curve
// itself, and what half a wave over the span is besides those two. They are
// orthonormal in the mean square. Two knots have no bend.
func basisOf(x, mean []float64, span float64) [][]float64 {
	k := len(x)
	raw := [][]float64{make([]float64, k), make([]float64, k), make([]float64, k)}
	for j := range x {
		t := (mean[j] - mean[0]) / (mean[k-1] - mean[0])
		raw[0][j], raw[1][j], raw[2][j] = 1, t, math.Sin(math.Pi*t)
	}
	var out [][]float64
	for _, f := range raw[:min(MostModes, k)] {
		for range 2 { // the second time takes off what rounding left
			for _, e := range out {
				c := dot(f, e) / float64(k)
				for j := range f {
					f[j] -= c * e[j]
				}
			}
		}
		size := math.Sqrt(dot(f, f) / float64(k))
		if !(size > 1e-6) {
			continue
		}
		for j := range f {
			f[j] /= size
		}
		out = append(out, f)
	}
	return out
}
