package doubt_test

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/internal/doubt"
	"gaugewright/internal/peer"
)

func decide(t fatalf, e, u, tolerance, r float64) doubt.Decision {
	d, err := doubt.Decide(e, u, tolerance, r)
	if err != nil {
		t.Fatalf("Decide(%g, %g, %g, %g): %v", e, u, tolerance, r, err)
	}
	return d
}

type fatalf interface{ Fatalf(string, ...any) }

// Worked examples of JCGM 106:2012, 7.3 and 7.4, figures from memory, each to
// the two digits printed there. The one-sided ones are made two-sided by a
// second limit that is out of reach.
func TestConformityPublished(t *testing.T) {
	const away = 1e6
	for _, c := range []struct {
		name         string
		y, u         float64
		lower, upper float64
		want         float64
	}{
		{"breakdown voltage of a diode, at most −5.40 V", -5.47, 0.05, -5.40 - away, -5.40, 0.92},
		{"burst pressure of a container, at least 490 kPa", 509.7, 8.6, 490, 490 + away, 0.99},
		{"viscosity of a motor oil, 12.5 to 16.3 mm²/s", 13.6, 1.8, 12.5, 16.3, 0.66},
	} {
		middle, half := (c.lower+c.upper)/2, (c.upper-c.lower)/2
		if got := doubt.Conformity(c.y-middle, c.u, half); math.Abs(got-c.want) > 0.005 {
			t.Errorf("%s: %.4f, published %.2f", c.name, got, c.want)
		}
	}
	// JCGM 106:2012, table 1 (from memory): z = (T − y)/u for a one-sided
	// probability, to two decimals.
	for want, z := range map[float64]float64{0.80: 0.84, 0.90: 1.28, 0.95: 1.64, 0.99: 2.33, 0.999: 3.09} {
		low, high := doubt.Conformity(away-z+0.005, 1, away), doubt.Conformity(away-z-0.005, 1, away)
		if !(low <= want && want <= high) {
			t.Errorf("z = %g gives %.5f to %.5f, published %g", z, low, high, want)
		}
	}
}

// SciPy's normal distribution, by its own cdf and, where both tails are small,
// by its survival function.
func TestConformityAgainstSciPy(t *testing.T) {
	type point struct{ E, U, T float64 }
	var in []point
	for _, u := range []float64{0.01, 0.2, 0.4, 1, 3, 40} {
		for _, e := range []float64{0, 0.3, -0.3, 1, 1.9999, 2, -2.5, 4, 7} {
			for _, tolerance := range []float64{0.001, 0.5, 2, 5} {
				in = append(in, point{e, u, tolerance})
			}
		}
	}
	var want []float64
	peer.Python(t, []string{"scipy"}, `
import json, sys
from scipy.stats import norm
out = []
for p in json.load(sys.stdin):
    e, u, t = abs(p["E"]), p["U"], p["T"]
    if e > t:
        out.append(float(norm.sf((e - t) / u) - norm.sf((e + t) / u)))
    else:
        out.append(float(norm.cdf((t - e) / u) - norm.cdf((-t - e) / u)))
print(json.dumps(out))
`, in, &want)
	if len(want) != len(in) {
		t.Fatalf("sent %d, got %d", len(in), len(want))
	}
	for i, p := range in {
		got := doubt.Conformity(p.E, p.U, p.T)
		if math.Abs(got-want[i]) > 1e-13 || p.T > 0.1 && math.Abs(got-want[i]) > 1e-11*want[i]+1e-300 {
			t.Errorf("e %g, u %g, T %g: %.17g, SciPy %.17g", p.E, p.U, p.T, got, want[i])
		}
	}
}

// By hand. T = 2 and u = 0.4: w = 0.8, borders at 1.2, 2 and 2.8.
func TestDecide(t *testing.T) {
	for _, c := range []struct {
		name               string
		e, u, tolerance, r float64
		want               doubt.Verdict
		probability        float64
		guard              float64
		coarse             bool
	}{
		{"no error", 0, 0.4, 2, 1, doubt.Pass, 0.9999994267, 0.8, false},                  // 2Φ(5) − 1
		{"on the acceptance limit", 1.2, 0.4, 2, 1, doubt.Pass, 0.9772498680, 0.8, false}, // Φ(2) − Φ(−8)
		{"just beyond it", 1.2001, 0.4, 2, 1, doubt.ConditionalPass, 0.9772363669, 0.8, false},
		{"on the tolerance", -2, 0.4, 2, 1, doubt.ConditionalPass, 0.5, 0.8, false},
		{"just beyond that", 2.0001, 0.4, 2, 1, doubt.ConditionalFail, 0.4999002642, 0.8, false},
		{"on the rejection limit", -2.8, 0.4, 2, 1, doubt.ConditionalFail, 0.0227501319, 0.8, false}, // Φ(−2)
		{"just beyond that too", 2.8001, 0.4, 2, 1, doubt.Fail, 0.0227366376, 0.8, false},
		{"half a guard band", 1.5, 0.4, 2, 0.5, doubt.Pass, 0.8943502263, 0.4, false}, // Φ(1.25)
		{"no guard band", 1.99, 0.4, 2, 0, doubt.Pass, 0.5099725182, 0, false},        // Φ(0.025)
		{"no doubt, within", 2, 0, 2, 1, doubt.Pass, 1, 0, false},
		{"no doubt, beyond", 2.01, 0, 2, 1, doubt.Fail, 0, 0, false},
		{"nothing left", 0, 1, 2, 1, doubt.ConditionalPass, 0.9544997361, 2, true}, // 2Φ(2) − 1
		{"less than nothing left", 0.1, 3, 2, 1, doubt.ConditionalPass, 0.4947783527, 6, true},
	} {
		d := decide(t, c.e, c.u, c.tolerance, c.r)
		if d.Verdict != c.want || math.Abs(d.Probability-c.probability) > 1e-9 || math.Abs(d.GuardBand-c.guard) > 1e-12 || d.Coarse != c.coarse {
			t.Errorf("%s: %+v, want %v with %.10f, guard %g, coarse %v", c.name, d, c.want, c.probability, c.guard, c.coarse)
		}
	}
	// What 0.24 − 0.25 comes to in floating point (a constant would be exact)
	// stays on its border.
	shown, full := 0.24, 1.0
	if d := decide(t, shown-0.25, 0.005, 0.02, 1); d.Verdict != doubt.Pass {
		t.Errorf("an error on the acceptance limit but for rounding: %v", d.Verdict)
	}
	if d := decide(t, 0.98-full, 0, 0.02, 1); d.Verdict != doubt.Pass || d.Probability != 1 {
		t.Errorf("an error of the tolerance but for rounding: %+v", d)
	}
	if d := decide(t, 0.98-full, 0.004, 0.02, 1); d.Verdict != doubt.ConditionalPass {
		t.Errorf("an error of the tolerance but for rounding, in doubt: %v", d.Verdict)
	}
}

func TestDecideRefuses(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []struct {
		e, u, tolerance, r float64
		says               string
	}{
		{nan, 1, 1, 1, "an error of NaN can't be judged"},
		{-inf, 1, 1, 1, "an error of -Inf can't be judged"},
		{0, nan, 1, 1, "a standard uncertainty of NaN can't be"},
		{0, -0.1, 1, 1, "a standard uncertainty of -0.1 can't be; expected a number, 0 or more"},
		{0, inf, 1, 1, "a standard uncertainty of +Inf can't be"},
		{0, 1, 0, 1, "a tolerance of 0 can't be; expected a number above 0"},
		{0, 1, -2, 1, "a tolerance of -2 can't be"},
		{0, 1, nan, 1, "a tolerance of NaN can't be"},
		{0, 1, inf, 1, "a tolerance of +Inf can't be"},
		{0, 1, 1, -1, "a guard band of -1 times the expanded uncertainty can't be"},
		{0, 1, 1, nan, "a guard band of NaN times the expanded uncertainty can't be"},
		{0, 1e308, 1, 1, "too large to reckon with"},
	} {
		if d, err := doubt.Decide(c.e, c.u, c.tolerance, c.r); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%g, %g, %g, %g: %+v, %v; want %q", c.e, c.u, c.tolerance, c.r, d, err, c.says)
		}
	}
	for _, bad := range [][3]float64{{nan, 1, 1}, {0, -1, 1}, {0, 1, 0}, {0, nan, 1}} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%v has a probability", bad)
				}
			}()
			doubt.Conformity(bad[0], bad[1], bad[2])
		}()
	}
}

// Laws of the rule, for any error, doubt, tolerance and guard band.
func TestDecisionLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := rapid.Float64Range(-10, 10).Draw(t, "e")
		u := rapid.OneOf(rapid.Just(0.0), rapid.Float64Range(1e-6, 8)).Draw(t, "u")
		tolerance := rapid.Float64Range(0.01, 8).Draw(t, "T")
		r := rapid.SampledFrom([]float64{1, 1, 0, 0.5, 2}).Draw(t, "r")
		d := decide(t, e, u, tolerance, r)
		if !(d.Probability >= 0 && d.Probability <= 1) {
			t.Fatalf("probability %g", d.Probability)
		}
		if m := decide(t, -e, u, tolerance, r); m != d {
			t.Fatalf("%+v at %g and %+v at %g", d, e, m, -e)
		}
		// Further off is never better, and never more probable.
		further := math.Abs(e) * (1 + rapid.Float64Range(0, 3).Draw(t, "further"))
		if f := decide(t, further, u, tolerance, r); f.Verdict < d.Verdict || f.Probability > d.Probability+1e-15 {
			t.Fatalf("%+v at %g, and %+v at %g", d, e, f, further)
		}
		// Nor does a wider tolerance make it worse.
		if w := decide(t, e, u, tolerance*1.5, r); w.Verdict > d.Verdict || w.Probability < d.Probability-1e-15 {
			t.Fatalf("%+v at tolerance %g, and %+v at %g", d, tolerance, w, tolerance*1.5)
		}
		// Doubt makes a pass harder, and a fail too.
		if more := decide(t, e, u*2, tolerance, r); more.Verdict.Within() != d.Verdict.Within() ||
			d.Verdict == doubt.ConditionalPass && more.Verdict == doubt.Pass || d.Verdict == doubt.ConditionalFail && more.Verdict == doubt.Fail {
			t.Fatalf("%+v with u = %g, and %+v with twice that", d, u, more)
		}
		if within := math.Abs(e) <= tolerance; within != d.Verdict.Within() && math.Abs(math.Abs(e)-tolerance) > 1e-6*tolerance {
			t.Fatalf("|e| ≤ T is %v, and the verdict is %v", within, d.Verdict)
		}
		if u == 0 && d.Verdict != doubt.Pass && d.Verdict != doubt.Fail {
			t.Fatalf("%v without any doubt", d.Verdict)
		}
		if d.Coarse && d.Verdict == doubt.Pass {
			t.Fatalf("a pass with a guard band of %g in a tolerance of %g", d.GuardBand, tolerance)
		}
		if r == 1 && u > 0 {
			// Beyond 2u lie 4.6 % of a normal distribution, 2.3 % on each
			// side; a hair for figures on the border.
			least := 0.9544
			if tolerance >= 3*u {
				least = 0.9772
			}
			if d.Verdict == doubt.Pass && d.Probability < least-1e-6 {
				t.Fatalf("a pass with a probability of %g; u = %g, T = %g", d.Probability, u, tolerance)
			}
			if d.Verdict == doubt.Fail && d.Probability > 0.0228 {
				t.Fatalf("a fail with a probability of %g", d.Probability)
			}
		}
	})
}

// What the probability promises: of many results that were given one, that part
// is truly within the tolerance. True errors are spread evenly and far wider
// than the tolerance, as nothing is known of them beforehand.
func TestProbabilityKeepsItsPromise(t *testing.T) {
	const tolerance, trials, bins = 2.0, 400_000, 20
	random := rand.New(rand.NewPCG(106, 2012))
	for _, u := range []float64{0.15, 0.46, 1.4} {
		var n, conforming, expected, variance [bins]float64
		passed, passedWrongly := 0.0, 0.0
		for range trials {
			truth := (2*random.Float64() - 1) * (tolerance + 8*u)
			d := decide(t, truth+u*random.NormFloat64(), u, tolerance, 1)
			i := min(bins-1, int(d.Probability*bins))
			n[i]++
			expected[i] += d.Probability
			variance[i] += d.Probability * (1 - d.Probability)
			if math.Abs(truth) <= tolerance {
				conforming[i]++
			}
			if d.Verdict == doubt.Pass {
				passed++
				if math.Abs(truth) > tolerance {
					passedWrongly++
				}
			}
		}
		filled := 0
		for i := range n {
			if variance[i] < 10 {
				continue // too few to tell
			}
			filled++
			// Sixty comparisons: 4 standard deviations come by chance once in 250 runs.
			if off := math.Abs(conforming[i]-expected[i]) / math.Sqrt(variance[i]); off > 4 {
				t.Errorf("u = %g, probability %.2f to %.2f: %.0f of %.0f conform, expected %.1f (%.1f standard deviations)",
					u, float64(i)/bins, float64(i+1)/bins, conforming[i], n[i], expected[i], off)
			}
		}
		if filled < bins/2 {
			t.Errorf("u = %g: only %d of %d bins were filled", u, filled, bins)
		}
		if wrong := passedWrongly / max(1, passed); passed > 0 && wrong > 0.0228 {
			t.Errorf("u = %g: %.2f %% of those that passed don't conform", u, wrong*100)
		}
	}
}

// How far the normal distribution is from the truth where the doubt is one
// rectangular source, or two equal ones (a triangle): the figures in the doc
// comment. Distribution functions in closed form.
func TestRectangularSources(t *testing.T) {
	const tolerance = 10.0
	triangle := func(x float64) float64 { // of two rectangles of half-width ½
		switch {
		case x <= -1:
			return 0
		case x <= 0:
			return (1 + x) * (1 + x) / 2
		case x <= 1:
			return 1 - (1-x)*(1-x)/2
		}
		return 1
	}
	for _, c := range []struct {
		name  string
		u     float64
		exact func(x float64) float64 // P(true ≤ limit), x = limit − found
		off   float64
	}{
		{"one", doubt.Rectangular(0.5), func(x float64) float64 { return min(1, max(0, x+0.5)) }, 0.06},
		{"two equal", doubt.Combine(doubt.Rectangular(0.5), doubt.Rectangular(0.5)), triangle, 0.02},
	} {
		worst := 0.0
		for x := -3.0; x <= 3; x += 0.001 {
			worst = max(worst, math.Abs(doubt.Conformity(tolerance-x, c.u, tolerance)-c.exact(x)))
		}
		if worst > c.off || worst < c.off/2 {
			t.Errorf("%s: off by up to %.4f, the comment says %.2f", c.name, worst, c.off)
		}
	}
}

func TestVerdictWords(t *testing.T) {
	var got []string
	for v := doubt.Pass; v <= doubt.Fail; v++ {
		got = append(got, v.String())
	}
	if words := strings.Join(got, ", "); words != "pass, conditional pass, conditional fail, fail" {
		t.Errorf("the verdicts are %s", words)
	}
	if text, err := json.Marshal(doubt.ConditionalFail); err != nil || string(text) != `"conditional fail"` {
		t.Errorf("as JSON: %s, %v", text, err)
	}
}
