package curve_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/internal/curve"
	"gaugewright/internal/peer"
)

// The RPN data of F. N. Fritsch, R. E. Carlson, SIAM J. Numer. Anal. 17 (1980),
// third ordinate 4.37498e-2; values recomputed independently with the same
// slopes (weighted harmonic mean, three-point ends).
func TestCubicPublishedData(t *testing.T) {
	var x, y []float64
	for _, row := range table(t, "testdata/monotone_rpn_data.csv") {
		x, y = append(x, number(t, row["x"])), append(y, number(t, row["y"]))
	}
	c := curve.NewCubic(x, y)
	for _, row := range table(t, "testdata/monotone_rpn_interpolated.csv") {
		at, want := number(t, row["x"]), number(t, row["fritsch_butland_weighted_harmonic_pchip"])
		if got := c.At(at); math.Abs(got-want) > 1e-11*max(1, want) {
			t.Errorf("at %g: %.12g, want %.12g", at, got, want)
		}
		if spline := number(t, row["natural_cubic_spline_not_monotone"]); at == 11 && c.At(at) > 1 && spline > 1 {
			t.Error("overshoots as a natural spline does")
		}
	}
	// Printed in a numerical library's manual to five digits: 0.0000 0.4640
	// 0.9645 0.9965 0.9992 (seen in a public copy).
	for i, want := range []float64{0, 0.4640, 0.9645, 0.9965, 0.9992} {
		at := 7.99 + float64(i)*1.201
		if got := c.At(at); math.Abs(got-want) > 0.00006 {
			t.Errorf("at %g: %.5f, printed %.4f", at, got, want)
		}
	}
}

// rising draws points that rise strictly in x and not everywhere in y.
func rising(t *rapid.T) (x, y []float64) {
	n := rapid.IntRange(2, 20).Draw(t, "points")
	x, y = make([]float64, n), make([]float64, n)
	x[0], y[0] = rapid.Float64Range(-5, 5).Draw(t, "x0"), rapid.Float64Range(-100, 100).Draw(t, "y0")
	for i := 1; i < n; i++ {
		x[i] = x[i-1] + rapid.Float64Range(0.001, 3).Draw(t, "dx")
		y[i] = y[i-1] + rapid.OneOf(rapid.Just(0.0), rapid.Float64Range(0, 50)).Draw(t, "dy")
	}
	return x, y
}

func TestCubicLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x, y := rising(t)
		c := curve.NewCubic(x, y)
		n := len(x)
		size := y[n-1] - y[0]
		for i := range x {
			if c.At(x[i]) != y[i] {
				t.Fatalf("misses point %d: %v, want %v", i, c.At(x[i]), y[i])
			}
		}
		before := c.At(x[0])
		for i := range n - 1 {
			for k := 1; k <= 20; k++ {
				at := x[i] + float64(k)/20*(x[i+1]-x[i])
				v := c.At(at)
				if v < before-1e-12*size || v < y[i] || v > y[i+1] {
					t.Fatalf("at %v: %v after %v, bracket %v to %v", at, v, before, y[i], y[i+1])
				}
				before = v
				if c.Slope(at) < 0 {
					t.Fatalf("slope %v at %v", c.Slope(at), at)
				}
				// Back again: the inverse holds the place, or the whole flat.
				lo, hi := c.Inverse(v)
				if lo > hi || math.Abs(c.At(lo)-v) > 1e-9*(1+size) || math.Abs(c.At(hi)-v) > 1e-9*(1+size) {
					t.Fatalf("inverse of %v is %v to %v, where the curve has %v and %v", v, lo, hi, c.At(lo), c.At(hi))
				}
			}
		}
	})
}

func TestCubicAgainstSciPy(t *testing.T) {
	type data struct {
		X  []float64 `json:"x"`
		Y  []float64 `json:"y"`
		At []float64 `json:"at"`
	}
	var in []data
	for k := range 40 {
		d := data{}
		x, y := 0.0, 0.0
		for i := range 2 + k%15 {
			d.X, d.Y = append(d.X, x), append(d.Y, y)
			x += 0.1 + math.Abs(math.Sin(float64(7*i+3*k)))
			y += math.Max(0, 10*math.Sin(float64(5*i+k)))
		}
		for i := range 101 {
			d.At = append(d.At, float64(i)/100*d.X[len(d.X)-1])
		}
		in = append(in, d)
	}
	var out []struct{ V, D []float64 }
	peer.Python(t, []string{"scipy", "numpy"}, `
import json, sys
import numpy as np
from scipy.interpolate import PchipInterpolator
out = []
for d in json.load(sys.stdin):
    p = PchipInterpolator(d["x"], d["y"])
    out.append({"V": list(p(np.array(d["at"]))), "D": list(p.derivative()(np.array(d["at"])))})
json.dump(out, sys.stdout)
`, in, &out)
	for k, d := range in {
		c := curve.NewCubic(d.X, d.Y)
		for i, at := range d.At {
			if math.Abs(c.At(at)-out[k].V[i]) > 1e-9 {
				t.Fatalf("case %d at %v: %.12g, SciPy's PCHIP %.12g", k, at, c.At(at), out[k].V[i])
			}
			if math.Abs(c.Slope(at)-max(0, out[k].D[i])) > 1e-7 {
				t.Fatalf("case %d at %v: slope %.12g, SciPy's PCHIP %.12g", k, at, c.Slope(at), out[k].D[i])
			}
		}
	}
}

func BenchmarkInverse(b *testing.B) {
	x, y := make([]float64, 11), make([]float64, 11)
	for i := range x {
		x[i] = float64(i) / 10
		y[i] = 90 * (x[i] + 0.1*math.Sin(3*x[i]))
	}
	c := curve.NewCubic(x, y)
	at := 0.0
	for b.Loop() {
		if at += 0.37; at > 90 {
			at -= 90
		}
		c.Inverse(at)
	}
}
