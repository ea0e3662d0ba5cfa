package docket

import (
	"math"
	"math/rand/v2"
	"testing"

	"gaugewright/internal/peer"
)

// For one capacity and one reach the posterior is that of a linear model with normal
// noise: the formula m + PAᵀ(APAᵀ+V)⁻¹(y−Am) with NumPy's linear algebra, all rows at once,
// and the density of what was observed by SciPy's multivariate normal, say the same as
// the updates one by one.
func TestPosteriorBesideNumPy(t *testing.T) {
	tank := gasTank()
	r := rand.New(rand.NewPCG(5, 5))
	verdicts := make([]Verdict, 12)
	list := season{dockets: 12, stops: 0.5, out: 0.4}.of(shapes()[3], 11)
	pieces := tank.pieces(list, verdicts)
	for _, c := range []struct {
		reach reach
		kappa float64
	}{{reaches[1], 1}, {reaches[2], 1.08}, {reaches[3], 0.9 + 0.1*r.Float64()}} {
		prior := c.reach.prior(gasStopMean, gasStopU)
		s, density := prior, 0.0
		var a [][]float64
		var y, v []float64
		for i := range pieces {
			row, _ := pieces[i].row(c.kappa, &tank)
			density += s.take(&row)
			a, y, v = append(a, row.a[:]), append(y, row.y), append(v, row.v)
		}
		cov := make([][]float64, width)
		for i := range cov {
			cov[i] = prior.cov[i][:]
		}
		var got struct {
			Mean    []float64
			Cov     [][]float64
			Density float64
		}
		peer.Python(t, []string{"numpy", "scipy"}, `
import json, sys
import numpy as np
from scipy.stats import multivariate_normal
g = json.load(sys.stdin)
A, y, V, P, m = (np.array(g[k]) for k in ("A", "Y", "V", "Cov", "Mean"))
S = A @ P @ A.T + np.diag(V)
K = np.linalg.solve(S, A @ P).T
print(json.dumps({"Mean": (m + K @ (y - A @ m)).tolist(), "Cov": (P - K @ A @ P).tolist(),
  "Density": float(multivariate_normal(A @ m, S).logpdf(y))}))
`, map[string]any{"A": a, "Y": y, "V": v, "Cov": cov, "Mean": prior.mean[:]}, &got)
		const tolerance = 1e-9
		for i := range width {
			if math.Abs(s.mean[i]-got.Mean[i]) > tolerance {
				t.Errorf("mean %d is %g; NumPy has %g", i, s.mean[i], got.Mean[i])
			}
			for j := range width {
				if math.Abs(s.cov[i][j]-got.Cov[i][j]) > tolerance {
					t.Errorf("covariance %d, %d is %g; NumPy has %g", i, j, s.cov[i][j], got.Cov[i][j])
				}
			}
		}
		if math.Abs(density-got.Density) > 1e-6 {
			t.Errorf("log density %g; SciPy has %g", density, got.Density)
		}
	}
}

// The whole, with the capacity, the reaches, what is wrong altogether and the order kept,
// against importance sampling: draws from the prior in NumPy, weighted by the likelihood
// that is written there again from the model's words.
func TestLearnBesideImportanceSampling(t *testing.T) {
	tank := gasTank()
	// Much doubt of reading, so that draws from the prior meet the posterior.
	list := season{dockets: 4, stops: 0.6, out: 0.4, noise: 0.03}.of(shapes()[0], 4)
	verdicts := make([]Verdict, len(list))
	pieces := tank.pieces(list, verdicts)
	type item struct {
		Kind                                             string
		Before, After, UBefore, UAfter, Amount, U, Wrong float64
	}
	var items []item
	for _, p := range pieces {
		i := item{string(p.kind), p.before, p.after, p.uBefore, p.uAfter, p.amount, p.u, p.wrong}
		if math.IsNaN(i.Before) {
			i.Before = 0 // what isn't a receipt has none
		}
		items = append(items, i)
	}
	kappa, weight := kappas(true)
	var rs [][]float64
	for _, r := range reaches {
		rs = append(rs, []float64{r.ends, r.bend, r.weight})
	}
	m := infer(&tank, pieces, true)
	p := tank.settle(m.draws(&tank, pieces))
	var got struct {
		Level, Sd []float64
		Kappa     float64
		Effective float64
	}
	peer.Python(t, []string{"numpy"}, `
import json, sys
import numpy as np
g = json.load(sys.stdin)
rng = np.random.default_rng(3)
n, k = 400000, 11
x = np.linspace(0, 1, k)
counts = rng.multinomial(n, [r[2] for r in g["Reaches"]])
e = np.vstack([rng.normal(0, r[0], (c, 1)) * (1 - x) + rng.normal(0, r[0], (c, 1)) * x
  + rng.multivariate_normal(np.zeros(k), r[1]**2 * np.exp(-(x[:, None] - x)**2 / (2 * 0.35**2)) + 1e-12 * np.eye(k), c)
  for r, c in zip(g["Reaches"], counts)])
kap = rng.choice(np.array(g["Kappa"]), n, p=np.array(g["Weight"]) / sum(g["Weight"]))
b = rng.normal(g["StopMean"], g["StopU"], n)
def at(v):
  i = min(int(v * (k - 1)), k - 2); f = v * (k - 1) - i
  return v + (1 - f) * e[:, i] + f * e[:, i + 1]
def normal(d, u): return np.exp(-0.5 * (d / u)**2) / (u * np.sqrt(2 * np.pi))
w = np.ones(n)
ok = (np.diff(e, axis=1) >= -0.09).all(axis=1)
for i in g["Items"]:
  after = at(i["After"])
  for v in (after, at(i["Before"]) if i["Kind"] == "receipt" else after):
    ok &= (v >= -0.015) & (v <= 1.015) # nothing stood outside of the tank
  if i["Kind"] == "stopped":
    l = normal(after - 0.8 - b, np.hypot(i["UAfter"], 0.006))
  elif i["Kind"] == "ran-out":
    l = normal(after - 0.006, np.hypot(i["UAfter"], 0.008))
  else:
    u = np.sqrt(i["U"]**2 + kap**2 * (i["UAfter"]**2 + i["UBefore"]**2))
    l = normal(kap * (after - at(i["Before"])) - i["Amount"], u)
  w *= (1 - i["Wrong"]) * l + i["Wrong"] / 1.2
w *= ok
w /= w.sum()
q = np.array([w @ at(v) for v in g["At"]])
s = np.sqrt([w @ (at(v) - m)**2 for v, m in zip(g["At"], q)])
print(json.dumps({"Level": q.tolist(), "Sd": s.tolist(), "Kappa": float(w @ kap), "Effective": float(1 / (w @ w))}))
`, map[string]any{"Items": items, "Reaches": rs, "Kappa": kappa, "Weight": weight, "StopMean": gasStopMean, "StopU": gasStopU, "At": []float64{0.1, 0.3, 0.5, 0.8}}, &got)
	if got.Effective < 2000 {
		t.Fatalf("the sampling comes to %.0f draws; expected 2000", got.Effective)
	}
	for i, cell := range []int{10, 30, 50, 80} {
		if d := math.Abs(p.mean[cell] - got.Level[i]); d > 0.15*got.Sd[i] {
			t.Errorf("at %d %% the level is %.4f ± %.4f; sampling has %.4f ± %.4f", cell, p.mean[cell], p.u[cell], got.Level[i], got.Sd[i])
		}
		if r := p.u[cell] / got.Sd[i]; r < 0.88 || r > 1.12 {
			t.Errorf("at %d %% the doubt is %.4f; sampling has %.4f", cell, p.u[cell], got.Sd[i])
		}
	}
	if math.Abs(p.kappa-got.Kappa) > 0.008 {
		t.Errorf("the capacity is %.4f of the stated; sampling has %.4f", p.kappa, got.Kappa)
	}
}
