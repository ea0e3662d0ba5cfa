package contents_test

import (
	"math"
	"regexp"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/internal/contents"
	"gaugewright/internal/finding"
)

var fillingPropane = contents.MixDensities(contents.Mix{Propane: 1})

// fillingTank is a 54 L gas tank, a fifth full of propane at 15 °C.
func fillingTank() contents.Filling {
	return contents.Filling{Name: "gas", Gas: true, Capacity: 0.054, Permitted: 0.8, Present: contents.Known{Value: 0.0108}, Densities: fillingPropane}
}

// By hand from the saturation properties of propane at 15 °C (507.5033 and
// 15.81286 kg/m³, from the equation of Lemmon, McLinden and Wagner):
// 507.5033·0.0432 − (507.5033·0.0108 + 15.81286·0.0432) = 15.75999 kg, which is
// 31.0540 L. At a pump of −10 °C the liquid has 541.7983 kg/m³: 29.0883 L.
func TestFillByHand(t *testing.T) {
	f := fillingTank()
	f.Price = contents.Price{Per: 0.9, Basis: contents.LitresMetered, Currency: "EUR"}
	a, err := contents.Fill(f)
	if err != nil {
		t.Fatal(err)
	}
	loadsNear(t, "kg", a.Kilograms, 15.7, 1e-12)
	loadsNear(t, "m³", a.Metered, 0.0310, 1e-12)
	loadsNear(t, "m³ at 15 °C", a.At15, 0.0310, 1e-12)
	loadsNear(t, "price", a.Price, 27.90, 1e-12)
	if got, want := a.Sentence(), "Ask for at most 31 L of gas (15.7 kg), about 27.90 EUR. The tank's own filling stop decides, not this figure; when it stops, the tank is full."; got != want {
		t.Errorf("got  %q\nwant %q", got, want)
	}
	f.PumpKelvin, f.Price.Basis = 263.15, contents.Kilograms
	if a, err = contents.Fill(f); err != nil {
		t.Fatal(err)
	}
	loadsNear(t, "m³ of a cold pump", a.Metered, 0.0290, 1e-12)
	loadsNear(t, "m³ of a cold pump, at 15 °C", a.At15, 0.0310, 1e-12)
	loadsNear(t, "price by the kilogram", a.Price, 15.7*0.9, 1e-12)
	if !strings.Contains(a.Sentence(), "29 L of gas (31 L at 15 °C, 15.7 kg)") {
		t.Error(a.Sentence())
	}
	f.Price.Basis = contents.LitresAt15
	if a, err = contents.Fill(f); err != nil {
		t.Fatal(err)
	}
	loadsNear(t, "price by the litre at 15 °C", a.Price, 31*0.9, 1e-12)
}

// Doubt of the level goes off what may be asked for: two standard uncertainties
// of 1 L, and the vapour that those 2 L leave no room for (15.81286/507.5033 of
// them) come back. 31.054 − 2·(1 − 0.03116) = 29.116 L.
func TestFillDoubtIsTakenOff(t *testing.T) {
	f := fillingTank()
	f.Present.U = 0.001
	a, err := contents.Fill(f)
	if err != nil {
		t.Fatal(err)
	}
	loadsNear(t, "m³", a.Metered, 0.0291, 1e-12)
}

var fillingAmount = regexp.MustCompile(`[0-9] ?(L|kg)\b`)

func TestFillFull(t *testing.T) {
	for name, test := range map[string]struct {
		present contents.Known
		weight  finding.Weight
		says    string
	}{
		"overfull":           {contents.Known{Value: 0.0459}, finding.Bad, "The tank holds 85 %, more than the permitted 80 %: fill nothing in"},
		"overfull in doubt":  {contents.Known{Value: 0.0433, U: 0.002}, finding.Bad, "more than the permitted 80 %"},
		"to the brim":        {contents.Known{Value: 0.054}, finding.Bad, "The tank holds 100 %"},
		"may be full":        {contents.Known{Value: 0.0425, U: 0.0005}, finding.Note, "there is nothing to fill"},
		"just permitted":     {contents.Known{Value: 0.8 * 0.054}, finding.Note, "there is nothing to fill"},
		"hardly any room":    {contents.Known{Value: 0.04315}, finding.Note, "no room worth filling"},
		"nothing is known":   {contents.KnownBetween(0, 0.054), finding.Note, "there is nothing to fill"},
		"doubt beyond it":    {contents.Known{Value: 0.03, U: 0.05}, finding.Note, "there is nothing to fill"},
		"a hair above, cold": {contents.Known{Value: math.Nextafter(0.8*0.054, 1)}, finding.Bad, "fill nothing in"},
	} {
		f := fillingTank()
		f.Present, f.Price = test.present, contents.Price{Per: 1}
		a, err := contents.Fill(f)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if !a.Nothing || a.Metered != 0 || a.At15 != 0 || a.Kilograms != 0 || a.Price != 0 {
			t.Errorf("%s: a figure to fill: %+v", name, a)
		}
		if text := a.Sentence(); a.Weight() != test.weight || !strings.Contains(text, test.says) || fillingAmount.MatchString(text) {
			t.Errorf("%s: %v, %q", name, a.Weight(), text)
		}
	}
}

func TestFillRefuses(t *testing.T) {
	for want, change := range map[string]func(*contents.Filling){
		"the water capacity is 0 L; expected above 0":                       func(f *contents.Filling) { f.Capacity = 0 },
		"the water capacity is NaN L":                                       func(f *contents.Filling) { f.Capacity = math.NaN() },
		"the permitted fill is 0 %; expected above 0":                       func(f *contents.Filling) { f.Permitted = 0 },
		"the permitted fill is 90 % of an LPG tank; expected at most 85 %":  func(f *contents.Filling) { f.Permitted = 0.9 },
		"the permitted fill is 100 % of a fuel tank; expected at most 97 %": func(f *contents.Filling) { f.Gas, f.Fuel, f.Permitted = false, true, 1 },
		"the permitted fill is 110 %":                                       func(f *contents.Filling) { f.Permitted = 1.1 },
		"the liquid in the tank is 60 L; expected 0 to 54 L":                func(f *contents.Filling) { f.Present.Value = 0.06 },
		"the liquid in the tank is -1 L; expected 0 to 54 L":                func(f *contents.Filling) { f.Present.Value = -0.001 },
		"the uncertainty of the liquid in the tank is -1 L":                 func(f *contents.Filling) { f.Present.U = -0.001 },
		"the uncertainty of the liquid in the tank is NaN L":                func(f *contents.Filling) { f.Present.U = math.NaN() },
		"the temperature of the tank is 200 °C; expected":                   func(f *contents.Filling) { f.TankKelvin = 473.15 },
		"the temperature of the pump is NaN °C; expected":                   func(f *contents.Filling) { f.PumpKelvin = math.NaN() },
		"the price is -1; expected 0":                                       func(f *contents.Filling) { f.Price.Per = -1 },
		"expected a liquid that is the heavier one":                         func(f *contents.Filling) { f.Densities = contents.SameDensity(-1) },
		"LPG is reckoned from":                                              func(f *contents.Filling) { f.TankKelvin = 193.15 },
	} {
		f := fillingTank()
		change(&f)
		if a, err := contents.Fill(f); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("got %+v, %v; want %q", a, err, want)
		}
	}
	f := fillingTank()
	f.Permitted = 0.85
	if a, err := contents.Fill(f); err != nil || a.Weight() != finding.Doubt {
		t.Errorf("85 %%: %+v, %v", a, err)
	}
}

func TestFillOtherLiquids(t *testing.T) {
	f := contents.Filling{Name: "water", Capacity: 0.1, Permitted: 1, Present: contents.Known{Value: 0.02, U: 0.001}, Densities: contents.SameDensity(999.1)}
	a, err := contents.Fill(f)
	if err != nil {
		t.Fatal(err)
	}
	if got, want := a.Sentence(), "Ask for at most 78 L of water (77.9 kg). Stop when the pump or the tank says so, whatever this figure is."; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

// Whatever is truly in the tank, up to the high end of what was said, whatever
// the mixture and the temperatures: with what may be asked for, by any of the
// three figures, the liquid is never more than permitted, at any temperature up
// to the warmest of tank, pump and 15 °C. The liquid after filling comes from
// the balance of mass, V_L = (m − ρ_V·V)/(ρ_L − ρ_V).
func TestFillNeverOverfills(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		propane := rapid.Float64Range(0, 1).Draw(t, "propane")
		butane := (1 - propane) * rapid.Float64Range(0, 1).Draw(t, "n-butane")
		mix := contents.Mix{Propane: propane, NButane: butane, Isobutane: 1 - propane - butane}
		warmth := rapid.Float64Range(240, 325)
		f := contents.Filling{Gas: true, Densities: contents.MixDensities(mix),
			Capacity: rapid.Float64Range(0.005, 2).Draw(t, "m³"), Permitted: rapid.Float64Range(0.5, 0.85).Draw(t, "permitted"),
			TankKelvin: warmth.Draw(t, "tank"), PumpKelvin: warmth.Draw(t, "pump")}
		f.Present = contents.Known{
			Value: f.Capacity * rapid.Float64Range(0, 1).Draw(t, "present"),
			U:     f.Capacity * rapid.Float64Range(0, 0.1).Draw(t, "u"),
			Half:  f.Capacity * rapid.Float64Range(0, 0.1).Draw(t, "half"),
		}
		a, err := contents.Fill(f)
		if err != nil {
			t.Fatal(err)
		}
		if a.Nothing != (a.Metered == 0) {
			t.Fatalf("%+v", a)
		}
		if a.Nothing {
			return
		}
		at := func(kelvin float64) (float64, float64) {
			s, err := mix.At(kelvin)
			if err != nil {
				t.Fatal(err)
			}
			return s.Liquid, s.Vapour
		}
		ends := f.Present.Ends()
		truth := min(f.Capacity, max(0, ends.Low+rapid.Float64Range(0, 1).Draw(t, "truth")*(ends.High-ends.Low)))
		liquid, vapour := at(f.TankKelvin)
		before := liquid*truth + vapour*(f.Capacity-truth)
		pump, _ := at(f.PumpKelvin)
		at15, _ := at(288.15)
		warmest := max(f.TankKelvin, f.PumpKelvin, 288.15)
		after := 240 + rapid.Float64Range(0, 1).Draw(t, "after")*(warmest-240)
		liquid, vapour = at(after)
		for what, kg := range map[string]float64{"kg": a.Kilograms, "litres": a.Metered * pump, "litres at 15 °C": a.At15 * at15} {
			full := (before + kg - vapour*f.Capacity) / (liquid - vapour)
			if full > f.Permitted*f.Capacity*(1+1e-12) {
				t.Fatalf("filled by %s it holds %.4f of %.4f m³, permitted %.4f", what, full, f.Capacity, f.Permitted*f.Capacity)
			}
		}
	})
}

// A fuller tank or a greater doubt never gives more to ask for.
func TestFillLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := fillingTank()
		f.Present = contents.Known{Value: rapid.Float64Range(0, 0.05).Draw(t, "present"), U: rapid.Float64Range(0, 0.005).Draw(t, "u")}
		a, err := contents.Fill(f)
		if err != nil {
			t.Fatal(err)
		}
		f.Present.Value = min(0.054, f.Present.Value+rapid.Float64Range(0, 0.01).Draw(t, "fuller"))
		f.Present.U += rapid.Float64Range(0, 0.01).Draw(t, "doubt")
		b, err := contents.Fill(f)
		if err != nil {
			t.Fatal(err)
		}
		if b.Metered > a.Metered || b.Kilograms > a.Kilograms || b.At15 > a.At15 {
			t.Fatalf("fuller or less sure, and more to ask for: %+v after %+v", b, a)
		}
	})
}

func TestStopsEarlyHasMarks(t *testing.T) {
	for _, r := range contents.StopsEarly() {
		if r.Text == "" || r.Mark == "" {
			t.Errorf("%+v", r)
		}
	}
}
