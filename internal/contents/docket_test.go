package contents_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/internal/contents"
	"gaugewright/internal/finding"
)

// 20 L of propane metered at −10 °C (541.7983 kg/m³) are 10.835966 kg, 21.35152
// L at 15 °C (507.5033), and raise the liquid of a tank at 20 °C (500.0569 and
// 18.08234) by 22.48246 L: by hand from the saturation properties of the
// equation of Lemmon, McLinden and Wagner.
func TestDocketByHand(t *testing.T) {
	const capacity = 0.054
	for name, d := range map[string]contents.Docket{
		"metered": {Amount: 0.020, Basis: contents.LitresMetered, PumpKelvin: 263.15},
		"at 15":   {Amount: 0.02135152, Basis: contents.LitresAt15, PumpKelvin: 263.15},
		"kg":      {Amount: 10.835966, Basis: contents.Kilograms, PumpKelvin: 263.15},
	} {
		got, err := d.Deliver(fillingPropane, capacity, 293.15)
		if err != nil {
			t.Fatal(err)
		}
		loadsNear(t, name+", kg", got.Kilograms, 10.835966, 1e-5)
		loadsNear(t, name+", metered", got.Metered, 0.020, 1e-5)
		loadsNear(t, name+", at 15 °C", got.At15, 0.02135152, 1e-5)
		loadsNear(t, name+", rise", got.Rise, 0.02248246, 1e-5)
		loadsNear(t, name+", share", float64(got.Share), 0.02248246/capacity, 1e-5)
		loadsNear(t, name+", u", got.U, 0.01/math.Sqrt(3), 1e-12)
	}
}

// Nothing is lost between litres, kilograms and litres, and the level that a
// delivery makes agrees with it.
func TestDocketConserves(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		mix := contents.Mix{Propane: rapid.Float64Range(0, 1).Draw(t, "propane")}
		mix.NButane = 1 - mix.Propane
		densities := contents.MixDensities(mix)
		warmth := rapid.Float64Range(250, 320)
		before, after, pump := warmth.Draw(t, "before"), warmth.Draw(t, "after"), warmth.Draw(t, "pump")
		const capacity = 0.1
		d := contents.Docket{Amount: rapid.Float64Range(0.001, 0.04).Draw(t, "m³"), PumpKelvin: pump}
		got, err := d.Deliver(densities, capacity, after)
		if err != nil {
			t.Fatal(err)
		}
		for basis, amount := range map[contents.Basis]float64{contents.LitresAt15: got.At15, contents.Kilograms: got.Kilograms} {
			back, err := contents.Docket{Amount: amount, Basis: basis, PumpKelvin: pump}.Deliver(densities, capacity, after)
			if err != nil || math.Abs(back.Metered-d.Amount) > 1e-12 {
				t.Fatalf("by %v: %v came back as %v, %v", basis, d.Amount, back.Metered, err)
			}
		}
		// The balance of mass, with the tank at another temperature afterwards.
		start := rapid.Float64Range(0.005, 0.03).Draw(t, "start")
		s0, _ := mix.At(before)
		s1, _ := mix.At(after)
		mass := s0.Liquid*start + s0.Vapour*(capacity-start) + got.Kilograms
		end := (mass - s1.Vapour*capacity) / (s1.Liquid - s1.Vapour)
		a, err := d.Compare(densities, capacity, contents.Level{Liquid: contents.Known{Value: start}, Kelvin: before}, contents.Level{Liquid: contents.Known{Value: end}, Kelvin: after})
		if err != nil || !a.Agrees || math.Abs(a.Difference) > 1e-9 {
			t.Fatalf("%+v, %v", a, err)
		}
	})
}

func TestDocketCompare(t *testing.T) {
	d := contents.Docket{Amount: 17, Basis: contents.Kilograms}
	level := func(litres float64) contents.Level {
		return contents.Level{Liquid: contents.Known{Value: litres / 1000, U: 0.0005}}
	}
	// A litre of propane more in the tank at 15 °C is 507.5033 − 15.81286 g, so 17
	// kg are 34.57455 L; u is 17/100/√3 kg and √2 half litres, 0.361266 kg.
	for _, test := range []struct {
		rise, sigmas float64
		weight       finding.Weight
		says         string
	}{
		{34.57455, 0, finding.Note, "the docket says 17.0 kg ± 0.2 kg, the level rose by 17.0 kg ± 0.7 kg: they agree, 0.0 standard uncertainties apart"},
		{34.57455 - 1, -0.491690 / 0.361266, finding.Note, "they agree, 1.4"},
		{34.57455 - 2, -2 * 0.491690 / 0.361266, finding.Doubt, "differ by 2.7 standard uncertainties; compare the next docket"},
		{34.57455 + 3, 3 * 0.491690 / 0.361266, finding.Bad, "differ by 4.1 standard uncertainties; see whether"},
		{-1, -(17 + 0.491690) / 0.361266, finding.Bad, "the level fell by 0.5 kg"},
	} {
		a, err := d.Compare(fillingPropane, 0.054, level(8), level(8+test.rise))
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(a.Sigmas-test.sigmas) > 1e-3 || a.Agrees != (math.Abs(test.sigmas) <= 2) {
			t.Errorf("rise %v: %v standard uncertainties, want %v", test.rise, a.Sigmas, test.sigmas)
		}
		if a.Finding.Weight != test.weight || !strings.Contains(a.Finding.Text, test.says) {
			t.Errorf("rise %v: %v, want %v %q", test.rise, a.Finding, test.weight, test.says)
		}
	}
}

// Of simulated deliveries with nothing wrong about 95 in a hundred agree.
func TestDocketCovers(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 4))
	const trials, u = 2000, 0.0005
	agree := 0
	for range trials {
		d := contents.Docket{Amount: 0.02 * (1 + 0.01*(2*random.Float64()-1))}
		rise := 0.02 * 507.5033 / (507.5033 - 15.81286)
		before, after := 0.01+u*random.NormFloat64(), 0.01+rise+u*random.NormFloat64()
		a, err := d.Compare(fillingPropane, 0.054, contents.Level{Liquid: contents.Known{Value: before, U: u}}, contents.Level{Liquid: contents.Known{Value: after, U: u}})
		if err != nil {
			t.Fatal(err)
		}
		if a.Agrees {
			agree++
		}
	}
	// The standard deviation of the share is 0.5 %; 95.45 % within two of a normal.
	if share := float64(agree) / trials; share < 0.935 || share > 0.975 {
		t.Errorf("%.1f %% agree, want about 95 %%", 100*share)
	}
}

func TestDocketMeter(t *testing.T) {
	got, err := contents.Docket{Amount: 10, Basis: contents.Kilograms, Meter: 0.003}.Deliver(fillingPropane, 0.054, 0)
	if err != nil {
		t.Fatal(err)
	}
	loadsNear(t, "u", got.U, 0.003/math.Sqrt(3), 1e-12)
	if text := contents.LitresAt15.String(); text != "litres at 15 °C" {
		t.Error(text)
	}
}

func TestDocketRefuses(t *testing.T) {
	level := contents.Level{Liquid: contents.Known{Value: 0.01, U: 0.001}}
	for want, d := range map[string]contents.Docket{
		"the docket says 0; expected an amount above 0":               {},
		"the docket says NaN; expected an amount above 0":             {Amount: math.NaN()},
		"the meter's error is ±60 %; expected 0 to 50 %":              {Amount: 0.01, Meter: 0.6},
		"and the tank holds 54 L to the brim; correct the amount, it": {Amount: 31},
		"LPG is reckoned from":                                        {Amount: 0.01, PumpKelvin: 400},
	} {
		if _, err := d.Deliver(fillingPropane, 0.054, 0); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("got %v, want %q", err, want)
		}
		if _, err := d.Compare(fillingPropane, 0.054, level, level); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("Compare: got %v, want %q", err, want)
		}
	}
	d := contents.Docket{Amount: 0.01}
	if _, err := d.Deliver(fillingPropane, 0, 0); err == nil || !strings.Contains(err.Error(), "water capacity is 0 L") {
		t.Errorf("no tank: %v", err)
	}
	bad := contents.Level{Liquid: contents.Known{Value: 0.06}}
	if _, err := d.Compare(fillingPropane, 0.054, level, bad); err == nil || !strings.Contains(err.Error(), "the liquid in the tank after is 60 L; expected 0 to 54 L") {
		t.Errorf("more than fits: %v", err)
	}
}
