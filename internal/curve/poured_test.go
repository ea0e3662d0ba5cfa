package curve_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat"
	"pgregory.net/rapid"

	"gaugewright/internal/curve"
	"gaugewright/internal/peer"
	"gaugewright/internal/quantity"
)

// fiveLitres is a pouring of twelve jugs of 5 L, each ±0.02 L (standard) and
// all alike by 1 %, into a tank with 0.1 L ± 0.05 L in it. Invented.
func fiveLitres() curve.Pouring {
	p := curve.Pouring{Start: 0.0001, StartU: 0.00005, Common: 0.01}
	for range 12 {
		p.Pours = append(p.Pours, curve.Pour{Amount: 0.005, U: 0.00002})
	}
	return p
}

// The covariance of cumulated amounts, against the linear propagation of the
// Python package uncertainties, which tracks every common part by itself.
func TestPouringAgainstUncertainties(t *testing.T) {
	uneven := curve.Pouring{Start: 0.002, StartU: 0.0001, Common: 0.02, Pours: []curve.Pour{{0.005, 0.00005}, {0.003, 0}, {0.010, 0.0002}, {0.0005, 0.0001}}}
	type pouring struct {
		Start, StartU, Common float64
		Amount, U             []float64
	}
	cases := []curve.Pouring{fiveLitres(), uneven, {Pours: []curve.Pour{{0.001, 0.00001}}}}
	var in []pouring
	for _, p := range cases {
		q := pouring{Start: float64(p.Start), StartU: float64(p.StartU), Common: p.Common}
		for _, pour := range p.Pours {
			q.Amount, q.U = append(q.Amount, float64(pour.Amount)), append(q.U, float64(pour.U))
		}
		in = append(in, q)
	}
	var out []struct {
		Marks []float64
		Cov   [][]float64
	}
	peer.Python(t, []string{"uncertainties"}, `
import json, sys
from uncertainties import ufloat, covariance_matrix
out = []
for p in json.load(sys.stdin):
    gain = ufloat(1, p["Common"])
    volume = ufloat(p["Start"], p["StartU"])
    marks = [volume]
    for amount, u in zip(p["Amount"], p["U"]):
        volume = volume + gain * ufloat(amount, u)
        marks.append(volume)
    out.append({"Marks": [m.nominal_value for m in marks], "Cov": covariance_matrix(marks)})
json.dump(out, sys.stdout)
`, in, &out)
	for k, p := range cases {
		marks, cov := p.Marks()
		for i := range marks {
			if math.Abs(marks[i]-out[k].Marks[i]) > 1e-15 {
				t.Errorf("case %d mark %d: %v, uncertainties has %v", k, i, marks[i], out[k].Marks[i])
			}
			if u := p.U(marks[i]); math.Abs(u-math.Sqrt(cov.At(i, i))) > 1e-12*u {
				t.Errorf("case %d mark %d: U %v, covariance %v", k, i, u, math.Sqrt(cov.At(i, i)))
			}
			for j := range marks {
				if want := out[k].Cov[i][j]; math.Abs(cov.At(i, j)-want) > 1e-12*cov.At(len(marks)-1, len(marks)-1) {
					t.Errorf("case %d (%d, %d): %v, uncertainties has %v", k, i, j, cov.At(i, j), want)
				}
			}
		}
	}
}

// By hand, JCGM 100:2008, 5.2.2: twelve pours of ±0.02 L give √12·0.02 L; 1 %
// of 60 L is 0.6 L; the start has 0.05 L.
func TestPouringByHand(t *testing.T) {
	want := math.Sqrt(12*0.02*0.02 + 0.6*0.6 + 0.05*0.05)
	if got := 1000 * fiveLitres().U(0.0601); math.Abs(got-want) > 1e-12 {
		t.Errorf("u of 60.1 L is %v L, want %v", got, want)
	}
	// Half a pour more: half a pour's doubt; a whole one beyond the last: as
	// the last. Below the start only the start's own.
	for _, c := range []struct{ mark, want float64 }{
		{2.6, math.Hypot(math.Hypot(0.05, 0.01), 0.025)},
		{65.1, math.Sqrt(13*0.02*0.02 + 0.65*0.65 + 0.05*0.05)},
		{0.05, 0.05},
	} {
		if got := 1000 * fiveLitres().U(c.mark/1000); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("u of %v L is %v L, want %v", c.mark, got, c.want)
		}
	}
}

// some draws a figure up to the greatest, in thousandths of it: nothing is
// common, and so small that the arithmetic loses its digits never.
func some(t *rapid.T, greatest float64, name string) float64 {
	return greatest * float64(rapid.IntRange(0, 1000).Draw(t, name)) / 1000
}

func TestPouringLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 40).Draw(t, "pours")
		p := curve.Pouring{
			Start:  quantity.CubicMetre(some(t, 0.1, "start")),
			StartU: quantity.CubicMetre(some(t, 0.01, "start u")),
			Common: some(t, 0.1, "common"),
		}
		equal := rapid.Bool().Draw(t, "equal")
		for k := range n {
			amount := rapid.Float64Range(0.0001, 0.02).Draw(t, "amount")
			pour := curve.Pour{Amount: quantity.CubicMetre(amount), U: quantity.CubicMetre(amount * some(t, 0.3, "u"))}
			if equal && k > 0 {
				pour = p.Pours[0]
			}
			p.Pours = append(p.Pours, pour)
		}
		if err := p.Check(); err != nil {
			t.Fatal(err)
		}
		marks, cov := p.Marks()
		for i := range n {
			if cov.At(i+1, i+1) < cov.At(i, i) {
				t.Fatalf("the variance falls from %v to %v at mark %d", cov.At(i, i), cov.At(i+1, i+1), i+1)
			}
			// The step between neighbours: the pour's own doubt and its part of
			// the common one (JCGM 100:2008, 5.2.2, of a difference).
			step := cov.At(i+1, i+1) + cov.At(i, i) - 2*cov.At(i, i+1)
			a, u := float64(p.Pours[i].Amount), float64(p.Pours[i].U)
			if want := u*u + a*a*p.Common*p.Common; math.Abs(step-want) > 1e-12*(want+cov.At(n, n)) {
				t.Fatalf("the step to mark %d has a variance of %v, want %v", i+1, step, want)
			}
			if c := cov.At(i, i) * cov.At(i+1, i+1); c > 0 {
				if r := cov.At(i, i+1) / math.Sqrt(c); r < 0 || r > 1+1e-12 {
					t.Fatalf("correlation %v", r)
				}
			}
		}
		if equal && p.Common == 0 && p.StartU == 0 {
			if want := math.Sqrt(float64(n)) * float64(p.Pours[0].U); math.Abs(p.U(marks[n])-want) > 1e-12 {
				t.Fatalf("u of %d equal pours is %v, want √n times one, %v", n, p.U(marks[n]), want)
			}
		}
		seed := rapid.Uint64().Draw(t, "seed")
		drawn := make([]float64, n+1)
		p.Draw(rand.New(rand.NewPCG(seed, 1)), drawn)
		for i := range n {
			if !(drawn[i+1] > drawn[i]) {
				t.Fatalf("drawn marks don't rise: %v", drawn)
			}
			// Marks in between stay in between, and every mark goes with its own.
			if m := p.Moved(drawn, (marks[i]+marks[i+1])/2); !(m >= drawn[i] && m <= drawn[i+1]) {
				t.Fatalf("half-way between %v and %v moved to %v", drawn[i], drawn[i+1], m)
			}
			if m := p.Moved(drawn, marks[i+1]); math.Abs(m-drawn[i+1]) > 1e-12 {
				t.Fatalf("mark %d moved to %v, drawn %v", i+1, m, drawn[i+1])
			}
		}
	})
}

// Without a common part and with many equal pours the correlation of
// neighbours is √(n/(n+1)), which goes to 1 (closed form of a random walk).
func TestPouringNeighboursGoTogether(t *testing.T) {
	p := curve.Pouring{}
	for range 100 {
		p.Pours = append(p.Pours, curve.Pour{Amount: 0.001, U: 0.0001})
	}
	_, cov := p.Marks()
	for _, n := range []int{1, 10, 99} {
		r := cov.At(n, n+1) / math.Sqrt(cov.At(n, n)*cov.At(n+1, n+1))
		if want := math.Sqrt(float64(n) / float64(n+1)); math.Abs(r-want) > 1e-12 {
			t.Errorf("correlation of %d and %d is %v, want %v", n, n+1, r, want)
		}
	}
}

// The draws have the covariance that Marks states.
func TestDrawHasTheCovariance(t *testing.T) {
	p := fiveLitres()
	marks, cov := p.Marks()
	const trials = 40_000
	random := rand.New(rand.NewPCG(7, 11))
	columns := make([][]float64, len(marks))
	drawn := make([]float64, len(marks))
	for range trials {
		p.Draw(random, drawn)
		for i, v := range drawn {
			columns[i] = append(columns[i], v)
		}
	}
	for i := range marks {
		u := math.Sqrt(cov.At(i, i))
		// The mean is good to u/√trials, a covariance to √2·u²/√trials.
		if mean := stat.Mean(columns[i], nil); math.Abs(mean-marks[i]) > 5*u/math.Sqrt(trials) {
			t.Errorf("mark %d: mean %v, want %v", i, mean, marks[i])
		}
		for j := i; j < len(marks); j++ {
			uu := u * math.Sqrt(cov.At(j, j))
			if got := stat.Covariance(columns[i], columns[j], nil); math.Abs(got-cov.At(i, j)) > 5*math.Sqrt2*uu/math.Sqrt(trials) {
				t.Errorf("(%d, %d): covariance %v, want %v", i, j, got, cov.At(i, j))
			}
		}
	}
	// Marks beyond those poured go along with the nearest.
	if got := p.Moved(drawn, marks[0]-0.001) - drawn[0]; math.Abs(got+0.001) > 1e-12 {
		t.Errorf("a litre below the start moved to %v below it", got)
	}
	if got := p.Moved(drawn, marks[12]+0.001) - drawn[12]; math.Abs(got-0.001) > 1e-12 {
		t.Errorf("a litre beyond the last moved to %v beyond it", got)
	}
	again := make([]float64, len(marks))
	p.Draw(rand.New(rand.NewPCG(7, 11)), again)
	p.Draw(rand.New(rand.NewPCG(7, 11)), drawn)
	for i := range again {
		if again[i] != drawn[i] {
			t.Fatalf("one seed gave %v and %v", again, drawn)
		}
	}
}

// A pour that is hardly known still only adds.
func TestDrawRisesWithPoorPours(t *testing.T) {
	p := curve.Pouring{Common: 0.49, StartU: 0.01}
	for range 8 {
		p.Pours = append(p.Pours, curve.Pour{Amount: 0.001, U: 0.00099})
	}
	random := rand.New(rand.NewPCG(3, 5))
	marks := make([]float64, 9)
	for range 2000 {
		p.Draw(random, marks)
		for i := range 8 {
			if !(marks[i+1] > marks[i]) {
				t.Fatalf("%v doesn't rise", marks)
			}
		}
	}
}

// Weighed pours against uncertainties: ten of 5 kg ± 10 g at 0.998 ± 0.002
// kg/L with a scale that is 0.5 % off.
func TestPouredByWeight(t *testing.T) {
	var weighed []curve.Weighed
	for range 10 {
		weighed = append(weighed, curve.Weighed{Mass: 5, U: 0.01})
	}
	p, err := curve.PouredByWeight(0, 0, weighed, 0.005, curve.Density{Value: 998, U: 2})
	if err != nil {
		t.Fatal(err)
	}
	var want struct{ V, U float64 }
	peer.Python(t, []string{"uncertainties"}, `
import json, sys
from uncertainties import ufloat
rho, gain = ufloat(998, 2), ufloat(1, 0.005)
v = sum(gain * ufloat(5, 0.01) / rho for _ in range(10))
json.dump({"V": v.nominal_value, "U": v.std_dev}, sys.stdout)
`, nil, &want)
	marks, _ := p.Marks()
	if v := marks[10]; math.Abs(v-want.V) > 1e-12 || math.Abs(p.U(v)-want.U) > 1e-9*want.U {
		t.Errorf("%v ± %v m³, uncertainties has %v ± %v", v, p.U(v), want.V, want.U)
	}
	for name, density := range map[string]curve.Density{"none": {}, "below nothing": {-1, 0}, "not known at all": {900, 900}, "no number": {math.NaN(), 0}} {
		if _, err := curve.PouredByWeight(0, 0, weighed, 0, density); err == nil || !strings.Contains(err.Error(), "density") {
			t.Errorf("density %s: error %v", name, err)
		}
	}
}

func TestDrawNeedsRoom(t *testing.T) {
	defer func() {
		if recover() == nil {
			t.Error("no room for the start, and no panic")
		}
	}()
	fiveLitres().Draw(rand.New(rand.NewPCG(1, 1)), make([]float64, 12))
}

func TestPouredTo(t *testing.T) {
	// Up, down and repeated, as on a bench; 2 L in the tank beforehand.
	marks := []float64{0.002, 0.007, 0.012, 0.012, 0.022, 0.012, 0.002}
	p, err := curve.PouredTo(marks, 0.002, 0.0001, 0.00005, 0.01)
	if err != nil {
		t.Fatal(err)
	}
	var amounts []float64
	for _, pour := range p.Pours {
		amounts = append(amounts, math.Round(1e6*float64(pour.Amount))/1e3)
		if pour.U != 0.00005 {
			t.Errorf("a pour has u %v", pour.U)
		}
	}
	if len(amounts) != 3 || amounts[0] != 5 || amounts[1] != 5 || amounts[2] != 10 {
		t.Errorf("poured %v L, want 5, 5, 10", amounts)
	}
	if marks[0] != 0.002 || marks[4] != 0.022 || marks[6] != 0.002 {
		t.Errorf("the caller's marks were changed: %v", marks)
	}
	for name, c := range map[string]struct {
		marks  []float64
		start  quantity.CubicMetre
		each   quantity.CubicMetre
		common float64
		say    string
	}{
		"below the start":       {[]float64{0.001, 0.01}, 0.005, 0, 0, "the mark 1 L lies below the 5 L that were in the tank"},
		"nothing poured":        {[]float64{0.005}, 0.005, 0, 0, "nothing was poured"},
		"a doubt like the pour": {[]float64{0, 0.005, 0.006}, 0, 0.001, 0, "pour 2 of 1 L has a standard uncertainty of 1 L; expected less"},
		"half in common":        {[]float64{0, 0.005}, 0, 0, 0.5, "50 %; expected 0 or more and less than 50 %"},
		"doubt below nothing":   {[]float64{0, 0.005}, 0, 0, -0.1, "-10 %"},
	} {
		if _, err := curve.PouredTo(c.marks, c.start, 0, c.each, c.common); err == nil || !strings.Contains(err.Error(), c.say) {
			t.Errorf("%s: error %v, want %q", name, err, c.say)
		}
	}
	for name, p := range map[string]curve.Pouring{
		"infinite":      {Pours: []curve.Pour{{quantity.CubicMetre(math.Inf(1)), 0}}},
		"no number":     {Pours: []curve.Pour{{quantity.CubicMetre(math.NaN()), 0}}},
		"drawn off":     {Pours: []curve.Pour{{-0.001, 0}}},
		"start unknown": {StartU: quantity.CubicMetre(math.NaN()), Pours: []curve.Pour{{0.001, 0}}},
	} {
		if p.Check() == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

// On a sender of 2 Ω per litre a mark's doubt in ohms is twice that in litres.
func TestMarkU(t *testing.T) {
	sheet := curve.Sheet{Unit: curve.Volume}
	for k := range 13 {
		litres := 0.1 + 5*float64(k)
		sheet.Readings = append(sheet.Readings, curve.Reading{Mark: litres / 1000, Ohm: quantity.Ohm(math.Round(10*(10+2*litres)) / 10)})
	}
	c := fit(t, sheet)
	p := fiveLitres()
	u, ohm, err := p.MarkU(c)
	if err != nil {
		t.Fatal(err)
	}
	_, cov := p.Marks()
	for i := range u {
		if want := math.Sqrt(cov.At(i, i)); math.Abs(u[i]-want) > 1e-9*want || math.Abs(float64(ohm[i])-2000*want) > 1e-6*2000*want {
			t.Errorf("mark %d: %v m³, %v; want %v, %v Ω", i, u[i], ohm[i], want, 2000*want)
		}
	}
	if _, _, err := p.MarkU(fit(t, dial(0, 0, 50, 45, 100, 90))); err == nil || err.Error() != "the marks are in %; poured amounts are the doubt of marks in L" {
		t.Errorf("a dial: error %v", err)
	}
	if _, _, err := (curve.Pouring{}).MarkU(c); err == nil {
		t.Error("nothing poured: no error")
	}
}

// The classes are no measurements: only that they are sane, and that a better
// kind is stated as better.
func TestInstruments(t *testing.T) {
	seen := map[string]bool{}
	for _, in := range curve.Instruments {
		if seen[in.Name] || !(in.Each.Least > 0 && in.Each.Least < in.Each.Most) || !(in.Common.Least > 0 && in.Common.Least < in.Common.Most && in.Common.Most <= 0.05) {
			t.Errorf("%+v", in)
		}
		seen[in.Name] = true
		got, err := curve.InstrumentNamed(in.Name)
		if err != nil || got != in {
			t.Errorf("%s: %+v, %v", in.Name, got, err)
		}
		each, common := in.Doubts()
		// JCGM 100:2008, 4.3.7: a/√3.
		if math.Abs(each*math.Sqrt(3)-in.Each.Most) > 1e-15 || math.Abs(common*math.Sqrt(3)-in.Common.Most) > 1e-15 {
			t.Errorf("%s: doubts %v, %v", in.Name, each, common)
		}
	}
	if _, err := curve.InstrumentNamed("thimble"); err == nil || !strings.Contains(err.Error(), "expected one of jug, bucket, flow-meter, kitchen-scale, luggage-scale") {
		t.Errorf("thimble: %v", err)
	}
}

func BenchmarkDraw40(b *testing.B) {
	p := curve.Pouring{Common: 0.01}
	for range 40 {
		p.Pours = append(p.Pours, curve.Pour{Amount: 0.001, U: 0.00002})
	}
	marks := make([]float64, 41)
	random := rand.New(rand.NewPCG(1, 2))
	for b.Loop() {
		p.Draw(random, marks)
	}
}
