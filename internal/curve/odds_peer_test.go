package curve_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"gaugewright/internal/curve"
	"gaugewright/internal/peer"
	"gaugewright/internal/quantity"
)

// The whole reckoning again in NumPy from its description: the covariance
// written out, the ends as unknowns of ordinary generalised least squares, the
// integral as a plain sum over a fine grid.
func TestOddsAgainstNumpy(t *testing.T) {
	litres := curve.Sheet{Unit: curve.Volume}
	for k, ohm := range []float64{240.6, 214.3, 189.4, 169.9, 154.8, 143.2, 135.4, 126.7, 115.6, 101.5, 81.7, 58.1, 33.1} {
		litres.Readings = append(litres.Readings, curve.Reading{Mark: 0.005 * float64(k), Ohm: quantity.Ohm(ohm)})
	}
	type given struct {
		S, Ohm, U  []float64 // share, ohms, standard uncertainty
		Bend, Bulk float64
		Claims     [][3]float64
		Usual      bool
	}
	cases := []struct {
		sheet       curve.Sheet
		claims      []curve.Stated // nil for the usual spans
		empty, full float64
	}{
		{dial(0, 0.6, 20, 20.4, 40, 40.3, 60, 60.2, 80, 80, 100, 99.6), spans(0, 90, 0, 95, 0, 100), 0, 1},
		{dial(0, 1, 20, 20, 40, 40, 60, 60, 80, 80), spans(0, 90, 0, 95, 0, 100, 0, 110), 0, 1},
		{dial(40, 36, 60, 55), spans(0, 90, 0, 95), 0, 1},
		{dial(0, 0, 0, 2, 50, 46, 50, 49, 100, 91, 100, 94), spans(0, 90, 0, 95), 0, 1},
		{dial(0, 0.8, 20, 30, 40, 52, 60, 70, 80, 82, 100, 90), nil, 0, 1},
		{dial(0, 1, 50, 93, 100, 181), nil, 0, 1},
		{dial(10, 182, 40, 126, 90, 33), nil, 0, 1},
		{dial(0, 10, 20, 45, 50, 95, 80, 147), spans(10, 180), 0.1, 0.9},
		{dial(0, 2, 5, 14, 10, 21, 20, 40, 50, 95, 80, 147, 90, 170, 100, 190), spans(40, 147, 30, 150), 0.2, 0.8},
		{litres, spans(240, 33, 230, 30, 250, 40), 0, 0.06},
	}
	var in []given
	var got []curve.Odds
	for _, k := range cases {
		c := fit(t, k.sheet)
		claims := k.claims
		o, err := c.Odds(claims, k.empty, k.full)
		if claims == nil {
			claims = curve.UsualSpans()
			o, err = c.Families(k.empty, k.full)
		}
		if err != nil {
			t.Fatal(err)
		}
		g := given{Bend: 0.025, Usual: k.claims == nil}
		if k.sheet.Unit == curve.Volume {
			g.Bend, g.Bulk = 0.125, 0.25
		}
		for _, p := range c.Points() {
			g.S, g.Ohm, g.U = append(g.S, (p.Mark-k.empty)/(k.full-k.empty)), append(g.Ohm, float64(p.Ohm)), append(g.U, float64(p.U))
		}
		for _, s := range claims {
			g.Claims = append(g.Claims, [3]float64{float64(s.Empty), float64(s.Full), s.Tolerance})
		}
		in, got = append(in, g), append(got, o)
	}
	var out []struct {
		None  float64
		P     []float64
		Ends  []float64
		EndsU []float64
	}
	peer.Python(t, []string{"numpy", "scipy"}, `
import json, sys
import numpy as np
from scipy.stats import norm
from scipy.special import logsumexp

def bridge(s, t):
    s, t = min(s, t), max(s, t)
    if t <= 0: return -t
    if s >= 1: return s - 1
    if s <= 0 or t >= 1: return 0
    return s - s * t

out = []
for g in json.load(sys.stdin):
    s, y, u = (np.array(g[k]) for k in ("S", "Ohm", "U"))
    n = len(s)
    span = abs(y[-1] - y[0]) / (s[-1] - s[0])
    C = np.array([[4 * (g["Bend"] * span) ** 2 * bridge(a, b) for a in s] for b in s])
    C += np.diag(u ** 2 + (0.0025 * span) ** 2)
    X = np.column_stack([1 - s, s])
    W = np.linalg.inv(C)
    V = np.linalg.inv(X.T @ W @ X)
    beta = V @ X.T @ W @ y
    r = y - X @ beta
    if n > 2:
        V = V * max(1, r @ W @ r / (n - 2))
    P = np.linalg.inv(V)
    logs = []
    for a, b, tol in g["Claims"]:
        if (b > a) != (y[-1] > y[0]):
            logs.append(-np.inf)
            continue
        half = tol * abs(b - a)
        e = np.linspace(-half, half, 1201)
        h = e[1] - e[0]
        tri = (half - abs(e)) / half ** 2
        d0, d1 = (a + e - beta[0])[:, None], (b + e - beta[1])[None, :]
        q = P[0, 0] * d0 ** 2 + 2 * P[0, 1] * d0 * d1 + P[1, 1] * d1 ** 2
        f = tri[:, None] * tri[None, :] * np.exp(-q / 2) / (2 * np.pi * np.sqrt(np.linalg.det(V)))
        total = f.sum() * h * h
        l = np.log(total) if total > 0 else -np.inf
        if not g["Usual"]:
            over = abs(y - (a + s * (b - a))) - abs(b - a) * (tol + g["Bulk"] * 4 * np.clip(s, 0, 1) * (1 - np.clip(s, 0, 1)))
            z = max(0, (over / np.sqrt(u ** 2 + (0.0025 * span) ** 2)).max())
            l += np.log(2) + norm.logsf(z)
        logs.append(l)
    other = -sum(np.log((max(0, v) + 10) * np.log((1e5 + 10) / 10)) for v in beta) + np.log(len(g["Claims"]))
    total = logsumexp(logs + [other])
    out.append({"None": np.exp(other - total), "P": [float(np.exp(l - total)) for l in logs],
                "Ends": list(beta), "EndsU": list(np.sqrt(np.diag(V)))})
json.dump(out, sys.stdout)
`, in, &out)
	const tolerance = 2e-5 // of the plain sum
	for k, want := range out {
		if math.Abs(got[k].None-want.None) > tolerance {
			t.Errorf("case %d: none %.6f, NumPy %.6f", k, got[k].None, want.None)
		}
		for i := range want.Ends {
			if math.Abs(float64(got[k].EndOhm[i])-want.Ends[i]) > 1e-6 || math.Abs(float64(got[k].EndU[i])-want.EndsU[i]) > 1e-6*want.EndsU[i] {
				t.Errorf("case %d: end %.6f ± %.6f, NumPy %.6f ± %.6f", k, float64(got[k].EndOhm[i]), float64(got[k].EndU[i]), want.Ends[i], want.EndsU[i])
			}
		}
		for i, s := range in[k].Claims {
			if p := of(t, got[k], quantity.Ohm(s[0]), quantity.Ohm(s[1])).Probability; math.Abs(p-want.P[i]) > tolerance {
				t.Errorf("case %d, %v: %.6f, NumPy %.6f", k, s, p, want.P[i])
			}
		}
	}
}

// With one mark at each end and nothing between, the integral comes apart into
// two of one variable, which for a triangle and a normal distribution are
// elementary. Worked here with the mean of the triangle's density over a normal
// distribution as a sum of three terms.
func TestOddsOfTwoMarksByHand(t *testing.T) {
	c := fit(t, dial(0, 1, 100, 93))
	claims := spans(0, 90, 0, 95)
	o := odds(t, c, claims)
	density := func(centre, half, mean, u float64) float64 {
		phi := func(z float64) float64 { return math.Exp(-z*z/2) / math.Sqrt(2*math.Pi) }
		cdf := func(z float64) float64 { return math.Erfc(-z/math.Sqrt2) / 2 }
		part := func(from, to, sign float64) float64 { // ∫ (half + sign·(x−centre)) N(x)
			a, b := (from-mean)/u, (to-mean)/u
			return (half+sign*(mean-centre))*(cdf(b)-cdf(a)) - sign*u*(phi(b)-phi(a))
		}
		return (part(centre-half, centre, 1) + part(centre, centre+half, -1)) / (half * half)
	}
	// Whole ohms: 1/√12. A quarter of a percent of the 92 Ω of span.
	u := math.Hypot(1/math.Sqrt(12), 0.0025*92)
	course := func(full float64) float64 {
		return math.Erfc(max(0, 1-0.05*full, math.Abs(93-full)-0.05*full) / u / math.Sqrt2)
	}
	l90 := density(0, 4.5, 1, u) * density(90, 4.5, 93, u) * course(90)
	l95 := density(0, 4.75, 1, u) * density(95, 4.75, 93, u) * course(95)
	none := 2 / (11 * 103 * math.Pow(math.Log(10001), 2))
	for _, want := range []struct{ full, l float64 }{{90, l90}, {95, l95}} {
		p := want.l / (l90 + l95 + none)
		if got := of(t, o, 0, quantity.Ohm(want.full)).Probability; math.Abs(got-p) > 1e-9 {
			t.Errorf("0 to %v: %.12f, want %.12f", want.full, got, p)
		}
	}
}

// What is said to be so many in a hundred is right so many times in a hundred:
// senders are made as the model has them, of the usual kinds and of none, and
// the odds of all of them are held against what they were.
func TestOddsAreHonest(t *testing.T) {
	random := rand.New(rand.NewPCG(2026, 9))
	triangular := func() float64 { return random.Float64() + random.Float64() - 1 }
	usual := curve.UsualSpans()
	other := func() float64 { return 10 * (math.Pow(10001, random.Float64()) - 1) }
	var said, right, count [10]float64
	for range 4000 {
		var a, b float64
		kind := -1
		if random.IntN(2) == 0 {
			a, b = other(), other()
		} else {
			kind = random.IntN(len(usual))
			s := usual[kind]
			half := s.Tolerance * math.Abs(float64(s.Full-s.Empty))
			a, b = max(0, float64(s.Empty)+half*triangular()), float64(s.Full)+half*triangular()
		}
		b = max(0, b)
		span := math.Abs(b - a)
		// A Brownian bridge of 2.5 % half-way at five marks, and 0.25 % at each.
		n, w, previous := 6, []float64{}, 0.0
		for k := range n {
			if k > 0 {
				previous += math.Sqrt(1.0/float64(n-1)) * random.NormFloat64()
			}
			w = append(w, previous)
		}
		var pairs []float64
		for k := range n {
			s := float64(k) / float64(n-1)
			ohm := a + (b-a)*s + span*(0.05*(w[k]-s*w[n-1])+0.0025*random.NormFloat64())
			if s > 0.85 && kind%2 == 0 {
				continue // some don't reach the top
			}
			pairs = append(pairs, s*100, max(0, ohm))
		}
		c, err := curve.Fit(dial(pairs...), curve.Options{})
		if err != nil || !c.Ordered() {
			continue
		}
		o, err := c.Families(0, 1)
		if err != nil {
			t.Fatal(err)
		}
		tally := func(p float64, so bool) {
			k := min(9, int(10*p))
			said[k] += p
			count[k]++
			if so {
				right[k]++
			}
		}
		tally(o.None, kind < 0)
		for _, d := range o.List {
			if d.Probability > 0.02 {
				tally(d.Probability, kind >= 0 && d.Claim == usual[kind].Claim)
			}
		}
	}
	for k := range count {
		if count[k] < 30 {
			t.Errorf("only %v said about %d in 10: nothing can be told", count[k], k)
			continue
		}
		p, f := said[k]/count[k], right[k]/count[k]
		t.Logf("said %.3f, so %.3f of %v", p, f, count[k])
		// Three standard deviations of counting, and a little for what a curve
		// does to readings before they are weighed.
		if math.Abs(p-f) > 3*math.Sqrt(p*(1-p)/count[k])+0.03 {
			t.Errorf("said %.3f, so %.3f of %v", p, f, count[k])
		}
	}
}
