package kin

import (
	"math"
	"strings"
	"testing"

	"gaugewright/internal/curve"
	"gaugewright/internal/peer"
	"gaugewright/internal/quantity"
)

// straight is a known type on a straight line with one mode and an even rest, so
// that its covariance is a sum of a constant and an exponential.
func straight(offset, rest, noise float64) Known {
	k := Known{From: "straight, invented", Marks: "mark_pct", Gives: "ohm", Units: 9, Batches: 3, Noise: noise, NoiseDF: 1_000_000}
	for i := range 11 {
		k.Knots = append(k.Knots, Knot{Mark: float64(10 * i), Value: 10 + 17*float64(i), U: math.Hypot(offset, rest), Modes: []float64{offset}})
	}
	return k
}

// Conditioning against scikit-learn's GaussianProcessRegressor with the same
// covariance: a constant and a Matérn of ν = ½, which is the exponential.
func TestWithAgainstGaussianProcess(t *testing.T) {
	const offset, rest, noise = 3.0, 0.8, 0.25
	k := straight(offset, rest, noise)
	marks, off := []float64{0, 0.4, 0.9}, []float64{2.1, 1.2, 2.9}
	sheet := curve.Sheet{Unit: curve.Dial}
	for i, m := range marks {
		sheet.Readings = append(sheet.Readings, curve.Reading{Mark: m, Ohm: quantity.Ohm(10 + 170*m + off[i])})
	}
	c, v, err := k.With(sheet, curve.Options{Doubts: curve.Doubts{Meter: curve.Meter{Step: 1e-9}}})
	if err != nil {
		t.Fatal(err)
	}
	var out struct {
		Mean, SD []float64
		T2, P    float64
	}
	peer.Python(t, []string{"sklearn.gaussian_process", "scipy", "numpy"}, `
import json, sys
import numpy as np
from scipy.stats import chi2
from sklearn.gaussian_process import GaussianProcessRegressor
from sklearn.gaussian_process.kernels import ConstantKernel, Matern
g = json.load(sys.stdin)
kernel = ConstantKernel(g["offset"] ** 2) + ConstantKernel(g["rest"] ** 2) * Matern(length_scale=0.05, nu=0.5)
x, y = np.array(g["marks"])[:, None], np.array(g["off"])
p = GaussianProcessRegressor(kernel=kernel, alpha=g["noise"] ** 2, optimizer=None).fit(x, y)
mean, sd = p.predict(np.arange(11)[:, None] / 10, return_std=True)
v = kernel(x) + np.eye(len(y)) * g["noise"] ** 2
t2 = y @ np.linalg.solve(v, y)
print(json.dumps({"Mean": list(mean), "SD": list(sd), "T2": t2, "P": chi2.sf(t2, len(y))}))
`, map[string]any{"offset": offset, "rest": rest, "noise": noise, "marks": marks, "off": off}, &out)
	for i, p := range c.Points() {
		if got := float64(p.Ohm) - (10 + 17*float64(i)); math.Abs(got-out.Mean[i]) > 1e-5 || math.Abs(float64(p.U)-out.SD[i]) > 1e-5 {
			t.Errorf("knot %d: %.8g ± %.8g, scikit-learn %.8g ± %.8g", i, got, p.U, out.Mean[i], out.SD[i])
		}
	}
	if math.Abs(v.T2-out.T2) > 1e-4 || math.Abs(v.P-out.P) > 1e-6 {
		t.Errorf("T² %g, p %g; SciPy %g, %g", v.T2, v.P, out.T2, out.P)
	}
}

// Conditioning on a gathered type with a meter that all readings share, between
// knots, widened by Student's t, in plain NumPy.
func TestWithAgainstNumPy(t *testing.T) {
	k := gatheredSample(t)
	o := curve.Options{Doubts: curve.Doubts{Meter: curve.Meter{OfReading: 0.005, Digits: 2, Step: 0.1}, LeadsU: 0.05, MarkHalfWidth: 0.005}}
	sheet := curve.Sheet{Unit: curve.Dial, Readings: []curve.Reading{{Mark: 0.03, Ohm: 20}, {Mark: 0.5, Ohm: 117.5}, {Mark: 0.96, Ohm: 178}, {Mark: 0.5, Ohm: 117.9}}}
	p, r, err := k.weigh(sheet, o)
	if err != nil {
		t.Fatal(err)
	}
	values, variances := p.given(r)
	var out struct {
		Mean, Variance []float64
		T2, P, Refuses float64
	}
	peer.Python(t, []string{"scipy", "numpy"}, `
import json, sys
import numpy as np
from scipy.stats import f, t, norm
g = json.load(sys.stdin)
knots = g["known"]["knots"]
x = np.array([k["mark"] for k in knots]) / 100
m = np.array([k["value"] for k in knots])
floor = np.array([k.get("floor", 0) for k in knots])
modes = np.array([k["modes"] for k in knots])
rest = np.sqrt(np.array([k["u"] for k in knots]) ** 2 - floor ** 2 - (modes ** 2).sum(1))
at, y = np.array(g["marks"]), np.array(g["ohms"])
h = np.array([[np.interp(a, x, e) for e in np.eye(len(x))] for a in at])
place = np.concatenate([x, at]); full = np.vstack([np.eye(len(x)), h])
def cov(wide):
    r = full @ rest
    return (wide ** 2 * (full @ modes) @ (full @ modes).T + np.outer(r, r) * np.exp(-abs(place[:, None] - place[None, :]) / 0.05))
def wider(df): return t.ppf(0.975, np.floor(df)) / norm.ppf(0.975)
noise = g["known"]["noise"] * wider(g["known"]["noise_df"])
i = np.minimum(np.maximum(np.searchsorted(x, at) - 1, 0), len(x) - 2)
slope = np.abs((m[i + 1] - m[i]) / (x[i + 1] - x[i]))
meter = (0.005 * y + 2 * 0.1) / np.sqrt(3)
bench = np.outer(meter, meter) + 0.05 ** 2 + np.diag(noise ** 2 + 0.1 ** 2 / 12 + (0.005 * slope) ** 2 / 3)
off = y - np.array(g["course"])
n = len(x)
c = cov(wider(g["known"]["df"]))
gain = c[:n, n:] @ np.linalg.inv(c[n:, n:] + bench)
mean, variance = m + gain @ off, np.diag(c[:n, :n] - gain @ c[n:, :n])
fl = h @ floor
v = cov(1)[n:, n:] + bench + np.outer(fl, fl)
t2 = off @ np.linalg.solve(v, off)
df = g["known"]["df"] + 2
print(json.dumps({"Mean": list(mean), "Variance": list(variance), "T2": t2, "P": f.sf(t2 / len(y), len(y), df), "Refuses": len(y) * f.ppf(0.99, len(y), df)}))
`, map[string]any{"known": k, "marks": []float64{0.03, 0.5, 0.96, 0.5}, "ohms": []float64{20, 117.5, 178, 117.9}, "course": course(p, r)}, &out)
	for i := range values {
		if math.Abs(values[i]-out.Mean[i]) > 1e-4 || math.Abs(variances[i]-out.Variance[i]) > 1e-4*out.Variance[i] {
			t.Errorf("knot %d: %.8g, variance %.8g; NumPy %.8g, %.8g", i, values[i], variances[i], out.Mean[i], out.Variance[i])
		}
	}
	v := p.judge(r, len(r.list))
	if math.Abs(v.T2-out.T2) > 1e-4*out.T2 || math.Abs(v.P-out.P) > 1e-5 || math.Abs(v.Refuses-out.Refuses) > 1e-8*out.Refuses {
		t.Errorf("%+v; SciPy %+v", v, out)
	}
}

func course(p *prior, r read) []float64 {
	out := make([]float64, len(r.list))
	for i, one := range r.list {
		out[i] = float64(one.Ohm) - r.off[i]
	}
	return out
}

// Critical values of T² against SciPy's F and chi-squared.
func TestCriticalAgainstSciPy(t *testing.T) {
	cases := [][3]float64{{0.01, 2, 3}, {0.01, 3, 9.4}, {0.05, 3, 21}, {0.01, 10, 5}, {0.01, 3, 0}}
	var out []float64
	peer.Python(t, []string{"scipy"}, `
import json, sys
from scipy.stats import chi2, f
print(json.dumps([r * f.isf(a, r, df) if df else chi2.isf(a, r) for a, r, df in json.load(sys.stdin)]))
`, cases, &out)
	for i, c := range cases {
		df := c[2]
		if df == 0 {
			df = math.Inf(1)
		}
		if got := critical(c[0], [2]float64{c[1], df}); math.Abs(got-out[i]) > 1e-8*out[i] {
			t.Errorf("%v: %.12g, SciPy %.12g", c, got, out[i])
		}
		if p := tail(out[i], [2]float64{c[1], df}); math.Abs(p-c[0]) > 1e-9 {
			t.Errorf("%v: chance %g", c, p)
		}
	}
}

// The schema says the same to Python's jsonschema as to Read.
func TestSchemaAgainstJSONSchemaOfPython(t *testing.T) {
	_, data := sample(t)
	files := []string{string(data)}
	for _, c := range [][2]string{
		{`"name": "`, `"nmae": "`}, {`"mark": 10,`, `"mark": 10, "ohm": 5,`}, {`"version": 1`, `"version": 2`}, {`"gives": "ohm"`, `"gives": "ohms"`},
		{`"noise_df": 11`, `"noise_df": 1.5`}, {`"date": "2025-11-03"`, `"date": "2025-11-33"`}, {`"job": "12"`, `"job": "1\n2"`}, {`"own": 0.0`, `"own": -0.0`},
		{`"name": "invented dial, 10 to 180 ohm"`, `"name": " "`},
	} {
		text := strings.Replace(string(data), c[0], c[1], 1)
		if text == files[0] {
			t.Fatalf("nothing to change: %s", c[0])
		}
		files = append(files, text)
	}
	var valid []bool
	peer.Python(t, []string{"jsonschema"}, `
import datetime, json, sys
from jsonschema import Draft202012Validator, FormatChecker
g = json.load(sys.stdin)
checker = FormatChecker(formats=[])
@checker.checks("date", raises=ValueError)
def date(v): return not isinstance(v, str) or bool(datetime.date.fromisoformat(v))
schema = json.loads(g["schema"])
Draft202012Validator.check_schema(schema)
v = Draft202012Validator(schema, format_checker=checker)
print(json.dumps([v.is_valid(json.loads(f)) for f in g["files"]]))
`, map[string]any{"schema": string(Schema), "files": files}, &valid)
	for i, text := range files {
		_, err := Read(strings.NewReader(text), "f")
		if valid[i] != (err == nil) || valid[i] != (i == 0) {
			t.Errorf("file %d: Python says %v, Read %v", i, valid[i], err)
		}
	}
}
