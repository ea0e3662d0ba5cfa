package doubt_test

import (
	"math"
	"math/rand/v2"
	"runtime"
	"sort"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/internal/doubt"
)

// rectangular gives a value of a rectangular distribution of mean 0 and
// standard deviation sd.
func rectangular(random *rand.Rand, sd float64) float64 {
	return sd * math.Sqrt(3) * (2*random.Float64() - 1)
}

// JCGM 101:2008, 9.2, the additive model Y = X1 + X2 + X3 + X4. Published: for
// four normal X of standard deviation 1, u = 2.0, 95 % interval ±3.92; for four
// rectangular ones ±3.88 (exactly 2√3(2 − (3/5)^¼)); with one of the rectangular
// ones ten times as wide u = 10.1 and ±17.0 (17.0158 from the exact
// convolution, recomputed independently).
func TestAdditiveModel(t *testing.T) {
	tests := []struct {
		clause      string
		draw        func(*rand.Rand) float64
		u, interval float64
	}{
		{"9.2.2", func(r *rand.Rand) float64 {
			return r.NormFloat64() + r.NormFloat64() + r.NormFloat64() + r.NormFloat64()
		}, 2, 3.91992796908},
		{"9.2.3", func(r *rand.Rand) float64 {
			return rectangular(r, 1) + rectangular(r, 1) + rectangular(r, 1) + rectangular(r, 1)
		}, 2, 2 * math.Sqrt(3) * (2 - math.Pow(0.6, 0.25))},
		{"9.2.4", func(r *rand.Rand) float64 {
			return rectangular(r, 1) + rectangular(r, 1) + rectangular(r, 1) + rectangular(r, 10)
		}, math.Sqrt(103), 17.0158140627},
	}
	for _, test := range tests {
		model := func(random *rand.Rand) func([]float64) {
			return func(out []float64) { out[0] = test.draw(random) }
		}
		tolerance := 0.005 * test.u
		p, err := doubt.Propagate(1, model, doubt.Rule{Tolerance: tolerance, Blocks: 400, Seed: 7})
		if err != nil {
			t.Fatal(err)
		}
		if !p.Reached {
			t.Errorf("%s: not stable after %d trials: %v", test.clause, p.Trials, p.Error)
		}
		// The tolerance is two standard deviations; four must hold.
		for what, pair := range map[string][2]float64{
			"mean": {p.Results[0].Mean, 0}, "u": {p.Results[0].U, test.u},
			"low": {p.Results[0].Low, -test.interval}, "high": {p.Results[0].High, test.interval},
		} {
			if math.Abs(pair[0]-pair[1]) > 2*tolerance {
				t.Errorf("%s: %s %.4f, published or exact %.4f, tolerance %.4f, %d trials", test.clause, what, pair[0], pair[1], tolerance, p.Trials)
			}
		}
	}
}

// JCGM 101:2008, 9.3, mass calibration (figures from memory): conventional mass
// of the reference 100 000.000 mg, u 0.050; added mass 1.234 mg, u 0.020; air
// density a rectangular on 1.10 … 1.30 kg/m³, density of the weight rectangular
// 7 000 … 9 000, of the reference 7 950 … 8 050 kg/m³. The model
// m = (mR + δm)[1 + (a − 1.2)(1/ρW − 1/ρR)] − 100 000 mg gives, published,
// 1.2341 mg, u 0.0754 mg, interval 1.0834 to 1.3825 mg by Monte Carlo; the
// first-order propagation gives only u = 0.0539.
func TestMassCalibration(t *testing.T) {
	model := func(random *rand.Rand) func([]float64) {
		between := func(a, b float64) float64 { return a + (b-a)*random.Float64() }
		return func(out []float64) {
			reference := 100_000 + 0.050*random.NormFloat64()
			added := 1.234 + 0.020*random.NormFloat64()
			air, weight, standard := between(1.10, 1.30), between(7000, 9000), between(7950, 8050)
			out[0] = (reference+added)*(1+(air-1.2)*(1/weight-1/standard)) - 100_000
		}
	}
	const tolerance = 0.0005
	p, err := doubt.Propagate(1, model, doubt.Rule{Tolerance: tolerance, Blocks: 400, Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	for what, pair := range map[string][2]float64{
		"estimate": {p.Results[0].Mean, 1.2341}, "u": {p.Results[0].U, 0.0754},
		"low": {p.Results[0].Low, 1.0834}, "high": {p.Results[0].High, 1.3825},
	} {
		if math.Abs(pair[0]-pair[1]) > 2*tolerance {
			t.Errorf("%s %.5f, published %.4f", what, pair[0], pair[1])
		}
	}
}

// The same figures on any machine: on one core as on all.
func TestPropagateIsTheSameOnAnyNumberOfCores(t *testing.T) {
	model := func(random *rand.Rand) func([]float64) {
		return func(out []float64) { out[0], out[1] = random.NormFloat64(), random.ExpFloat64() }
	}
	rule := doubt.Rule{Tolerance: 0.02, Seed: 42}
	once := func(cores int) doubt.Propagation {
		defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(cores))
		p, err := doubt.Propagate(2, model, rule)
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
	one := once(1)
	for _, cores := range []int{2, 3, 7} {
		if many := once(cores); many.Trials != one.Trials || many.Results[0] != one.Results[0] || many.Results[1] != one.Results[1] {
			t.Errorf("on %d cores %+v, on one %+v", cores, many, one)
		}
	}
	rule.Seed++
	if other := once(1); other.Results[0] == one.Results[0] {
		t.Error("another seed gave the same figures")
	}
}

func TestPropagateRefuses(t *testing.T) {
	model := func(random *rand.Rand) func([]float64) { return func(out []float64) { out[0] = random.NormFloat64() } }
	for name, in := range map[string]struct {
		n    int
		rule doubt.Rule
	}{
		"no result":       {0, doubt.Rule{Tolerance: 1}},
		"no tolerance":    {1, doubt.Rule{}},
		"not a number":    {1, doubt.Rule{Tolerance: math.NaN()}},
		"probability one": {1, doubt.Rule{Tolerance: 1, P: 1}},
	} {
		if p, err := doubt.Propagate(in.n, model, in.rule); err == nil {
			t.Errorf("%s: %+v", name, p)
		}
	}
	// What can't become stable says so.
	p, err := doubt.Propagate(1, model, doubt.Rule{Tolerance: 1e-9, Blocks: 3})
	if err != nil || p.Reached || p.Trials != 3*doubt.Trials || p.Error <= 1 {
		t.Errorf("%+v, %v", p, err)
	}
}

func TestSummariseTakesTheRightRanks(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 300).Draw(t, "n")
		v := rapid.SliceOfN(rapid.OneOf(rapid.Float64Range(-5, 5), rapid.Just(1.0)), n, n).Draw(t, "values")
		sorted := append([]float64(nil), v...)
		sort.Float64s(sorted)
		s := doubt.Summarise(v, 0.95)
		q := min(n-1, int(0.95*float64(n)+0.5))
		r := max(1, (n-q+1)/2)
		if s.Low != sorted[r-1] || s.High != sorted[min(n-1, r-1+q)] {
			t.Fatalf("%v to %v, want %v to %v", s.Low, s.High, sorted[r-1], sorted[min(n-1, r-1+q)])
		}
	})
}

// JCGM 100:2008, H.1.6: contributions of 25, 9.7, 2.9 and 16.6 nm with 18,
// 25.6, 50 and 2 degrees of freedom: 32 nm in all, 16 effective degrees of
// freedom (16.7, published), t for 99 % and 16 degrees 2.92.
func TestBudgetGUMH1(t *testing.T) {
	var b doubt.Budget
	for _, l := range [][2]float64{{25, 18}, {9.7, 25.6}, {2.9, 50}, {16.6, 2}} {
		b.Lines = append(b.Lines, doubt.Line{U: l[0], DF: l[1], Sensitivity: 1})
	}
	near(t, "combined", b.Combined(), 31.671, 1e-4)
	near(t, "degrees of freedom", b.DF(), 16.76, 1e-3)
	near(t, "k for 99 %", b.Coverage(0.99), 2.92078, 1e-5)
	sum := 0.0
	for i := range b.Lines {
		sum += b.Share(i)
	}
	near(t, "all shares", sum, 1, 1e-12)
	// t(0.975) for 5, 10 and unlimited degrees (tables).
	near(t, "t 5", doubt.Factor(0.95, 5), 2.57058, 1e-5)
	near(t, "t 10", doubt.Factor(0.95, 10.9), 2.22814, 1e-5)
	near(t, "normal", doubt.Factor(0.95, math.Inf(1)), 1.959964, 1e-6)
	if u := (doubt.Budget{}).Combined(); u != 0 {
		t.Errorf("an empty budget comes to %v", u)
	}
}

func BenchmarkPropagateAdditive(b *testing.B) {
	model := func(random *rand.Rand) func([]float64) {
		return func(out []float64) {
			out[0] = random.NormFloat64() + random.NormFloat64() + random.NormFloat64() + random.NormFloat64()
		}
	}
	for b.Loop() {
		if _, err := doubt.Propagate(1, model, doubt.Rule{Tolerance: 0.02}); err != nil {
			b.Fatal(err)
		}
	}
}
