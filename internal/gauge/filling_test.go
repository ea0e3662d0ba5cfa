package gauge_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gaugewright/internal/curve"
	"gaugewright/internal/doubt"
	"gaugewright/internal/gauge"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
	"gaugewright/internal/tank"
)

// lyingTank is a lying cylinder with flat ends, 300 mm across and 800 mm long.
func lyingTank(t testing.TB) *tank.Tank {
	t.Helper()
	solid, err := tank.Cylinder(0.3, 0.8, true, tank.Head{Kind: tank.Flat}, tank.Head{Kind: tank.Flat})
	if err != nil {
		t.Fatal(err)
	}
	made, err := tank.New(solid, tank.Sensor{})
	if err != nil {
		t.Fatal(err)
	}
	return made
}

// fraction is the part of a lying cylinder with flat ends that is filled at a
// part of its height: (acos k − k·√(1−k²))/π with k = 1 − 2h/D.
func fraction(h float64) float64 {
	k := 1 - 2*min(1, max(0, h))
	return (math.Acos(k) - k*math.Sqrt(max(0, 1-k*k))) / math.Pi
}

func TestFilling(t *testing.T) {
	lying := lyingTank(t)
	rod := tank.Rod{Mount: 0.32, Length: 0.31, Float: 0.03, Sinks: 0.02, Foot: 0.01, Head: 0.02}
	travel := rod
	travel.FromFloat = true
	arm := tank.Arm{Pivot: 0.15, Length: 0.14, Low: -math.Pi / 3, High: math.Pi / 3}
	tests := []struct {
		name       string
		sender     tank.Sender
		unit       curve.MarkUnit
		mark, want float64
		words      string
	}{
		{"heights at the sensor", nil, curve.Height, 0.075, 0.195501109478, "by the shape of the tank"},
		{"heights beyond the tank", nil, curve.Height, 0.4, 1, "by the shape of the tank"},
		{"a dial of which nothing is said", nil, curve.Dial, 0.3, 0.3, "by the dial, which is taken to be marked in percent of volume"},
		{"a dial said to be of volume", tank.Dial{Marked: tank.ByVolume, Tank: lying}, curve.Dial, 0.3, 0.3, "by the dial, which is marked in percent of volume"},
		{"a dial said to be of height", tank.Dial{Marked: tank.ByHeight, Tank: lying}, curve.Dial, 0.3, 0.252315787734, "by the dial, which is marked in percent of height"},
		{"a swinging arm level", arm, curve.Dial, 0.5, 0.5, "by the shape of the tank and the swing of its arm"},
		// At its upper stop the arm stands at 150 + 140·sin 60° = 271.24 mm.
		{"a swinging arm at its stop", arm, curve.Dial, 1, fraction((0.15 + 0.14*math.Sqrt(3)/2) / 0.3), "by the shape of the tank and the swing of its arm"},
		{"a rod marked in heights", rod, curve.Height, 0.09, fraction(0.3), "by the shape of the tank and the travel of its float"},
		// Its lowest is 320 − 310 + 10 + 20 = 40 mm.
		{"a rod at its lower stop", rod, curve.Height, 0.01, fraction(40.0 / 300), "by the shape of the tank and the travel of its float"},
		{"a rod marked in travel", travel, curve.Height, 0.05, fraction(90.0 / 300), "by the shape of the tank and the travel of its float"},
		{"litres", rod, curve.Volume, 0.02, 0.02 / 0.05654866776, "by the litres poured"},
	}
	for _, test := range tests {
		f, err := gauge.Filling(lying, test.sender, test.unit)
		if err != nil {
			t.Errorf("%s: %v", test.name, err)
			continue
		}
		if got := f.Share(test.mark); math.Abs(got-test.want) > 1e-9 {
			t.Errorf("%s: %.12f of the tank at %g, want %.12f", test.name, got, test.mark, test.want)
		}
		if f.Words != test.words {
			t.Errorf("%s: says %q", test.name, f.Words)
		}
		if back := f.Share(f.Mark(test.want)); math.Abs(back-test.want) > 1e-9 {
			t.Errorf("%s: back to %.12f", test.name, back)
		}
		// And any of them will do for a scale.
		if _, err := scale.Through(scale.Volume, f, 0, 0, 0, 1, test.unit == curve.Dial); err != nil {
			t.Errorf("%s: %v", test.name, err)
		}
	}
}

func TestFillingRefuses(t *testing.T) {
	lying := lyingTank(t)
	above := tank.Rod{Mount: 0.9, Length: 0.5, Float: 0.03, Sinks: 0.02}
	for says, f := range map[string]func() (scale.Filling, error){
		"the density": func() (scale.Filling, error) { return gauge.Filling(lying, nil, curve.Mass) },
		"marks are in %": func() (scale.Filling, error) {
			return gauge.Filling(lying, tank.Rod{Mount: 0.3, Length: 0.28, Float: 0.03, Sinks: 0.02}, curve.Dial)
		},
		"marks are in mm": func() (scale.Filling, error) {
			return gauge.Filling(lying, tank.Dial{Marked: tank.ByHeight, Tank: lying}, curve.Height)
		},
		"no travel": func() (scale.Filling, error) {
			return gauge.Filling(lying, tank.Rod{Mount: 0.3, Length: 0.01, Float: 0.03}, curve.Height)
		},
		"where nothing changes":        func() (scale.Filling, error) { return gauge.Filling(lying, above, curve.Height) },
		"only with its water capacity": func() (scale.Filling, error) { return gauge.Litres(0) },
		"only with its shape":          func() (scale.Filling, error) { return gauge.Unshaped(0.05, curve.Height) },
		"density of what":              func() (scale.Filling, error) { return gauge.Unshaped(0.05, curve.Mass) },
	} {
		if _, err := f(); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%s: %v", says, err)
		}
	}
}

// The level's standard uncertainty in a lying cylinder against draws through the
// whole chain (JCGM 101 style): the ohms are off by half the hysteresis and by
// the meter's step, both rectangular, and go through the sender (20 Ω and 1 Ω
// per percent of the height) and the formula of the tank.
func TestLevelThroughTankAgainstDraws(t *testing.T) {
	g := straight(t, scale.Mark)
	f, err := gauge.Filling(lyingTank(t), nil, curve.Height)
	if err != nil {
		t.Fatal(err)
	}
	// The sender's marks are parts of the height here.
	inParts := scale.Filling{
		Share: func(mark float64) float64 { return f.Share(0.3 * mark) },
		Mark:  func(share float64) float64 { return f.Mark(share) / 0.3 },
	}
	for _, kind := range []scale.Kind{scale.Volume, scale.Fill, scale.Usable} {
		if g.Scale, err = scale.Through(kind, inParts, 0.8, 0.01, 0, 1, false); err != nil {
			t.Fatal(err)
		}
		bottom, top := 0.0, 1.0
		if kind != scale.Volume {
			top = 0.8
		}
		if kind == scale.Usable {
			bottom = 0.01
		}
		random := rand.New(rand.NewPCG(11, 11))
		for _, ohm := range []float64{30, 45, 70, 85} {
			const n = 200_000
			sum, squares := 0.0, 0.0
			for range n {
				off := 2*random.Float64() - 1 + random.Float64() - 0.5
				v := (fraction((ohm-off-20)/100) - bottom) / (top - bottom)
				sum, squares = sum+v, squares+v*v
			}
			drawn := math.Sqrt(squares/n - sum/n*sum/n)
			at := g.At(quantity.Ohm(ohm), curve.Refuse)
			if math.Abs(float64(at.U)-drawn) > 0.02*drawn {
				t.Errorf("%s at %g Ω: u %.6f, drawn %.6f", kind, ohm, float64(at.U), drawn)
			}
			if want := (fraction((ohm-20)/100) - bottom) / (top - bottom); math.Abs(float64(at.Share)-want) > 1e-9 {
				t.Errorf("%s at %g Ω: %v, want %v", kind, ohm, at.Share, want)
			}
			b, ok := g.Budget(quantity.Ohm(ohm), curve.Refuse)
			if !ok || math.Abs(b.Combined()-100*float64(at.U)) > 1e-3*b.Combined() {
				t.Errorf("%s at %g Ω: budget of %v points, level to ± %v", kind, ohm, b.Combined(), 100*at.U)
			}
			levels, err := g.Levels([]quantity.Ohm{quantity.Ohm(ohm)}, doubt.Rule{Tolerance: 0.0005})
			if err != nil {
				t.Fatal(err)
			}
			if l := levels[0]; math.Abs(float64(l.U-at.U)) > 0.05*float64(at.U) || !(l.Low < at.Share && l.High > at.Share && l.Low > at.Low-0.1*at.U && l.High < at.High+0.1*at.U) {
				t.Errorf("%s at %g Ω: %v to %v about %v, u %v by draws, %v to %v and %v by the budget", kind, ohm, l.Low, l.High, at.Share, l.U, at.Low, at.High, at.U)
			}
		}
	}
}
