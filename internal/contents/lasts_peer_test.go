package contents_test

import (
	"math"
	"testing"

	"gaugewright/internal/contents"
	"gaugewright/internal/peer"
)

// The ratio of a normal to a rectangular quantity: its distribution function by
// SciPy's quadrature over the rate, and its quantiles by SciPy's root finder.
func TestBurnTimeAgainstSciPy(t *testing.T) {
	type given struct {
		M, U, A, B float64
	}
	var cases []given
	var ours []contents.Duration
	for _, c := range []given{{5, 0.25, 100, 160}, {5, 1, 100, 160}, {1, 0.6, 20, 200}, {11, 0.01, 129, 131}, {0.2, 0.3, 50, 60}, {20, 3, 1, 900}, {8, 0.5, 70, 220}, {5, 0.25, 130, 130.0001}} {
		s, l := lastsBurn(c.M, c.U, c.A, c.B)
		d, err := contents.BurnTime(s, l)
		if err != nil {
			t.Fatal(err)
		}
		cases, ours = append(cases, given{c.M, c.U, c.A / 1000, c.B / 1000}), append(ours, d)
	}
	var answers [][3]float64
	peer.Python(t, []string{"scipy"}, `
import json, sys
from scipy.integrate import quad
from scipy.optimize import brentq
from scipy.stats import norm
out = []
for c in json.load(sys.stdin):
    m, u, a, b = c["M"], c["U"], c["A"], c["B"]
    def below(t):
        edges = sorted(x for x in {a, b, *[(m + k*u)/t for k in (-6, -3, 0, 3, 6)]} if a <= x <= b) if t > 0 else [a, b]
        return sum(quad(lambda r: norm.cdf((t*r - m)/u), x, y, epsabs=1e-13, epsrel=1e-13)[0] for x, y in zip(edges, edges[1:]))/(b - a)
    row = []
    for p in (0.025, 0.5, 0.975):
        row.append(0.0 if below(0) >= p else brentq(lambda t: below(t) - p, 1e-9, (m + 10*u)/a, xtol=1e-12, rtol=1e-14))
    out.append(row)
print(json.dumps(out))
`, cases, &answers)
	for i, a := range answers {
		lastsEstimate(t, "case "+string(rune('0'+i)), ours[i].Hours(), contents.Estimate{Low: a[0], Mid: a[1], High: a[2]}, 1e-7)
	}
}

// Several loads against NumPy's own two million draws of the same model.
func TestLastsAgainstNumPy(t *testing.T) {
	s := loadsPropane()
	s.Left, s.Heel = contents.Known{Value: 8, U: 0.6, Half: 0.3}, contents.Between{Low: 0.2, High: 0.4}
	loads := contents.GasLoads()[:5]
	loads[1].DaysShare = contents.Between{Low: 0.3, High: 0.7}
	loads[3].Count = 2
	loads[4].Plate = contents.PlateGross
	type load struct{ Rate, Hours, Days, Per []float64 }
	in := struct {
		M, U, Half float64
		Heel       []float64
		Loads      []load
	}{s.Left.Value, s.Left.U, s.Left.Half, []float64{s.Heel.Low, s.Heel.High}, nil}
	for _, l := range loads {
		days := []float64{1, 1}
		if l.DaysShare != (contents.Between{}) {
			days = []float64{l.DaysShare.Low, l.DaysShare.High}
		}
		per := []float64{3600 / s.GrossHeat, 3600 / s.NetHeat}
		if l.Plate == contents.PlateGross {
			per = per[:1]
		}
		n := float64(max(1, l.Count))
		in.Loads = append(in.Loads, load{[]float64{n * l.Rate.Low, n * l.Rate.High}, []float64{l.HoursPerDay.Low, l.HoursPerDay.High}, days, per})
	}
	var want struct{ Days, PerDay []float64 }
	peer.Python(t, []string{"numpy"}, `
import json, sys
import numpy as np
c = json.load(sys.stdin)
g, n = np.random.default_rng(7), 2_000_000
left = c["M"] + g.normal(0, c["U"], n) + g.uniform(-c["Half"], c["Half"], n)
usable = np.maximum(0, left - g.uniform(*c["Heel"], n))
day = np.zeros(n)
for l in c["Loads"]:
    day += g.uniform(*l["Rate"], n)*g.uniform(*l["Hours"], n)*g.uniform(*l["Days"], n)*g.choice(l["Per"], n)
q = [0.025, 0.5, 0.975]
print(json.dumps({"Days": list(np.quantile(usable/day, q)), "PerDay": list(np.quantile(day, q))}))
`, in, &want)
	got, err := contents.Lasts(s, loads)
	if err != nil {
		t.Fatal(err)
	}
	// The tolerance of the calculation is 0.001 in t/(t + T), up to 1 % of t.
	for i, v := range []float64{got.Left.Days().Low, got.Left.Days().Mid, got.Left.Days().High} {
		if math.Abs(v/want.Days[i]-1) > 0.012 {
			t.Errorf("days %d: %v, NumPy has %v", i, v, want.Days[i])
		}
	}
	for i, v := range []float64{got.PerDay.Low, got.PerDay.Mid, got.PerDay.High} {
		if math.Abs(v/want.PerDay[i]-1) > 0.01 {
			t.Errorf("kg a day %d: %v, NumPy has %v", i, v, want.PerDay[i])
		}
	}
}
