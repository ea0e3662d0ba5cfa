package tank_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"

	"gaugewright/internal/finding"
	"gaugewright/internal/peer"
	"gaugewright/internal/quantity"
	"gaugewright/internal/tank"
)

// measuredPoints are volumes of a tank at heights, each with a doubt and moved
// by as many of them as noise says.
func measuredPoints(tk *tank.Tank, heights []float64, u float64, noise func() float64) []tank.Poured {
	var list []tank.Poured
	for _, h := range heights {
		v := tk.Upright().Volume(quantity.Metre(h))
		list = append(list, tank.Poured{Height: quantity.Metre(h), Volume: v + quantity.CubicMetre(u*noise()), U: quantity.CubicMetre(u)})
	}
	return list
}

func measuredFit(t testing.TB, points []tank.Poured, d tank.Dimensions, cov mat.Symmetric) *tank.PouredFit {
	t.Helper()
	f, err := tank.FitPoured(points, d, cov)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// Exact litres of tanks made elsewhere in this package give their dimensions
// back.
func TestFitExact(t *testing.T) {
	none := func() float64 { return 0 }
	ell := tank.Head{Kind: tank.Ellipsoidal}
	heights := []float64{0.05, 0.1, 0.2, 0.27}
	for _, c := range []struct {
		name  string
		solid tank.Solid
		guess tank.Dimensions
		want  map[string]float64
	}{
		{"lying, flat", made(t)(tank.Cylinder(0.3, 0.8, true, tank.Head{Kind: tank.Flat}, tank.Head{Kind: tank.Flat})), tank.Dimensions{Form: tank.LyingForm}, map[string]float64{"diameter": 0.3, "length": 0.8}},
		{"lying, ellipsoids", made(t)(tank.Cylinder(0.3, 0.8, true, ell, ell)), tank.Dimensions{Form: tank.LyingForm, Heads: 0.5}, map[string]float64{"diameter": 0.3, "length": 0.8}},
		{"lying, diameter held", made(t)(tank.Cylinder(0.3, 0.8, true, ell, ell)), tank.Dimensions{Form: tank.LyingForm, Heads: 0.5, Diameter: tank.Tape(0.3, 0)}, map[string]float64{"length": 0.8}},
		{"upright", made(t)(tank.Cylinder(0.4, 0.3, false, tank.Head{Kind: tank.Flat}, tank.Head{Kind: tank.Flat})), tank.Dimensions{Form: tank.UprightForm, Height: tank.Tape(0.3, 0)}, map[string]float64{"diameter": 0.4}},
		{"box", made(t)(tank.Box(0.8, 0.5, 0.3)), tank.Dimensions{Form: tank.BoxForm, Height: tank.Tape(0.3, 0)}, map[string]float64{"area": 0.4}},
		{"box, width held", made(t)(tank.Box(0.8, 0.5, 0.3)), tank.Dimensions{Form: tank.BoxForm, Width: tank.Tape(0.5, 0), Height: tank.Tape(0.3, 0)}, map[string]float64{"length": 0.8}},
	} {
		tk := newTank(t, c.solid, tank.Sensor{})
		f := measuredFit(t, measuredPoints(tk, heights, 1e-4, none), c.guess, nil)
		if len(f.Fitted) != len(c.want) {
			t.Errorf("%s: fitted %+v; want %v", c.name, f.Fitted, c.want)
		}
		for _, d := range f.Fitted {
			if want := c.want[d.Name]; math.Abs(d.Value-want) > 1e-8*want || !d.Told {
				t.Errorf("%s: %s %v ± %v, told %v; want %v", c.name, d.Name, d.Value, d.U, d.Told, want)
			}
		}
		if math.Abs(float64(f.Capacity/tk.Capacity())-1) > 1e-8 || f.ChiSquared > 1e-8 || f.P < 0.99 {
			t.Errorf("%s: capacity %s, misfit %v, %v; want %s, none", c.name, f.Capacity, f.ChiSquared, f.P, tk.Capacity())
		}
	}
}

type measuredCase struct {
	Form     string
	Heads    float64
	H, V     []float64
	Sigma    []float64   `json:",omitempty"`
	Cov      [][]float64 `json:",omitempty"`
	Start    []float64
	Diameter float64 // held, where above 0
}

// The same noisy points, with the same weights, through SciPy's curve_fit: the
// dimensions and their covariance. The volumes there are integrals of the
// chord, not the formula used here.
func TestFitAgainstSciPy(t *testing.T) {
	random := rand.New(rand.NewPCG(5, 1))
	var cases []measuredCase
	var fits []*tank.PouredFit
	add := func(c measuredCase, form tank.Form) {
		var points []tank.Poured
		for i, h := range c.H {
			p := tank.Poured{Height: quantity.Metre(h), Volume: quantity.CubicMetre(c.V[i])}
			if c.Sigma != nil {
				p.U = quantity.CubicMetre(c.Sigma[i])
			}
			points = append(points, p)
		}
		d := tank.Dimensions{Form: form, Heads: c.Heads}
		if c.Diameter > 0 {
			d.Diameter = tank.Tape(quantity.Metre(c.Diameter), 0)
		}
		var cov mat.Symmetric
		if c.Cov != nil {
			s := mat.NewSymDense(len(c.H), nil)
			for i := range c.Cov {
				for j := range c.Cov {
					s.SetSym(i, j, c.Cov[i][j])
				}
			}
			cov = s
		}
		cases, fits = append(cases, c), append(fits, measuredFit(t, points, d, cov))
	}
	ell := tank.Head{Kind: tank.Ellipsoidal}
	flat := tank.Head{Kind: tank.Flat}
	for range 4 {
		diameter, length := 0.25+0.3*random.Float64(), 0.4+random.Float64()
		for _, heads := range []float64{0, 0.5} {
			head := flat
			if heads > 0 {
				head = ell
			}
			tk := newTank(t, made(t)(tank.Cylinder(diameter, length, true, head, head)), tank.Sensor{})
			c := measuredCase{Form: "lying", Heads: heads, Start: []float64{diameter * 1.1, length * 0.9}}
			for i := range 8 {
				h := diameter * (0.1 + 0.11*float64(i))
				sigma := 1e-4 * float64(1+i%3)
				c.H = append(c.H, h)
				c.V = append(c.V, float64(tk.Upright().Volume(quantity.Metre(h)))+sigma*random.NormFloat64())
				c.Sigma = append(c.Sigma, sigma)
			}
			add(c, tank.LyingForm)
			// Litres poured one after the other: their doubts go together.
			c.Sigma, c.Cov = nil, make([][]float64, len(c.H))
			for i := range c.H {
				c.Cov[i] = make([]float64, len(c.H))
				for j := range c.H {
					c.Cov[i][j] = 1e-8*float64(min(i, j)+1) + 0.005*0.005*c.V[i]*c.V[j]
				}
			}
			add(c, tank.LyingForm)
			c.Diameter, c.Start = diameter, []float64{length * 0.9}
			add(c, tank.LyingForm)
		}
	}
	up := measuredCase{Form: "upright", H: []float64{0.1, 0.2, 0.3}, V: []float64{0.0124, 0.0253, 0.0378}, Sigma: []float64{1e-4, 2e-4, 3e-4}, Start: []float64{0.3}}
	add(up, tank.UprightForm)
	up.Form = "box"
	add(up, tank.BoxForm)
	var want []struct {
		P    []float64
		Cov  [][]float64
		Chi2 float64
	}
	peer.Python(t, []string{"scipy", "numpy"}, `
import json, sys
import numpy as np
from scipy.optimize import curve_fit
nodes, weights = np.polynomial.legendre.leggauss(60)

def below(d, l, k, h):
    # Cut across the height: z = h(1+x)/2 smoothed at the bottom by z = h s^2.
    s = (nodes + 1) / 2
    z, dz = h * s**2, h * s * weights
    w2 = z * (d - z)
    return np.sum((2 * np.sqrt(w2) * l + k * np.pi * w2) * dz)

def model(c):
    if c["Form"] == "box":
        return lambda h, a: a * h
    if c["Form"] == "upright":
        return lambda h, d: np.pi / 4 * d**2 * h
    k = c["Heads"]
    if c["Diameter"]:
        return lambda h, l: np.array([below(c["Diameter"], l, k, x) for x in h])
    return lambda h, d, l: np.array([below(d, l, k, x) for x in h])

out = []
for c in json.load(sys.stdin):
    f = model(c)
    def jac(h, *p):
        cols = []
        for i in range(len(p)):
            e = 1e-5 * p[i]
            q = lambda t: f(h, *[v + t * e * (i == j) for j, v in enumerate(p)])
            cols.append((8 * (q(1) - q(-1)) - (q(2) - q(-2))) / (12 * e))
        return np.array(cols).T
    sigma = np.array(c["Cov"] if "Cov" in c else c["Sigma"])
    h, v = np.array(c["H"]), np.array(c["V"])
    p, cov = curve_fit(f, h, v, p0=c["Start"], sigma=sigma, absolute_sigma=True, jac=jac, ftol=1e-15, xtol=1e-15, gtol=1e-15)
    r = v - f(h, *p)
    s = sigma if sigma.ndim == 2 else np.diag(sigma**2)
    out.append({"P": p.tolist(), "Cov": cov.tolist(), "Chi2": float(r @ np.linalg.solve(s, r))})
json.dump(out, sys.stdout)
`, cases, &want)
	for i, f := range fits {
		for a, d := range f.Fitted {
			if math.Abs(d.Value-want[i].P[a]) > 1e-6*d.Value {
				t.Errorf("case %d, %s: %v; SciPy has %v", i, d.Name, d.Value, want[i].P[a])
			}
			for b := range f.Fitted {
				if w := want[i].Cov[a][b]; math.Abs(f.Cov.At(a, b)-w) > 1e-6*math.Abs(w) {
					t.Errorf("case %d, covariance %d, %d: %v; SciPy has %v", i, a, b, f.Cov.At(a, b), w)
				}
			}
		}
		if math.Abs(f.ChiSquared-want[i].Chi2) > 1e-6*want[i].Chi2+1e-12 {
			t.Errorf("case %d, misfit %v; SciPy has %v", i, f.ChiSquared, want[i].Chi2)
		}
	}
}

// Of many noisy pourings the fitted dimensions scatter as their doubts say, and
// so does the misfit.
func TestFitKeepsItsPromise(t *testing.T) {
	tk := newTank(t, made(t)(tank.Cylinder(0.3, 0.8, true, tank.Head{Kind: tank.Flat}, tank.Head{Kind: tank.Flat})), tank.Sensor{})
	random := rand.New(rand.NewPCG(3, 4))
	heights := []float64{0.04, 0.08, 0.12, 0.16, 0.2, 0.24, 0.28}
	const trials = 400
	var within, poor int
	for range trials {
		var points []tank.Poured
		for _, h := range heights {
			// The height is misread too.
			v := tk.Upright().Volume(quantity.Metre(h + 0.0005*random.NormFloat64()))
			points = append(points, tank.Poured{Height: quantity.Metre(h), UHeight: 0.0005, Volume: v + quantity.CubicMetre(1e-4*random.NormFloat64()), U: 1e-4})
		}
		f := measuredFit(t, points, tank.Dimensions{Form: tank.LyingForm}, nil)
		if math.Abs(float64(f.Capacity-tk.Capacity())) < 1.96*float64(f.UCapacity) {
			within++
		}
		if f.P < 0.05 {
			poor++
		}
	}
	// 95 and 5 %: of 400, ±4 standard deviations of a binomial are ±17.4.
	if math.Abs(float64(within)-380) > 17.5 || math.Abs(float64(poor)-20) > 17.5 {
		t.Errorf("%d of %d capacities within 1.96 u, %d misfits beyond 5 %%; want about 380 and 20", within, trials, poor)
	}
}

func TestFitLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d, l := rapid.Float64Range(0.1, 2).Draw(t, "d"), rapid.Float64Range(0.1, 3).Draw(t, "l")
		times := rapid.Float64Range(0.2, 5).Draw(t, "times")
		var points, larger []tank.Poured
		for i := range 6 {
			h := d * (0.15 + 0.14*float64(i))
			r := d / 2
			v := l * (r*r*math.Acos(1-h/r) - (r-h)*math.Sqrt(h*(d-h)))
			v *= 1 + 0.004*rapid.Float64Range(-1, 1).Draw(t, "noise")
			points = append(points, tank.Poured{Height: quantity.Metre(h), Volume: quantity.CubicMetre(v), U: quantity.CubicMetre(0.004 * v)})
			k := times * times * times
			larger = append(larger, tank.Poured{Height: quantity.Metre(h * times), Volume: quantity.CubicMetre(v * k), U: quantity.CubicMetre(0.004 * v * k)})
		}
		a, err := tank.FitPoured(points, tank.Dimensions{Form: tank.LyingForm}, nil)
		b, errB := tank.FitPoured(larger, tank.Dimensions{Form: tank.LyingForm}, nil)
		if err != nil || errB != nil {
			t.Fatal(err, errB)
		}
		for i := range a.Fitted {
			if math.Abs(a.Fitted[i].Value*times/b.Fitted[i].Value-1) > 1e-7 || math.Abs(a.Fitted[i].U*times/b.Fitted[i].U-1) > 1e-5 {
				t.Fatalf("%v; of a tank %v times as large %v", a.Fitted, times, b.Fitted)
			}
		}
		// A tape that says what the fit says leaves it there and makes it surer.
		known := tank.Dimensions{Form: tank.LyingForm, Diameter: tank.Tape(quantity.Metre(a.Fitted[0].Value), quantity.Metre(a.Fitted[0].U))}
		c, err := tank.FitPoured(points, known, nil)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(c.Fitted[0].Value/a.Fitted[0].Value-1) > 1e-7 || math.Abs(c.Fitted[0].U/a.Fitted[0].U-math.Sqrt(0.5)) > 1e-5 || c.DF != a.DF+1 {
			t.Fatalf("%v with a tape that agrees; %v without", c.Fitted, a.Fitted)
		}
	})
}

func TestFitSays(t *testing.T) {
	none := func() float64 { return 0 }
	lying := newTank(t, made(t)(tank.Cylinder(0.3, 0.8, true, tank.Head{Kind: tank.Flat}, tank.Head{Kind: tank.Flat})), tank.Sensor{})
	box := senderBox(t, tank.Sensor{})
	low := measuredPoints(lying, []float64{0.02, 0.03, 0.04}, 2e-4, none)
	slip := measuredPoints(lying, []float64{0.05, 0.1, 0.15, 0.2, 0.25}, 1e-4, none)
	slip[2].Volume += 0.002
	for _, c := range []struct {
		name   string
		points []tank.Poured
		guess  tank.Dimensions
		kind   string
		weight finding.Weight
		say    string
	}{
		{"low only", low, tank.Dimensions{Form: tank.LyingForm}, tank.KindNotTold, finding.Doubt, "The diameter can't be told from these points at all"},
		{"low only", low, tank.Dimensions{Form: tank.LyingForm}, tank.KindGoTogether, finding.Note, "Diameter and length go together"},
		{"low only", low, tank.Dimensions{Form: tank.LyingForm}, tank.KindFittedCapacity, finding.Doubt, "can't be told from these points: no more than 4.48 L was poured"},
		{"to a fifth", measuredPoints(lying, []float64{0.02, 0.03, 0.04, 0.06}, 2e-5, none), tank.Dimensions{Form: tank.LyingForm}, tank.KindNotTold, finding.Doubt, "is told poorly by these points: 300 ± "},
		{"a slip", slip, tank.Dimensions{Form: tank.LyingForm}, tank.KindFitMisses, finding.Doubt, "The farthest is 30.27 L at 150 mm"},
		{"another form", measuredPoints(lying, []float64{0.05, 0.15, 0.25}, 1e-4, none), tank.Dimensions{Form: tank.BoxForm}, tank.KindFitMisses, finding.Doubt, "don't lie on a box"},
		{"box", measuredPoints(box, []float64{0.1, 0.2}, 1e-4, none), tank.Dimensions{Form: tank.BoxForm, Height: tank.Tape(0.3, 0.001)}, tank.KindFitted, finding.Note, "length × width: 0.40000 ± 0.00089 m². Which of the two is which they can't tell"},
		{"box", measuredPoints(box, []float64{0.1, 0.2}, 1e-4, none), tank.Dimensions{Form: tank.BoxForm, Height: tank.Tape(0.3, 0.001)}, tank.KindFittedCapacity, finding.Doubt, "The capacity comes to 120.00 ± 0.84 L. No more than 80 L was poured"},
		{"as many", measuredPoints(lying, []float64{0.1, 0.2}, 1e-4, none), tank.Dimensions{Form: tank.LyingForm}, tank.KindNothingChecks, finding.Doubt, "nothing checks"},
		{"above", []tank.Poured{{Height: 0.1, Volume: 0.01, U: 1e-4}, {Height: 0.2, Volume: 0.03, U: 1e-4}, {Height: 0.4, Volume: 0.04, U: 1e-4}}, tank.Dimensions{Form: tank.LyingForm, Diameter: tank.Tape(0.3, 0)}, tank.KindAboveFit, finding.Doubt, "A point stands at 400 mm, above the fitted diameter of 300 mm"},
	} {
		f := measuredFit(t, c.points, c.guess, nil)
		if got := senderOf(f.Findings, c.kind); got == nil || got.Weight != c.weight || !strings.Contains(got.Text, c.say) {
			t.Errorf("%s: %+v; want %s with %q", c.name, f.Findings, c.kind, c.say)
		}
	}
	open := measuredFit(t, measuredPoints(box, []float64{0.1, 0.2}, 1e-4, none), tank.Dimensions{Form: tank.BoxForm}, nil)
	if !math.IsNaN(float64(open.Capacity)) || senderOf(open.Findings, tank.KindFittedCapacity) != nil {
		t.Errorf("a box without a height has the capacity %s", open.Capacity)
	}
}

func TestFitRefuses(t *testing.T) {
	good := []tank.Poured{{Height: 0.1, Volume: 0.01, U: 1e-4}, {Height: 0.2, Volume: 0.03, U: 1e-4}}
	nan := quantity.Metre(math.NaN())
	with := func(p tank.Poured) []tank.Poured { return append([]tank.Poured{p}, good...) }
	lying := tank.Dimensions{Form: tank.LyingForm}
	for _, c := range []struct {
		points []tank.Poured
		guess  tank.Dimensions
		cov    mat.Symmetric
		say    string
	}{
		{good[:1], lying, nil, "can't tell the diameter and length"},
		{nil, tank.Dimensions{Form: tank.BoxForm}, nil, "at least 1"},
		{good, tank.Dimensions{Form: tank.LyingForm, Diameter: tank.Tape(0.3, 0), Length: tank.Tape(0.8, 0)}, nil, "nothing is left to fit"},
		{[]tank.Poured{good[0], good[0]}, lying, nil, "tell the diameter and length apart"},
		{with(tank.Poured{Height: nan, Volume: 1, U: 0.1}), lying, nil, "point 1 stands at a height of NaN"},
		{with(tank.Poured{Height: 0.1, Volume: -1, U: 0.1}), lying, nil, "more than nothing"},
		{with(tank.Poured{Height: 0.1, Volume: 0.1}), lying, nil, "has no doubt"},
		{with(tank.Poured{Height: 0.1, Volume: 0.1, U: 0.2}), lying, nil, "less than the figures themselves"},
		{good, tank.Dimensions{Form: tank.BoxForm, Height: tank.Tape(0.15, 0.001)}, nil, "above the tank's height"},
		{good, tank.Dimensions{Form: tank.LyingForm, Diameter: tank.Tape(300, 1)}, nil, "is it in another unit?"},
		{good, tank.Dimensions{Form: tank.LyingForm, Diameter: tank.Tape(0.3, 0.2)}, nil, "less than half of it"},
		{good, tank.Dimensions{Form: tank.LyingForm, Heads: 2}, nil, "bulged by 2"},
		{good, tank.Dimensions{Form: tank.Form(9)}, nil, "the form isn't known"},
		{good, lying, mat.NewSymDense(3, nil), "covariance is of 3 volumes"},
		{good, lying, mat.NewSymDense(2, []float64{1, 1, 1, 1}), "isn't positive definite"},
	} {
		f, err := tank.FitPoured(c.points, c.guess, c.cov)
		if err == nil || !strings.Contains(err.Error(), c.say) {
			t.Errorf("%+v, %+v: %+v, %v; want %q", c.points, c.guess, f, err, c.say)
		}
	}
}
