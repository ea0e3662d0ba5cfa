package contents_test

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/internal/contents"
	"gaugewright/internal/quantity"
)

// Tables that Canada's authority for trade measurement publishes for inspectors,
// both from table 54B, January 2016: aviation gasoline of 710 kg/m³ and jet
// kerosene of 800 kg/m³ at 15 °C, to four decimals.
func TestVolumeCorrectionTables(t *testing.T) {
	for base, table := range map[float64]map[float64]float64{
		710: {-40: 1.0700, -39: 1.0688, -35: 1.0638, -30: 1.0576, -25: 1.0513, -24.5: 1.0507, -20: 1.0450, -19: 1.0437},
		800: {-40: 1.0502, -39: 1.0493, -35: 1.0457, -30: 1.0412, -25: 1.0367, -24: 1.0358, -23: 1.0349, -20: 1.0322},
	} {
		for celsius, want := range table {
			got, err := contents.VolumeCorrection(base, quantity.Celsius(celsius))
			if err != nil || math.Abs(got-want) > 0.000051 {
				t.Errorf("%v kg/m³ at %v °C: %.5f, %v; the table has %.4f", base, celsius, got, err, want)
			}
		}
	}
}

// The groups of products have coefficients of their own, fitted to other
// products: where they meet they agree to 0.2 % of the expansion, which a slip
// in any of them would spoil.
func TestVolumeCorrectionGroupsMeet(t *testing.T) {
	for _, edge := range []float64{770.5, 787.5, 838.5} {
		below, err1 := contents.VolumeCorrection(edge-1e-9, quantity.Celsius(45))
		above, err2 := contents.VolumeCorrection(edge, quantity.Celsius(45))
		if err1 != nil || err2 != nil || math.Abs((below-1)/(above-1)-1) > 0.002 {
			t.Errorf("%v kg/m³: %v and %v, %v %v", edge, below, above, err1, err2)
		}
	}
	// Diesel expands by 0.083 % a kelvin (common practice).
	if f, err := contents.VolumeCorrection(845, quantity.Celsius(25)); err != nil || math.Abs((1-f)/10-0.00083) > 0.00002 {
		t.Errorf("diesel: %v a kelvin, %v", (1-f)/10, err)
	}
}

func TestVolumeCorrectionRefuses(t *testing.T) {
	for want, try := range map[string][2]float64{
		"the density at 15 °C is 600 kg/m³; expected 653 to 1075 kg/m³ for a petroleum product":   {600, 15},
		"the density at 15 °C is NaN kg/m³; expected 653 to 1075 kg/m³ for a petroleum product":   {math.NaN(), 15},
		"the temperature is −41 °C; the volume correction of fuels holds from −40 °C to 90 °C":    {800, -41},
		"the temperature is 91 °C; the volume correction of fuels holds from −40 °C to 90 °C":     {800, 91},
		"the temperature is no number; the volume correction of fuels holds from −40 °C to 90 °C": {800, math.NaN()},
	} {
		if f, err := contents.VolumeCorrection(try[0], quantity.Celsius(try[1])); err == nil || err.Error() != want || f != 0 {
			t.Errorf("%v: %v, %v; want %s", try, f, err, want)
		}
	}
	for _, density := range []float64{500, 1200, math.NaN()} {
		if base, err := contents.FuelBase(density, quantity.Celsius(20)); err == nil || !strings.Contains(err.Error(), "expected 649 to 1071 kg/m³") {
			t.Errorf("%v kg/m³ at 20 °C came to %v at 15 °C, %v", density, base, err)
		}
	}
	if _, err := contents.FuelBase(800, quantity.Celsius(200)); err == nil {
		t.Error("a density was measured at 200 °C")
	}
}

// A fuel is lighter the warmer it is, is itself at 15 °C, and a density measured
// anywhere comes back from 15 °C. At the three places where groups meet, a
// base may be found that is off by the step between them.
func TestFuelDensityLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		base := rapid.Float64Range(653, 1075).Draw(t, "base")
		warm := rapid.Float64Range(-39, 90).Draw(t, "°C")
		cold := rapid.Float64Range(-40, warm-0.01).Draw(t, "colder")
		at := func(celsius float64) float64 {
			d, err := contents.FuelDensity(base, quantity.Celsius(celsius))
			if err != nil {
				t.Fatal(err)
			}
			return d
		}
		if !(at(cold) > at(warm)) {
			t.Fatalf("%v kg/m³: %v at %v °C, %v at %v °C", base, at(cold), cold, at(warm), warm)
		}
		if d := at(15); math.Abs(d-base) > 1e-9 {
			t.Fatalf("%v kg/m³ at 15 °C are %v", base, d)
		}
		back, err := contents.FuelBase(at(warm), quantity.Celsius(warm))
		if err != nil || math.Abs(back-base) > 0.1 {
			t.Fatalf("%v kg/m³ came back as %v, %v", base, back, err)
		}
		again, err := contents.FuelDensity(back, quantity.Celsius(warm))
		if err != nil || math.Abs(again-at(warm)) > 0.1 {
			t.Fatalf("%v kg/m³ measured, %v found again, %v", at(warm), again, err)
		}
		for _, edge := range []float64{770.5, 787.5, 838.5} {
			if math.Abs(base-edge) < 0.2 {
				return
			}
		}
		if math.Abs(back-base) > 1e-9 {
			t.Fatalf("%v kg/m³ came back as %v", base, back)
		}
	})
}
