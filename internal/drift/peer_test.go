package drift

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"

	"gaugewright/internal/curve"
	"gaugewright/internal/peer"
	"gaugewright/internal/quantity"
)

// Tails and quantiles of χ², F, Student's t and noncentral χ² as SciPy has them.
func TestDistributionsAgainstScipy(t *testing.T) {
	type point struct {
		X, N, NU, Lambda, P float64
	}
	var in []point
	var got [][5]float64
	for _, n := range []float64{1, 2, 5, 10, 24} {
		for _, nu := range []float64{1, 3, 8.5, 40, 900} {
			for _, x := range []float64{0.3, 4, 25, 90} {
				p := point{x, n, nu, x, 0.001}
				in = append(in, p)
				got = append(got, [5]float64{
					tailWhole(x, int(n), math.Inf(1)), tailWhole(x, int(n), nu), quantileWhole(p.P, int(n), nu),
					tailSharp(math.Sqrt(x), nu), wholePower(x, 20, int(n)),
				})
			}
		}
	}
	var out [][5]float64
	peer.Python(t, []string{"scipy"}, `
import json, sys
from scipy.stats import chi2, f, t, ncx2
out = []
for p in json.load(sys.stdin):
    x, n, nu = p["X"], p["N"], p["NU"]
    out.append([chi2.sf(x, n), f.sf(x / n, n, nu), n * f.isf(p["P"], n, nu), t.sf(x ** 0.5, nu), ncx2.sf(20, n, p["Lambda"])])
json.dump(out, sys.stdout)
`, in, &out)
	for i, want := range out {
		for k := range want {
			if math.Abs(got[i][k]-want[k]) > 1e-8*math.Abs(want[k])+1e-12 {
				t.Errorf("%+v, figure %d: %.12g, SciPy %.12g", in[i], k, got[i][k], want[k])
			}
		}
	}
}

// The statistics, the parameter of a cause and its uncertainty again in NumPy:
// generalised least squares as ordinary least squares of whitened figures
// (numpy.linalg.lstsq).
func TestGeneralisedLeastSquaresAgainstNumpy(t *testing.T) {
	b := benchOf(t, func(m float64) float64 { return 2 + 90*m }, func(m float64) float64 { return 2.9 + 92.3*m })
	v := judge(b.change, b.directions(), 0.01, 0)
	var series fitted
	for _, f := range b.fit(v) {
		if f.cause == Series {
			series = f
		}
	}
	n := len(b.r)
	cov := make([][]float64, n)
	for i := range cov {
		cov[i] = mat.Row(nil, i, b.v)
	}
	var out struct{ T, Z, R, U, Chi float64 }
	peer.Python(t, []string{"numpy"}, `
import json, sys
import numpy as np
g = json.load(sys.stdin)
V, r = np.array(g["V"]), np.array(g["R"])
L = np.linalg.cholesky(V)
w, d = np.linalg.solve(L, r), np.linalg.solve(L, np.ones(len(r)))
fit, left, _, _ = np.linalg.lstsq(d[:, None], w, rcond=None)
json.dump({"T": w @ w, "Z": (d @ w) / np.sqrt(d @ d), "R": fit[0], "U": 1 / np.sqrt(d @ d), "Chi": left[0]}, sys.stdout)
`, map[string]any{"V": cov, "R": b.r}, &out)
	var z float64
	for _, d := range v.directions {
		if d.cause == Series {
			z = d.z
		}
	}
	for _, c := range []struct {
		what      string
		got, want float64
	}{
		{"the statistic", v.whole.Statistic, out.T}, {"the statistic in series", z, out.Z},
		{"the resistance", series.parameter, out.R}, {"its uncertainty", series.u, out.U}, {"what is left", series.chi, out.Chi},
	} {
		if math.Abs(c.got-c.want) > 1e-6*math.Abs(c.want) {
			t.Errorf("%s is %.9g, NumPy %.9g", c.what, c.got, c.want)
		}
	}
}

// The power by draws is that of noncentral χ² where one direction is all there
// is: one reading, of which both tests see the same.
func TestPowerOfOneReadingAgainstScipy(t *testing.T) {
	c := change{r: []float64{0}, v: mat.NewSymDense(1, []float64{4}), s: mat.NewSymDense(1, nil)}
	v := judge(c, []direction{{cause: Offset, to: 1, d: []float64{1}, both: true}}, 0.01, 0)
	var out struct{ Least, Power float64 }
	peer.Python(t, []string{"scipy"}, `
import json, sys
from scipy.stats import chi2, ncx2
from scipy.optimize import brentq
k = chi2.isf(0.01, 1)
json.dump({"Least": brentq(lambda l: ncx2.sf(k, 1, l) - 0.95, 1, 100) ** 0.5, "Power": ncx2.sf(k, 1, 9.0)}, sys.stdout)
`, nil, &out)
	if got := v.least(v.directions[0]) / 2; math.Abs(got-out.Least) > 0.06 {
		t.Errorf("found with 95 %% from %.3f standard uncertainties on, SciPy %.3f", got, out.Least)
	}
	if got := v.finds(v.directions[0], 6); math.Abs(got-out.Power) > 0.02 {
		t.Errorf("a change of three is found with %.3f, SciPy %.3f", got, out.Power)
	}
}

// No direction says more than the change as a whole, and the change's own says
// all of it (the Cauchy–Schwarz inequality in V⁻¹).
func TestGreatestStatisticIsTheWhole(t *testing.T) {
	b := benchOf(t, func(m float64) float64 { return 240 - 207*m }, func(m float64) float64 { return 244 - 203*m })
	list := []direction{{cause: Unnamed, to: len(b.r), d: b.r}}
	v := judge(b.change, list, 0.01, 0)
	if got, want := v.directions[0].z*v.directions[0].z, v.whole.Statistic; math.Abs(got-want) > 1e-9*want {
		t.Errorf("along the change itself %.9g, as a whole %.9g", got, want)
	}
	for _, d := range b.directions() {
		all := []direction{d}
		measured(all, v.frame, b.r)
		if all[0].z*all[0].z > v.whole.Statistic*(1+1e-9) {
			t.Errorf("along %s more than the whole", d.cause)
		}
	}
}

func benchOf(t *testing.T, before, after func(m float64) float64) *bench {
	t.Helper()
	random := rand.New(rand.NewPCG(3, 4))
	read := func(at func(float64) float64, marks ...float64) curve.Sheet {
		var s curve.Sheet
		for _, m := range marks {
			for range 2 {
				v := math.Round(10*(at(m)+0.2*random.NormFloat64())) / 10
				s.Readings = append(s.Readings, curve.Reading{Mark: m, Ohm: quantity.Ohm(max(0, v))})
			}
		}
		return s
	}
	c, err := curve.Fit(read(before, 0, 0.2, 0.4, 0.6, 0.8, 1), curve.Options{})
	if err != nil {
		t.Fatal(err)
	}
	b, err := against(c, read(after, 0.1, 0.3, 0.5, 0.7, 0.9), curve.Doubts{})
	if err != nil {
		t.Fatal(err)
	}
	return b
}
