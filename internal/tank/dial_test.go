package tank_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/internal/finding"
	"gaugewright/internal/peer"
	"gaugewright/internal/quantity"
	"gaugewright/internal/tank"
)

func TestTellMarking(t *testing.T) {
	lying := senderLying(t, tank.Sensor{}) // 56.55 L
	box := senderBox(t, tank.Sensor{})
	arm := &tank.Arm{Pivot: 0.15, Length: 0.145, Low: -75 * degree, High: 75 * degree}
	const anyOf = tank.Marked(-1)
	d := tank.MarkingDoubt{Mark: 0.015, Pour: 0.01}
	pair := func(mark, litres float64) tank.Shown {
		return tank.Shown{Mark: mark, Volume: quantity.CubicMetre(litres / 1000), U: 1e-4}
	}
	for _, c := range []struct {
		name  string
		tank  *tank.Tank
		arm   *tank.Arm
		pairs []tank.Shown
		kind  string
		first tank.Marked
		say   string
	}{
		// 20 L are 35.4 % of the volume, and stand at 38.3 % of the height.
		{"volume", lying, nil, []tank.Shown{pair(0.14, 8), pair(0.35, 20)}, tank.KindMarkingTold, tank.ByVolume, "The dial is marked in percent of volume: that is"},
		{"height", lying, nil, []tank.Shown{pair(0.2, 8), pair(0.383, 20)}, tank.KindMarkingTold, tank.ByHeight, "The dial is marked in percent of height"},
		{"angle", lying, arm, []tank.Shown{pair(0.5, 28.27), pair(0.3, 13.1)}, tank.KindMarkingUntold, anyOf, "can't be told apart"},
		// In the middle all agree. They differ most where f'(k) = (8/π)√(k − k²)
		// is 1, at k = 0.1904, f(k) = 0.1325: 7.5 L.
		{"middle", lying, nil, []tank.Shown{pair(0.5, 28.27)}, tank.KindMarkingUntold, anyOf, "the one is about as probable as the other. One more reading with 7.4 L in the tank would tell best: percent of height would show 19 %, percent of volume 13 %."},
		{"box", box, nil, []tank.Shown{pair(0.5, 60), pair(0.2, 24)}, tank.KindMarkingUntold, anyOf, "In this tank they come to much the same"},
		{"none", lying, nil, []tank.Shown{pair(0.5, 8), pair(0.9, 20)}, tank.KindMarkingNone, tank.ByHeight, "agrees with none"},
	} {
		told, err := tank.TellMarking(c.tank, c.arm, c.pairs, d)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		sum := 0.0
		for _, o := range told.Odds {
			sum += o.Probability
		}
		if math.Abs(sum-1) > 1e-12 {
			t.Errorf("%s: probabilities sum to %v", c.name, sum)
		}
		if len(told.Findings) != 1 || told.Findings[0].Kind != c.kind || !strings.Contains(told.Findings[0].Text, c.say) {
			t.Errorf("%s: %+v; want %s with %q", c.name, told.Findings, c.kind, c.say)
		}
		if c.first != anyOf && told.Odds[0].Marked != c.first {
			t.Errorf("%s: first is %s; want %s", c.name, told.Odds[0].Marked, c.first)
		}
		if told.Next > 0.8*c.tank.Capacity() {
			t.Errorf("%s: a further reading at %s is asked for, above 80 %%", c.name, told.Next)
		}
	}
}

// The likelihoods by SciPy's multivariate normal density, the dial's marks in
// the box and the cylinder by their formulas.
func TestTellAgainstSciPy(t *testing.T) {
	lying := senderLying(t, tank.Sensor{})
	d := tank.MarkingDoubt{Mark: 0.02, Shift: 0.01, Pour: 0.02}
	pairs := []tank.Shown{{Mark: 0.17, Volume: 0.008, U: 2e-4}, {Mark: 0.36, Volume: 0.02, U: 4e-4}, {Mark: 0.6, Volume: 0.035, U: 5e-4}}
	told, err := tank.TellMarking(lying, nil, pairs, d)
	if err != nil {
		t.Fatal(err)
	}
	var want struct{ Volume, Height, ChiVolume, ChiHeight float64 }
	peer.Python(t, []string{"scipy", "numpy"}, `
import json, sys
import numpy as np
from scipy.optimize import brentq
from scipy.stats import multivariate_normal
i = json.load(sys.stdin)
mark, v, u = (np.array([p[k] for p in i["Pairs"]]) for k in ("Mark", "Volume", "U"))
full = np.pi * 0.15**2 * 0.8
def height(x):
    return brentq(lambda k: (np.arccos(1 - 2*k) - (1 - 2*k) * 2 * np.sqrt(k - k*k)) / np.pi - x / full, 0, 1, xtol=1e-15)
out = {}
for name, f in (("Volume", lambda x: x / full), ("Height", height)):
    m = np.array([f(x) for x in v])
    s = np.array([(f(x + w) - f(x - w)) / (2 * w) for x, w in zip(v, u)])
    d = i["D"]
    cov = np.diag(d["Mark"]**2 + (s * u)**2) + d["Shift"]**2 + d["Pour"]**2 * np.outer(s * v, s * v)
    out[name] = float(multivariate_normal(m, cov).pdf(mark))
    out["Chi" + name] = float((mark - m) @ np.linalg.solve(cov, mark - m))
total = out["Volume"] + out["Height"]
out["Volume"] /= total; out["Height"] /= total
json.dump(out, sys.stdout)
`, map[string]any{"Pairs": pairs, "D": d}, &want)
	for _, o := range told.Odds {
		p, chi := want.Volume, want.ChiVolume
		if o.Marked == tank.ByHeight {
			p, chi = want.Height, want.ChiHeight
		}
		if math.Abs(o.Probability-p) > 1e-9 || math.Abs(o.ChiSquared-chi) > 1e-8 {
			t.Errorf("%s: %v, misfit %v; SciPy has %v, %v", o.Marked, o.Probability, o.ChiSquared, p, chi)
		}
	}
}

// What is told with odds of 20 to 1 is right far more often than not, and is
// told in most cases where the readings are good.
func TestTellingIsHonest(t *testing.T) {
	lying := senderLying(t, tank.Sensor{})
	arm := &tank.Arm{Pivot: 0.15, Length: 0.145, Low: -70 * degree, High: 70 * degree}
	random := rand.New(rand.NewPCG(1, 2))
	d := tank.MarkingDoubt{Mark: 0.01, Pour: 0.01}
	const trials = 300
	told, wrong := 0, 0
	for i := range trials {
		true1 := tank.Dial{Marked: tank.Marked(i % 3), Tank: lying, Arm: arm}
		common := 1 + d.Pour*random.NormFloat64()
		var pairs []tank.Shown
		for _, share := range []float64{0.1, 0.25, 0.7} {
			v := share * float64(lying.Capacity())
			h, err := lying.Upright().HeightOf(quantity.CubicMetre(v))
			if err != nil {
				t.Fatal(err)
			}
			m, _ := true1.Mark(h)
			pairs = append(pairs, tank.Shown{Mark: min(1, max(0, m+d.Mark*random.NormFloat64())),
				Volume: quantity.CubicMetre(v*common + 2e-4*random.NormFloat64()), U: 2e-4})
		}
		w, err := tank.TellMarking(lying, arm, pairs, d)
		if err != nil {
			t.Fatal(err)
		}
		if w.Told {
			told++
			if w.Odds[0].Marked != true1.Marked {
				wrong++
			}
		}
	}
	if told < trials*2/3 || wrong > told/20 {
		t.Errorf("told %d of %d, %d of them wrong; want most, and at most one in twenty", told, trials, wrong)
	}
}

func TestTellRefuses(t *testing.T) {
	lying := senderLying(t, tank.Sensor{})
	good := tank.Shown{Mark: 0.3, Volume: 0.02, U: 1e-4}
	d := tank.MarkingDoubt{Mark: 0.01}
	nan := math.NaN()
	for _, c := range []struct {
		pairs []tank.Shown
		d     tank.MarkingDoubt
		say   string
	}{
		{nil, d, "no pair"},
		{[]tank.Shown{good}, tank.MarkingDoubt{}, "doubt of one reading"},
		{[]tank.Shown{good}, tank.MarkingDoubt{Mark: 0.01, Shift: nan}, "common doubts"},
		{[]tank.Shown{good}, tank.MarkingDoubt{Mark: 0.01, Fullest: 2}, "looked for up to"},
		{[]tank.Shown{good, {Mark: 30, Volume: 0.02}}, d, "pair 2: the dial shows 3000 %"},
		{[]tank.Shown{{Mark: 0.3, Volume: 0.2}}, d, "200 L in a tank that holds 56.55 L"},
		{[]tank.Shown{{Mark: 0.3, Volume: 0.02, U: quantity.CubicMetre(nan)}}, d, "doubt of the volume"},
	} {
		if _, err := tank.TellMarking(lying, nil, c.pairs, c.d); err == nil || !strings.Contains(err.Error(), c.say) {
			t.Errorf("%+v, %+v: %v; want %q", c.pairs, c.d, err, c.say)
		}
	}
	if s, err := tank.ShownByWeight(0.4, 10, 0.05, 500, 5); err != nil || math.Abs(float64(s.Volume)-0.02) > 1e-15 ||
		math.Abs(float64(s.U)-math.Hypot(1e-4, 2e-4)) > 1e-15 {
		t.Errorf("10 kg at 500 kg/m³: %+v, %v; want 20 L ± 0.22 L", s, err)
	}
	if _, err := tank.ShownByWeight(0.4, 10, 0.05, 0, 5); err == nil {
		t.Error("a density of 0 was taken")
	}
}

// A fill stop of 80 %, 0/−5: mean 77.5 %, u 5 %/√12 = 1.4434 %. The dial shows
// 84 %, read to 1 % and repeating to 0.5 %: off by 6.5 %, u = √(1.4434² + 1² +
// 0.5²) = 1.8257 %; a corrected reading √(1.8257² + 1.118²) = 2.1408 %.
func TestShiftByHand(t *testing.T) {
	s, err := tank.FindShift(nil, tank.FillStop(), 0.84, 0.01, 0.005)
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(s.By-0.065) > 1e-12 || math.Abs(s.U-0.018257) > 1e-6 {
		t.Errorf("off by %v ± %v; want 0.065 ± 0.018257", s.By, s.U)
	}
	if m, u := s.Correct(0.5); math.Abs(m-0.435) > 1e-12 || math.Abs(u-0.021408) > 1e-6 {
		t.Errorf("50 %% is corrected to %v ± %v; want 0.435 ± 0.021408", m, u)
	}
	if got := s.Full(); got != 0.84 {
		t.Errorf("full at %v; want 0.84, where the stop ended the filling", got)
	}
	for kind, say := range map[string]string{
		tank.KindShift:         "At the fill stop the dial shows 84 %, where 78 % is right: the head sits off by 6.5 % of its travel and reads high. Every reading is corrected by that, ± 3.7.",
		tank.KindShiftUnproven: "One point can't tell a head that sits off from a scale that is wrong",
		tank.KindShiftFill:     "As full as may be is where the dial shows 84 %, and no more: a correction never raises the permitted fill",
		tank.KindShiftLateStop: "A stop that closes late looks just like a head that reads high",
	} {
		if f := senderOf(s.Findings, kind); f == nil || !strings.Contains(f.Text, say) {
			t.Errorf("%s: %+v; want %q", kind, f, say)
		}
	}
	empty, err := tank.FindShift(nil, tank.EmptyTank(0.02), 0.05, 0.01, 0)
	if err != nil {
		t.Fatal(err)
	}
	// Off by 4 %; full stays at the printed 80 % and isn't raised to 84 %.
	if math.Abs(empty.By-0.04) > 1e-12 || empty.Full() != 0.8 || senderOf(empty.Findings, tank.KindShiftLateStop) != nil {
		t.Errorf("empty: %+v, full %v; want 0.04, 0.8", empty, empty.Full())
	}
	low, err := tank.FindShift(nil, tank.EmptyTank(0), 0, 0.01, 0)
	if err != nil || !strings.Contains(low.Findings[0].Text, "It may well sit right") {
		t.Errorf("a head that sits right: %+v, %v", low, err)
	}
}

// On a dial marked in volume the shift is one of the angle: by hand, in a lying
// cylinder with an arm.
func TestShiftOfAnArm(t *testing.T) {
	lying := senderLying(t, tank.Sensor{})
	arm := &tank.Arm{Pivot: 0.15, Length: 0.145, Low: -60 * degree, High: 60 * degree}
	dial := &tank.Dial{Marked: tank.ByVolume, Tank: lying, Arm: arm}
	// Known full at 75..80 %; what a head 6° off would show at the middle angle.
	angle := func(share float64) float64 {
		h, _ := lying.Upright().HeightOf(lying.Capacity() * quantity.CubicMetre(share))
		a, _ := arm.Mark(h)
		return a
	}
	show := func(a float64) float64 {
		h, _ := arm.Height(a)
		m, _ := dial.Mark(h)
		return m
	}
	middle := (angle(0.75) + angle(0.80)) / 2
	s, err := tank.FindShift(dial, tank.FillStop(), show(middle-6.0/120), 0.01, 0.005)
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(s.By+6.0/120) > 1e-9 {
		t.Errorf("off by %v of the travel; want −0.05", s.By)
	}
	for _, a := range []float64{0.2, 0.5, 0.7} {
		if m, u := s.Correct(show(a - 0.05)); math.Abs(m-show(a)) > 1e-9 || !(u > 0.01 && u < 0.06) {
			t.Errorf("at the angle %v: %v ± %v; want %v", a, m, u, show(a))
		}
	}
}

// Whatever is shown at whatever known point: 100 % is never more than what is
// known to be full, or printed; what is shown at the known point comes out
// within the known interval's middle; refused beyond 15 %.
func TestShiftLaws(t *testing.T) {
	lying := senderLying(t, tank.Sensor{})
	arm := &tank.Arm{Pivot: 0.15, Length: 0.145, Low: -60 * degree, High: 60 * degree}
	dials := []*tank.Dial{nil, {Marked: tank.ByVolume, Tank: lying}, {Marked: tank.ByVolume, Tank: lying, Arm: arm},
		{Marked: tank.ByHeight, Tank: lying, Arm: arm}, {Marked: tank.ByAngle, Tank: lying, Arm: arm}}
	rapid.Check(t, func(t *rapid.T) {
		dial := dials[rapid.IntRange(0, len(dials)-1).Draw(t, "dial")]
		known := tank.FillStop()
		if rapid.Bool().Draw(t, "empty") {
			known = tank.EmptyTank(0.03)
		}
		shown := rapid.Float64Range(0, 1).Draw(t, "shown")
		s, err := tank.FindShift(dial, known, shown, 0.01, 0.01)
		if err != nil {
			if !strings.Contains(err.Error(), "isn't a head a few degrees off") {
				t.Fatal(err)
			}
			return
		}
		if math.Abs(s.By) > tank.MostShift {
			t.Fatalf("a shift of %v was taken", s.By)
		}
		full := s.Full()
		if known.FullByRule && full > shown+1e-12 {
			t.Fatalf("full at %v, above the %v shown when it was", full, shown)
		}
		m, u := s.Correct(full)
		// Most of the known full point, or the printed mark of a head that sits right.
		limit := 0.8
		if dial != nil {
			h, _ := lying.Upright().HeightOf(lying.Capacity() * 0.8)
			limit, _ = dial.Mark(h)
		}
		if m > limit+1e-9 && known.FullByRule {
			t.Fatalf("100 %% means %v, more than %v", m, limit)
		}
		if !known.FullByRule && full > limit+1e-9 {
			t.Fatalf("full was raised to %v, printed is %v", full, limit)
		}
		if !(u >= 0) || math.IsInf(u, 0) {
			t.Fatalf("u of %v", u)
		}
		if w := finding.Worst(s.Findings); w != finding.Doubt {
			t.Fatalf("weight %v; one point is always a doubt", w)
		}
	})
}

func TestShiftRefuses(t *testing.T) {
	for _, c := range []struct {
		known             tank.KnownPoint
		shown, read, rept float64
		say               string
	}{
		{tank.FillStop(), 0.4, 0.01, 0.01, "the dial shows 40 % at the fill stop, where 78 % is expected: off by 38 % of its travel, and that isn't a head a few degrees off"},
		{tank.FillStop(), 84, 0.01, 0.01, "shows 8400 %"},
		{tank.FillStop(), 0.8, math.NaN(), 0.01, "doubts of the dial"},
		{tank.KnownPoint{Least: 0.8, Most: 0.7}, 0.8, 0.01, 0.01, "the lower first"},
		{tank.KnownPoint{Least: 0.7, Most: 0.8, PermittedFill: 80}, 0.8, 0.01, 0.01, "permitted fill is 8000 %"},
	} {
		if _, err := tank.FindShift(nil, c.known, c.shown, c.read, c.rept); err == nil || !strings.Contains(err.Error(), c.say) {
			t.Errorf("%+v, %v: %v; want %q", c.known, c.shown, err, c.say)
		}
	}
	if _, err := tank.FindShift(&tank.Dial{Marked: tank.ByAngle}, tank.FillStop(), 0.8, 0.01, 0.01); err == nil {
		t.Error("a dial without its arm was taken")
	}
}
