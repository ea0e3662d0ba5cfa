package contents_test

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/internal/contents"
	"gaugewright/internal/peer"
	"gaugewright/internal/quantity"
)

// waterOff is how far the formulas may be from IAPWS-95 in kg/m³, whose own
// uncertainty is 0.001 kg/m³ here. CIPM's and IAPWS's tables part by 0.0011 at
// 40 °C.
func waterOff(celsius float64) float64 {
	switch {
	case celsius < 38:
		return 0.001
	case celsius <= 40:
		return 0.0012
	}
	return 0.002
}

func waterAt(t testing.TB, celsius float64) float64 {
	t.Helper()
	d, err := contents.WaterDensity(quantity.Celsius(celsius))
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func TestWaterDensityTable(t *testing.T) {
	f, err := os.Open("testdata/water_density.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) < 10 {
		t.Fatalf("%d rows in the table", len(rows))
	}
	for _, row := range rows[1:] {
		var v [3]float64
		for i := range v {
			if v[i], err = strconv.ParseFloat(row[i], 64); err != nil {
				t.Fatal(err)
			}
		}
		d := waterAt(t, v[0])
		if math.Abs(d-v[1]) > waterOff(v[0]) {
			t.Errorf("%v °C: %.4f kg/m³, the table has %.4f", v[0], d, v[1])
		}
		if head := contents.HeadPerMetre(d) / 1000; math.Abs(head-v[2]) > waterOff(v[0])*0.01 {
			t.Errorf("%v °C: %.6f kPa a metre, the table has %.6f", v[0], head, v[2])
		}
	}
}

// The CIPM's own table in Tanaka and others, 2001 (from memory).
func TestWaterDensityCIPM(t *testing.T) {
	for celsius, want := range map[float64]float64{0: 999.8428, 4: 999.9749, 15: 999.1026, 20: 998.2067, 25: 997.0470, 40: 992.2152} {
		if got := waterAt(t, celsius); math.Abs(got-want) > 0.00011 {
			t.Errorf("%v °C: %.4f, want %.4f", celsius, got, want)
		}
	}
}

// Every degree and a half, and ice, against a program of other people's.
func TestWaterAgainstIAPWS(t *testing.T) {
	var at []float64
	for c := 0.0; c < 99.9; c += 1.5 {
		at = append(at, c)
	}
	var got struct {
		Density []float64
		Ice     float64
	}
	peer.Python(t, []string{"iapws"}, `
import json, sys
from iapws import IAPWS95
from iapws._iapws import _Ice
given = json.load(sys.stdin)
print(json.dumps({
    "Density": [IAPWS95(T=t + 273.15, P=0.101325).rho for t in given],
    "Ice": _Ice(273.15, 0.101325)["rho"],
}))
`, at, &got)
	for i, c := range at {
		if d := waterAt(t, c); math.Abs(d-got.Density[i]) > waterOff(c) {
			t.Errorf("%v °C: %.4f kg/m³, IAPWS-95 has %.4f", c, d, got.Density[i])
		}
	}
	if math.Abs(got.Ice-contents.IceDensity) > 0.05 {
		t.Errorf("ice: %v kg/m³, IAPWS has %.3f", contents.IceDensity, got.Ice)
	}
}

// No step where one formula takes over, and thinner with every bit of warmth
// from 4 °C on.
func TestWaterDensityFalls(t *testing.T) {
	if step := waterAt(t, 40) - waterAt(t, 40+1e-9); math.Abs(step) > 1e-8 {
		t.Errorf("a step of %v kg/m³ at 40 °C", step)
	}
	// The slope there, in kg/m³ a kelvin, is the same on both sides to the
	// third figure.
	before, after := waterAt(t, 39.9)-waterAt(t, 40), waterAt(t, 40)-waterAt(t, 40.1)
	if math.Abs(after/before-1) > 0.005 {
		t.Errorf("the slope changes from %v to %v at 40 °C", before*10, after*10)
	}
	rapid.Check(t, func(t *rapid.T) {
		a := rapid.Float64Range(3.99, 99.9).Draw(t, "a")
		b := rapid.Float64Range(a, 100).Draw(t, "b")
		da, _ := contents.WaterDensity(quantity.Celsius(a))
		db, _ := contents.WaterDensity(quantity.Celsius(b))
		if b > a+1e-6 && !(db < da) {
			t.Fatalf("%v °C %v kg/m³, %v °C %v kg/m³", a, da, b, db)
		}
	})
}

func TestWaterRefuses(t *testing.T) {
	for k, want := range map[quantity.Kelvin]string{
		quantity.Celsius(-3):        "water at −3 °C is ice or about to be; expected 0 to 100 °C",
		quantity.Celsius(101):       "water at 101 °C boils; expected 0 to 100 °C",
		quantity.Kelvin(math.NaN()): "water at no number boils; expected 0 to 100 °C",
	} {
		if d, err := contents.WaterDensity(k); err == nil || err.Error() != want || d != 0 {
			t.Errorf("%v: %v, %v; want %s", k, d, err, want)
		}
		if _, err := contents.WaterExpansion(quantity.Celsius(20), k); err == nil {
			t.Errorf("water was warmed to %v", k)
		}
		if _, err := contents.WaterExpansion(k, quantity.Celsius(20)); err == nil {
			t.Errorf("water was warmed from %v", k)
		}
	}
	for _, c := range []float64{0, 100} {
		waterAt(t, c)
	}
	if k, err := quantity.ParseKelvin("212F"); err != nil || waterAt(t, k.Celsius()) < 958 {
		t.Errorf("212 °F: %v", err)
	}
}

// From 20 to 80 °C water grows by 2.7 % (common knowledge of heating trade).
func TestWaterExpansion(t *testing.T) {
	for _, test := range []struct{ from, to, want float64 }{{20, 80, 0.0272}, {80, 20, -0.0265}, {15, 15, 0}, {4, 0, 0.00013}} {
		got, err := contents.WaterExpansion(quantity.Celsius(test.from), quantity.Celsius(test.to))
		if err != nil || math.Abs(float64(got)-test.want) > 0.00005 {
			t.Errorf("from %v to %v °C: %v, %v; want %v", test.from, test.to, float64(got), err, test.want)
		}
	}
}

func TestFreezingMargin(t *testing.T) {
	f, err := contents.FreezingMargin(0.050, 0.060, quantity.Celsius(4))
	if err != nil {
		t.Fatal(err)
	}
	// By hand: 50·999.975/916.7 = 54.542 L, 60·916.7/999.975 = 55.003 L.
	if math.Abs(float64(f.Ice)*1000-54.542) > 0.001 || math.Abs(float64(f.Most)*1000-55.003) > 0.001 || math.Abs(float64(f.Margin)*1000-5.458) > 0.001 || !f.Fits() {
		t.Errorf("%+v", f)
	}
	text := f.Sentence(quantity.Units{})
	for _, part := range []string{"50 L of water take 54.5 L as ice", "has room for", "at least 8.4 % of a water tank has to be empty", "protects no pump, pipe", "can also burst a tank that has room"} {
		if !strings.Contains(text, part) {
			t.Errorf("%q isn't in %q", part, text)
		}
	}
	f, err = contents.FreezingMargin(0.058, 0.060, quantity.Celsius(4))
	if text = f.Sentence(quantity.Units{Volume: "US gal"}); err != nil || f.Fits() || !strings.Contains(text, "let water out until no more than 14.5 US gal are in it") {
		t.Errorf("%v, %q", err, text)
	}
	f, err = contents.FreezingMargin(0, 0.060, quantity.Celsius(4))
	if text = f.Sentence(quantity.Units{}); err != nil || !strings.HasPrefix(text, "Water takes 9 % more room as ice: at least 8.4 %") {
		t.Errorf("%v, %q", err, text)
	}
	for want, try := range map[string][3]float64{
		"the water capacity is 0 L; expected more than 0 L":               {0, 0, 20},
		"61 L of water can't be in a tank of 60 L; expected 0 L to 60 L":  {0.061, 0.060, 20},
		"-1 L of water can't be in a tank of 60 L; expected 0 L to 60 L":  {-0.001, 0.060, 20},
		"water at −1 °C is ice or about to be; expected 0 to 100 °C":      {0.050, 0.060, -1},
		"the water capacity is NaN L; expected more than 0 L":             {0.050, math.NaN(), 20},
		"NaN L of water can't be in a tank of 60 L; expected 0 L to 60 L": {math.NaN(), 0.060, 20},
	} {
		if _, err := contents.FreezingMargin(quantity.CubicMetre(try[0]), quantity.CubicMetre(try[1]), quantity.Celsius(try[2])); err == nil || err.Error() != want {
			t.Errorf("%v: %v, want %s", try, err, want)
		}
	}
}

// The most water whose ice fits just fits, and mass is kept.
func TestFreezingKeepsMass(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		capacity := rapid.Float64Range(1e-3, 2).Draw(t, "capacity")
		water := capacity * rapid.Float64Range(0, 1).Draw(t, "part")
		at := quantity.Celsius(rapid.Float64Range(0, 100).Draw(t, "°C"))
		f, err := contents.FreezingMargin(quantity.CubicMetre(water), quantity.CubicMetre(capacity), at)
		if err != nil {
			t.Fatal(err)
		}
		d, _ := contents.WaterDensity(at)
		if math.Abs(float64(f.Ice)*contents.IceDensity-water*d) > 1e-9*capacity*1000 {
			t.Fatalf("%v kg of water are %v kg of ice", water*d, float64(f.Ice)*contents.IceDensity)
		}
		if f.Fits() != (water <= float64(f.Most)) && math.Abs(water-float64(f.Most)) > 1e-12 {
			t.Fatalf("%+v", f)
		}
		full, err := contents.FreezingMargin(f.Most, quantity.CubicMetre(capacity), at)
		if err != nil || math.Abs(float64(full.Margin)) > 1e-12*capacity {
			t.Fatalf("%v, margin %v", err, full.Margin)
		}
	})
}
