package contents

import (
	"math"
	"testing"

	"gaugewright/internal/peer"
)

// lpgPeerFluids are the fluids for a script: the equations' constants, which the
// reference table judges, and none of the solving.
func lpgPeerFluids() []map[string]any {
	var list []map[string]any
	for _, f := range eosFluids {
		var terms, bells [][]float64
		for _, t := range f.terms {
			terms = append(terms, []float64{t.n, t.t, float64(t.d), float64(t.l)})
		}
		for _, b := range f.bells {
			bells = append(bells, []float64{b.n, b.t, float64(b.d), b.eta, b.beta, b.gamma, b.epsilon})
		}
		list = append(list, map[string]any{"tc": f.critical, "rc": f.density, "m": f.molar, "terms": terms, "bells": bells})
	}
	return list
}

// lpgPeerScript is the common part of the scripts. Nothing in it is a derivative
// by hand: pressures and fugacities are complex steps of the Helmholtz energy.
const lpgPeerScript = `
import json, sys
import numpy as np
from scipy.optimize import brentq, minimize_scalar, root
from scipy.integrate import quad, solve_ivp
given = json.load(sys.stdin)
R = 8.314472
class Fluid:
    def __init__(self, f):
        self.tc, self.rc, self.m = f["tc"], f["rc"], f["m"]
        self.t = np.array(f["terms"]).T
        self.b = np.array(f["bells"]).T
    def alpha(self, tau, delta):
        n, t, d, l = self.t
        a = np.sum(n * tau**t * delta**d * np.exp(-np.where(l > 0, delta**l, 0)))
        n, t, d, eta, beta, gamma, eps = self.b
        return a + np.sum(n * tau**t * delta**d * np.exp(-eta*(delta-eps)**2 - beta*(tau-gamma)**2))
    def p(self, T, rho):
        d = rho / self.rc
        return rho*R*T*(1 + d*self.alpha(self.tc/T, d + 1e-30j).imag/1e-30)
    def h(self, T, rho):  # residual enthalpy, J/mol
        tau, d = self.tc/T, rho/self.rc
        return R*T*(tau*self.alpha(tau + 1e-30j, d).imag/1e-30 + self.p(T, rho)/(rho*R*T))
    def sat(self, T):
        # Maxwell's equal areas in p dv, between the spinodals, by bisection only.
        top = minimize_scalar(lambda r: -self.p(T, r), bounds=(1e-3*self.rc, self.rc), method="bounded", options={"xatol": 1e-9*self.rc}).x
        dip = minimize_scalar(lambda r: self.p(T, r), bounds=(self.rc, 2.4*self.rc), method="bounded", options={"xatol": 1e-9*self.rc}).x
        def roots(p):
            v = brentq(lambda r: self.p(T, r) - p, 1e-7*self.rc, top, xtol=1e-13*self.rc, rtol=1e-14)
            l = brentq(lambda r: self.p(T, r) - p, dip, 3.5*self.rc, xtol=1e-13*self.rc, rtol=1e-14)
            return l, v
        def area(logp):
            p = np.exp(logp)
            l, v = roots(p)
            work = sum(quad(lambda x: self.p(T, np.exp(x))/np.exp(x), a, b, epsrel=1e-12, epsabs=0, limit=200)[0]
                       for a, b in zip(np.linspace(np.log(v), np.log(l), 9)[:-1], np.linspace(np.log(v), np.log(l), 9)[1:]))
            return (work - p*(1/v - 1/l)) / (R*T)
        p = np.exp(brentq(area, np.log(max(self.p(T, dip), 500.0)*1.0001), np.log(self.p(T, top)*0.9999), xtol=1e-13))
        l, v = roots(p)
        return p, l, v
fluids = [Fluid(f) for f in given["fluids"]]
`

// Saturation, division of a stock, liquid-full temperature and drawn vapour
// against SciPy, told the equations and the rules of mixing and solving them in
// another way: equal areas for the saturation, a root in three unknowns for the
// division, an ODE solver of order 8 for the drawing.
func TestLPGAgainstSciPy(t *testing.T) {
	temperatures := []float64{233.15, 261.4, 288.15, 313.15, 333.15, 361}
	stocks := []Stock{
		{Tank: 0.054, Propane: 9, NButane: 5, Isobutane: 2},
		{Tank: 0.054, Propane: 1, NButane: 12, Isobutane: 9},
		{Tank: 0.054, Propane: 0.3, NButane: 0.2, Isobutane: 0.4},
		{Tank: 0.054, Propane: 21, NButane: 1, Isobutane: 0.5},
	}
	const drawAt = 278.15
	shares := []float64{0.2, 0.6, 0.9}
	in := map[string]any{"fluids": lpgPeerFluids(), "T": temperatures, "draw": drawAt, "shares": shares}
	var masses [][]float64
	for _, s := range stocks {
		masses = append(masses, []float64{s.Propane, s.NButane, s.Isobutane})
	}
	in["stocks"], in["tank"] = masses, 0.054
	var out struct {
		Saturation [][][]float64 // fluid, temperature: p, ρ, ρ, h
		Split      [][][]float64 // stock, temperature (the first five): liquid volume, liquid kg, pressure; empty if not two phases
		Full       []float64     // °K; 0 for none
		Drawn      [][][]float64 // stock, share: three masses
	}
	peer.Python(t, []string{"numpy", "scipy"}, lpgPeerScript+`
sats = {T: [f.sat(T) for f in fluids] for T in given["T"] + [given["draw"]]}
out = {"Saturation": [], "Split": [], "Full": [], "Drawn": []}
for i, f in enumerate(fluids):
    rows = []
    for T in given["T"]:
        p, l, v = sats[T][i]
        rows.append([p, l*f.m, v*f.m, (f.h(T, v) - f.h(T, l))/f.m])
    out["Saturation"].append(rows)
M = np.array([f.m for f in fluids])
def split(n, T, tank):
    """moles of liquid, or None; unknown are the logarithms of x's odds and the share of liquid"""
    p = np.array([s[0] for s in sats[T]]); vl = np.array([1/s[1] for s in sats[T]]); z = np.array([s[0]/(s[2]*R*T) for s in sats[T]])
    def rest(q):
        L = n/(1 + np.exp(q))
        x = L/L.sum()
        room = tank - (L*vl).sum()
        return (L + x*p*room/(R*T*(x*z).sum()) - n)/n
    best = root(rest, np.log(p/p.mean()) - 1.0, method="hybr", tol=1e-14)
    if np.abs(best.fun).max() > 1e-9:
        return None
    L = n/(1 + np.exp(best.x)); x = L/L.sum()
    return L, (L*vl).sum(), (x*p).sum(), x*p/(x*p).sum()
for kg in given["stocks"]:
    n = np.array(kg)/M
    rows = []
    for T in given["T"][:5]:
        s = split(n, T, given["tank"])
        rows.append([] if s is None else [s[1], (s[0]*M).sum(), s[2]])
    out["Split"].append(rows)
    def over(T):
        return sum(a/f.sat(T)[1] for a, f in zip(n, fluids)) - given["tank"]
    out["Full"].append(0 if over(365.0) < 0 else brentq(over, 240, 365, xtol=1e-7))
    def rate(t, kg):
        y = split(kg/M, given["draw"], given["tank"])
        w = (y[3] if y else kg/M)*M
        return -w/w.sum()
    ends = [s*sum(kg) for s in given["shares"]]
    rows = []
    if split(n, given["draw"], given["tank"]) is not None:
        rows = solve_ivp(rate, [0, ends[-1]], kg, t_eval=ends, method="DOP853", rtol=1e-9, atol=1e-11).y.T.tolist()
    out["Drawn"].append(rows)
print(json.dumps(out))
`, in, &out)
	near := func(what string, got, want, off float64) {
		t.Helper()
		if !(math.Abs(got/want-1) <= off) {
			t.Errorf("%s: %.12g, SciPy has %.12g", what, got, want)
		}
	}
	for i, rows := range out.Saturation {
		for j, row := range rows {
			s := eosFluids[i].saturation(temperatures[j])
			what := eosFluids[i].name + " at " + lpgCelsius(temperatures[j])
			near(what+", pressure", s.pressure, row[0], 1e-9)
			near(what+", liquid", s.liquid, row[1], 1e-10)
			near(what+", vapour", s.vapour, row[2], 1e-9)
			near(what+", heat", s.heat, row[3], 1e-9)
		}
	}
	wet, drawn := 0, 0
	for i, rows := range out.Split {
		s := stocks[i]
		for j, row := range rows {
			got, err := s.At(temperatures[j])
			if err != nil {
				t.Fatal(err)
			}
			if len(row) == 0 || row[0] > 0.054 {
				if !got.Full && got.LiquidVolume > 0 {
					t.Errorf("%+v at %v K: SciPy finds no two phases, %+v", s, temperatures[j], got)
				}
				continue
			}
			wet++
			near("liquid", float64(got.LiquidVolume), row[0], 1e-8)
			near("liquid kg", got.LiquidKg, row[1], 1e-8)
			near("pressure", got.Pressure, row[2], 1e-8)
		}
		kelvin, ok, err := s.FullAt()
		if err != nil || ok != (out.Full[i] > 0) {
			t.Errorf("%+v: full at %v, %v, %v; SciPy %v", s, kelvin, ok, err, out.Full[i])
		}
		if ok {
			near("full", kelvin, out.Full[i], 1e-8)
		}
		for k, kg := range out.Drawn[i] {
			drawn++
			left, err := s.Boil(shares[k]*s.Kg(), drawAt)
			if err != nil {
				t.Fatal(err)
			}
			for part, v := range left.parts() {
				if math.Abs(v-kg[part]) > 1e-6*s.Kg() {
					t.Errorf("%+v less %v of it: %v kg of %s, SciPy %v", s, shares[k], v, eosFluids[part].name, kg[part])
				}
			}
		}
	}
	if wet < 12 || drawn < 9 {
		t.Errorf("only %d states with two phases and %d draws were compared", wet, drawn)
	}
}
