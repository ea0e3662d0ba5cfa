package outlook

import (
	"math"
	"math/rand/v2"
	"testing"

	"gaugewright/internal/peer"
)

// nile is the flow of the Nile at Aswan, 1871 to 1970, in 10^8 m³ a year (G. W. Cobb,
// The problem of the Nile, Biometrika 65, 1978, table 1), the example of chapter 2 of
// J. Durbin and S. J. Koopman, Time Series Analysis by State Space Methods.
var nile = [...]float64{
	1120, 1160, 963, 1210, 1160, 1160, 813, 1230, 1370, 1140, 995, 935, 1110, 994, 1020, 960, 1180, 799, 958, 1140,
	1100, 1210, 1150, 1250, 1260, 1220, 1030, 1100, 774, 840, 874, 694, 940, 833, 701, 916, 692, 1020, 1050, 969,
	831, 726, 456, 824, 702, 1120, 1100, 832, 764, 821, 768, 845, 864, 862, 698, 845, 744, 796, 1040, 759,
	781, 865, 845, 944, 984, 897, 822, 1010, 771, 676, 649, 846, 812, 742, 801, 1040, 860, 874, 848, 890,
	744, 749, 838, 1050, 918, 986, 797, 923, 975, 815, 1020, 906, 901, 1170, 912, 746, 919, 718, 714, 740,
}

// The variances that Durbin and Koopman give for it.
const nileScatter, nileDrift = 15099.0, 1469.1

// nileRun takes a filter through the years as if each flow were a day's use.
func nileRun(scatter, drift float64, each func(i int, f *filter)) filter {
	f := filter{prr: 1e6}
	sum := 0.0
	for i, y := range nile {
		d := drift
		if i == 0 {
			d = 0
		}
		f.foretell(1, scatter, d)
		sum += y
		f.take(sum, 0)
		if each != nil {
			each(i, &f)
		}
	}
	return f
}

// TestNile holds the filter to the worked example: the filtered level and its variance
// as statsmodels 0.13.5 gives them for the book's variances (UnobservedComponents,
// local level, first variance 1e6), among them the variance 4032.16 at which the book
// has it settle and the level 798.37 from which it forecasts.
func TestNile(t *testing.T) {
	want := map[int][2]float64{
		0:  {1103.3406593839616, 14874.41126432002},
		1:  {1132.791633061054, 7848.313212182757},
		2:  {1067.9983814293282, 5761.846380472964},
		9:  {1162.4264345917222, 4051.1022102540264},
		27: {1133.1245308416483, 4032.1582044326296},
		28: {1037.2210352592224, 4032.1580828950587},
		49: {849.0705643108336, 4032.1579418087795},
		98: {819.6372663004857, 4032.1579418087795},
		99: {798.3702926083575, 4032.1579418087795},
	}
	nileRun(nileScatter, nileDrift, func(i int, f *filter) {
		w, ok := want[i]
		if !ok {
			return
		}
		if math.Abs(f.rate-w[0]) > 1e-6 || math.Abs(f.prr-w[1]) > 1e-4 {
			t.Errorf("year %d: level %.7f variance %.6f, want %.7f and %.6f", 1871+i, f.rate, f.prr, w[0], w[1])
		}
	})
}

// The likelihood is greatest at the book's variances: any step of a hundredth away from
// them makes it less, but for what their own digits leave open. Its value is -632.54
// (statsmodels), less that of the first year and the constants.
func TestNileLikelihood(t *testing.T) {
	best := nileRun(nileScatter, nileDrift, nil).like
	for _, by := range [][2]float64{{1.05, 1}, {0.95, 1}, {1, 1.2}, {1, 0.8}} {
		if l := nileRun(nileScatter*by[0], nileDrift*by[1], nil).like; l >= best {
			t.Errorf("variances ×%v are likelier (%.6f) than the book's (%.6f)", by, l, best)
		}
	}
	var first filter
	first.prr = 1e6
	first.foretell(1, nileScatter, 0)
	first.take(nile[0], 0)
	if got := best - first.like - 99*0.5*math.Log(2*math.Pi); math.Abs(got+632.54) > 0.03 {
		t.Errorf("log-likelihood %.4f, want -632.54", got)
	}
}

// TestFilterAgainstPlainAlgebra asks NumPy for the mean of the rate given all that was
// seen, by the joint normal distribution of everything at once: no recursion. The
// doubt of the levels, parts of days, gaps and slips are in it.
func TestFilterAgainstPlainAlgebra(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	type row struct{ Part, Scatter, Drift, Noise, Seen float64 }
	var rows []row
	f := filter{rate: 0.7, prr: 4}
	seen := 0.0
	for i := range 40 {
		v := row{Part: r.Float64() * 1.5, Scatter: 0.01 + 0.2*r.Float64(), Drift: 0.02 * r.Float64(), Noise: 0.3 * r.Float64()}
		if i%7 == 3 {
			v.Part = 0
		}
		seen += v.Part*0.9 + 0.1*r.NormFloat64()
		v.Seen = seen
		rows = append(rows, v)
		f.foretell(v.Part, v.Scatter, v.Drift)
		f.take(v.Seen, v.Noise)
	}
	var got struct{ Rate, Var, Like float64 }
	peer.Python(t, []string{"numpy"}, `
import json, sys
import numpy as np
rows = json.load(sys.stdin)
n = len(rows)
part = np.array([x["Part"] for x in rows])
# Independent sources: the first rate, each drift, each scatter, each noise.
rate = np.zeros((n, 1 + 3 * n)); seen = np.zeros((n, 1 + 3 * n))
var = np.concatenate([[4.0], [x["Drift"] for x in rows], [x["Scatter"] for x in rows], [x["Noise"] for x in rows]])
for i in range(n):
    rate[i, 0] = 1; rate[i, 1:i + 2] = 1
drawn = np.cumsum(part[:, None] * rate, axis=0)
for i in range(n):
    drawn[i, 1 + n:1 + n + i + 1] = 1
    seen[i] = drawn[i]; seen[i, 1 + 2 * n + i] = 1
mean = np.cumsum(part * 0.7)
y = np.array([x["Seen"] for x in rows])
S = seen @ np.diag(var) @ seen.T
c = rate[-1] @ np.diag(var) @ seen.T
k = np.linalg.solve(S, c)
e = y - mean
sign, logdet = np.linalg.slogdet(S)
json.dump({"Rate": 0.7 + k @ e, "Var": rate[-1] @ np.diag(var) @ rate[-1] - k @ c,
           "Like": -0.5 * (logdet + e @ np.linalg.solve(S, e))}, sys.stdout)
`, rows, &got)
	for _, v := range []struct {
		name       string
		mine, want float64
	}{{"rate", f.rate, got.Rate}, {"variance", f.prr, got.Var}, {"log-likelihood", f.like, got.Like}} {
		if math.Abs(v.mine-v.want) > 1e-9*max(1, math.Abs(v.want)) {
			t.Errorf("%s %.12f, plain algebra has %.12f", v.name, v.mine, v.want)
		}
	}
}
