package watch

import (
	"math"
	"math/rand/v2"
	"testing"

	"gaugewright/internal/peer"
)

// TestModesAgainstPlainAlgebra runs the filter beside the textbook's interacting
// multiple model steps in NumPy, with matrices and SciPy's Student's t: mixing,
// prediction with the same F and Q, update with a weighted noise. What differs
// from the textbook is done there the same way by other means: a mode that begins
// knows no rate, and the two modes that move share the noise of one reading.
func TestModesAgainstPlainAlgebra(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	type row struct{ Dt, Y, Still, One, Lasting float64 }
	var rows []row
	level := 50.0
	for i := range 60 {
		if i > 20 && i < 40 {
			level += 0.8
		}
		rows = append(rows, row{pick(r, 0.5, 1, 1, 7, 60), level + 0.2*r.NormFloat64(), 0.04, 9, 40})
	}
	var f filter
	f.begin(rows[0].Y, 0.04, 9)
	first := f
	var mine [][2]float64
	for _, v := range rows {
		var s step
		s.set(v.Dt)
		f.foretell(&s)
		f.take(v.Y, v.Dt, noiseVar{v.Still, v.Still}, noiseVar{v.One, v.Lasting}, false)
		mine = append(mine, [2]float64{f.x, f.p})
	}
	var start [][]float64
	for _, m := range first.m {
		start = append(start, []float64{m.x, m.r, m.pxx, m.pxr, m.prr, m.mu})
	}
	var rate [][2]float64
	for _, v := range rates {
		rate = append(rate, [2]float64{v.sigma, v.lasts})
	}
	var got [][2]float64
	peer.Python(t, []string{"numpy", "scipy"}, `
import json, sys
import numpy as np
from scipy.stats import t as student
g = json.load(sys.stdin)
n = len(g["Start"])
x = [np.array(s[:2]) for s in g["Start"]]
P = [np.array([[s[2], s[3]], [s[3], s[4]]]) for s in g["Start"]]
mu = np.array([s[5] for s in g["Start"]])
change = np.array(g["Change"])
out = []
for row in g["Rows"]:
    dt = row["Dt"]
    leave = change.sum(axis=1)
    p = change * (dt / (1 + leave * dt))[:, None]
    p[np.diag_indices(n)] = 1 - p.sum(axis=1)
    c = mu @ p
    nx, nP = [], []
    for j in range(n):
        w = p[:, j] * mu / c[j]
        sigma, lasts = g["Rates"][j]
        xs, Ps = [], []
        for i in range(n):
            if i == j:
                xs.append(x[i]); Ps.append(P[i])
            else:
                xs.append(np.array([x[i][0], 0])); Ps.append(np.diag([P[i][0, 0], sigma ** 2]))
        m = sum(w[i] * xs[i] for i in range(n))
        C = sum(w[i] * (Ps[i] + np.outer(xs[i] - m, xs[i] - m)) for i in range(n))
        u = dt / lasts
        phi = 1 / (1 + u)
        F = np.array([[1, dt * phi], [0, phi]])
        qxx = sigma ** 2 * lasts ** 2 * 2 / 3 * u ** 3 / (1 + u / np.sqrt(3)) ** 2 + g["Creep"][j] * dt
        qxr = sigma ** 2 * lasts * (1 - phi) ** 2
        Q = np.array([[qxx, qxr], [qxr, sigma ** 2 * (1 - phi ** 2)]])
        C = F @ C @ F.T + Q
        if C[0, 0] > g["Most"]:  # nothing at all is known
            C[0, 1] = C[1, 0] = C[0, 1] * np.sqrt(g["Most"] / C[0, 0])
            C[0, 0] = g["Most"]
        nx.append(F @ m)
        nP.append(C)
    H = np.array([1.0, 0.0])
    like = np.zeros(n)
    t4 = lambda v, s: student.pdf(v / np.sqrt(s), 4) / np.sqrt(s)
    share = []
    for j in range(n):
        moving = j >= n - 2
        one = row["One"] if moving else row["Still"]
        lasting = row["Lasting"] if moving else row["Still"]
        v = row["Y"] - nx[j][0]
        s = nP[j][0, 0] + one
        like[j] = t4(v, s) + g["Outlier"]
        if moving:
            share.append(c[j] * t4(v, nP[j][0, 0] + lasting))
        weight = min(1, 5 / (4 + v * v / s))
        K = nP[j] @ H / (H @ nP[j] @ H + lasting / weight)
        nx[j] = nx[j] + K * v
        nP[j] = (np.eye(2) - np.outer(K, H)) @ nP[j]
        if j == n - 2: firstP = s - one
        if j == n - 2: firstx = row["Y"] - v
        if j == n - 1:
            both = c[n - 2] + c[n - 1]
            m = (c[n - 2] * firstx + c[n - 1] * (row["Y"] - v)) / both
            l = t4(row["Y"] - m, firstP + row["One"]) + g["Outlier"]
            share = np.array(share) / sum(share) * both * l
    mu = c * like
    mu[n - 2:] = share
    mu = mu / mu.sum()
    x, P = nx, nP
    m = sum(mu[j] * x[j][0] for j in range(n))
    out.append([m, sum(mu[j] * (P[j][0, 0] + (x[j][0] - m) ** 2) for j in range(n))])
print(json.dumps(out))
`, map[string]any{"Rows": rows, "Start": start, "Rates": rate, "Change": change, "Creep": [modes]float64{creep, creep, creep, creep, creepRiding, creepRiding}, "Outlier": outlier, "Most": most}, &got)
	for i := range mine {
		if math.Abs(mine[i][0]-got[i][0]) > 1e-6 || math.Abs(mine[i][1]-got[i][1]) > 1e-6*(1+got[i][1]) {
			t.Fatalf("reading %d: level %.9f with variance %.9f; NumPy has %.9f and %.9f", i, mine[i][0], mine[i][1], got[i][0], got[i][1])
		}
	}
}

// TestStepAgainstTheExactOne compares the rational step of an Ornstein-Uhlenbeck
// rate with the exact one, by SciPy's matrix exponential (van Loan's method).
func TestStepAgainstTheExactOne(t *testing.T) {
	var dts []float64
	for dt := 0.1; dt < 3000; dt *= 1.7 {
		dts = append(dts, dt)
	}
	var got [][4]float64
	peer.Python(t, []string{"numpy", "scipy"}, `
import json, sys
import numpy as np
from scipy.linalg import expm
g = json.load(sys.stdin)
out = []
for dt in g["Dts"]:
    A = np.array([[0, 1], [0, -1 / g["Lasts"]]])
    L = np.diag([0, 2 * g["Sigma"] ** 2 / g["Lasts"]])
    M = np.block([[-A, L], [np.zeros((2, 2)), A.T]]) * dt
    E = expm(M / 64)
    F, Q = E[2:, 2:].T, E[2:, 2:].T @ E[:2, 2:]
    S, T = np.zeros((2, 2)), np.eye(2)
    for _ in range(64):
        S = F @ S @ F.T + Q
        T = F @ T
    out.append([T[0, 1], T[1, 1], S[0, 0], S[1, 1]])
print(json.dumps(out))
`, map[string]any{"Dts": dts, "Sigma": rates[running].sigma, "Lasts": rates[running].lasts}, &got)
	for i, dt := range dts {
		var s step
		s.set(dt)
		n := s.n[running]
		// A model of how tanks are used is good to no more than that.
		for k, v := range [4][2]float64{{n.g, got[i][0]}, {n.phi, got[i][1]}, {n.qxx - creep*dt, got[i][2]}, {n.qrr, got[i][3]}} {
			room := 0.35*math.Abs(v[1]) + 1e-3
			if k == 1 {
				room = 0.22 // of 1, which is what is left of a rate after no time
			}
			if math.Abs(v[0]-v[1]) > room {
				t.Errorf("%.1f s, figure %d: %.5g; exactly it is %.5g", dt, k, v[0], v[1])
			}
		}
	}
}

// TestNoiseIsFoundRobustly compares the noise that is found with what was put in,
// and with the median absolute deviation by NumPy, on readings of which some
// are wild.
func TestNoiseIsFoundRobustly(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	for _, sigma := range []float64{0.03, 0.1, 0.4} {
		var y []float64
		for range 4000 {
			v := 50 + sigma*r.NormFloat64()
			if r.Float64() < 0.03 {
				v = 100 * r.Float64()
			}
			y = append(y, v)
		}
		var n noise
		n.begin()
		sum, m := 0.0, 0
		for i := 2; i < len(y); i++ {
			n.bend(y[i-1]-(y[i-2]+0.5*(y[i]-y[i-2])), 0.5, 0)
			if i > 500 {
				sum += math.Log(n.still)
				m++
			}
		}
		mine := math.Exp(sum / float64(m))
		var mad float64
		peer.Python(t, []string{"numpy"}, `
import json, sys
import numpy as np
y = np.array(json.load(sys.stdin))
print(json.dumps(float(1.4826 * np.median(np.abs(y - np.median(y))))))
`, y, &mad)
		if math.Abs(mine/mad-1) > 0.2 || math.Abs(mine/sigma-1) > 0.25 {
			t.Errorf("noise of %.3f is found as %.3f; the median absolute deviation is %.3f", sigma, mine, mad)
		}
	}
}

// TestStepsInTheReadings: 95 % of an error that is uniform over a step lies within
// 0.475 of it (JCGM 100:2008, 4.3.7); and the mean of noise rounded to steps is out
// by no more than the exponential law that the doubt goes by, worked out by summing
// the rounded normal distribution in SciPy.
func TestStepsInTheReadings(t *testing.T) {
	var got []float64
	ratios := []float64{0.3, 0.35, 0.4, 0.5, 0.6, 0.8}
	peer.Python(t, []string{"numpy", "scipy"}, `
import json, sys
import numpy as np
from scipy.stats import norm
out = []
k = np.arange(-12, 13)
for s in json.load(sys.stdin):
    worst = 0
    for x in np.linspace(0, 1, 201):
        p = norm.cdf((k + 0.5 - x) / s) - norm.cdf((k - 0.5 - x) / s)
        worst = max(worst, abs((p * k).sum() - x))
    out.append(worst)
print(json.dumps(out))
`, ratios, &got)
	for i, ratio := range ratios {
		part := 0.475 * math.Exp(-2*math.Pi*math.Pi*(ratio*ratio-0.09))
		if part < 0.95*got[i] {
			t.Errorf("noise of %.2f steps: the doubt allows %.4f of a step, and the mean is out by up to %.4f", ratio, part, got[i])
		}
	}
}
