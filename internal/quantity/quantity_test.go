package quantity_test

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/internal/quantity"
)

func TestParse(t *testing.T) {
	ohm := func(s string) (float64, error) { v, err := quantity.ParseOhm(s); return float64(v), err }
	share := func(s string) (float64, error) { v, err := quantity.ParseShare(s); return float64(v), err }
	metre := func(s string) (float64, error) { v, err := quantity.ParseMetre(s); return float64(v), err }
	volume := func(s string) (float64, error) { v, err := quantity.ParseCubicMetre(s); return float64(v), err }
	mass := func(s string) (float64, error) { v, err := quantity.ParseKilogram(s); return float64(v), err }
	angle := func(s string) (float64, error) { v, err := quantity.ParseRadian(s); return float64(v), err }
	tests := []struct {
		parse func(string) (float64, error)
		text  string
		want  float64
		err   string
	}{
		{ohm, "1ohm", 1, ""}, {ohm, "0.5 Ω", 0.5, ""}, {ohm, "0,5ohm", 0.5, ""}, {ohm, "1.2kohm", 1200, ""}, {ohm, " 12 ohms ", 12, ""},
		{ohm, "1", 0, `"1" has no unit; write a resistance like 1ohm`},
		{ohm, "1mm", 0, `"1mm" has the unit "mm"; a resistance is written like 1ohm`},
		{ohm, "ohm", 0, `"ohm" is not a resistance; write it like 1ohm`},
		{ohm, "", 0, `"" is not a resistance; write it like 1ohm`},
		{ohm, "NaN ohm", 0, `"NaN ohm" is not a resistance; write it like 1ohm`},
		{share, "80%", 0.8, ""}, {share, "2.5 %", 0.025, ""}, {share, "0.8", 0, `"0.8" has no unit; write a percentage like 80%`},
		{metre, "120mm", 0.12, ""}, {metre, "12cm", 0.12, ""}, {metre, "6m", 6, ""},
		{volume, "54L", 0.054, ""}, {volume, "500mL", 0.0005, ""}, {volume, "0.054m3", 0.054, ""}, {volume, "3m3", 3, ""},
		{angle, "180deg", math.Pi, ""}, {angle, "-1.5°", -0.026179938779914945, ""}, {angle, "0.5rad", 0.5, ""},
		{angle, "3", 0, `"3" has no unit; write an angle like 3deg`},
		{mass, "11kg", 11, ""}, {mass, "250g", 0.25, ""},
	}
	for _, test := range tests {
		got, err := test.parse(test.text)
		if test.err != "" {
			if err == nil || err.Error() != test.err {
				t.Errorf("%q: error %v, want %s", test.text, err, test.err)
			}
			continue
		}
		if err != nil || math.Abs(got-test.want) > 1e-15*max(1, test.want) {
			t.Errorf("%q: %v, %v; want %v", test.text, got, err, test.want)
		}
	}
}

func TestParseNumberRefuses(t *testing.T) {
	for _, text := range []string{"", "abc", "NaN", "inf", "0x10", "1_000", "1e999", "1.234,5", "1,234,567", "--1", "1 2", "4o.2"} {
		if v, err := quantity.ParseNumber(text, true); err == nil {
			t.Errorf("%q was read as %v", text, v)
		}
	}
	if v, err := quantity.ParseNumber("1,5", false); err == nil {
		t.Errorf("1,5 was read as %v without leave to", v)
	}
}

// Rounding as shown, one unit in the last place either side of the step.
func TestDigits(t *testing.T) {
	for _, test := range []struct {
		v        float64
		decimals int
		want     string
	}{
		{80, 1, "80.0"}, {-0.04, 1, "0.0"}, {-0.06, 1, "-0.1"}, {0, 0, "0"},
		{math.Nextafter(0.25, 0), 1, "0.2"}, {0.25, 1, "0.2"}, {math.Nextafter(0.25, 1), 1, "0.3"},
	} {
		if got := quantity.Digits(test.v, test.decimals); got != test.want {
			t.Errorf("Digits(%v, %d) = %q, want %q", test.v, test.decimals, got, test.want)
		}
	}
	for v, want := range map[float64]string{80: "80", 0.25: "0.25", 100: "100", 12.3: "12.3", 1e-9: "0"} {
		if got := quantity.Short(v, 2); got != want {
			t.Errorf("Short(%v) = %q, want %q", v, got, want)
		}
	}
}

func TestAligned(t *testing.T) {
	for want, values := range map[string][]float64{
		"36.1 99.0 124.3": {36.1, 99, 124.3},
		"1 2":             {1, 2},
		"0.25 0.33":       {0.25, 1.0 / 3},
		"":                nil,
	} {
		if got := strings.Join(quantity.Aligned(values, 2), " "); got != want {
			t.Errorf("%v: %q, want %q", values, got, want)
		}
	}
}

func TestRoundTakesOffNoise(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 1_000_000).Draw(t, "thousandths")
		typed := float64(n) / 1000
		if got := quantity.Round(typed/100*100, 9); got != typed {
			t.Fatalf("%v came back as %v", typed, got)
		}
	})
	if got := quantity.Round(1e308, 9); got != 1e308 {
		t.Errorf("1e308 came back as %v", got)
	}
}

func FuzzParse(f *testing.F) {
	for _, seed := range []string{"1ohm", "0,5 Ω", "80%", "120mm", "54L", "0.054m3", "-1e9kg", "m3", "%", "Ω", "−5 °C", "41F", "1e308MPa", "12 US gal", "2ft3", "7500btu/h", "130g/h", "1m3/h", "2days"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		ohm, err := quantity.ParseOhm(text)
		if err == nil && (math.IsNaN(float64(ohm)) || math.IsInf(float64(ohm), 0)) {
			t.Fatalf("%q was read as %v", text, ohm)
		}
		if err != nil && !strings.Contains(err.Error(), "ohm") {
			t.Fatalf("%q: the error doesn't say how to write it: %v", text, err)
		}
		for name, parse := range map[string]func(string) (float64, error){
			"5C": temperature, "30mbar": pressure, "2.5kWh": energy, "2.2kW": power, "120mm": length, "54L": capacity,
			"11kg": weight, "3h": duration, "130g/h": byMass, "2L/day": byVolume,
		} {
			switch v, err := parse(text); {
			case err == nil && (math.IsNaN(v) || math.IsInf(v, 0)):
				t.Fatalf("%q was read as %v", text, v)
			case err != nil && !strings.Contains(err.Error(), name) && !strings.Contains(err.Error(), "USgal"):
				t.Fatalf("%q: the error doesn't say how to write it: %v", text, err)
			}
		}
		for _, err := range []error{
			second(quantity.ParseShare(text)), second(quantity.ParseMetre(text)),
			second(quantity.ParseCubicMetre(text)), second(quantity.ParseKilogram(text)), second(quantity.ParseRadian(text)),
		} {
			if err != nil && err.Error() == "" {
				t.Fatal("an error without words")
			}
		}
	})
}

func second[T any](_ T, err error) error { return err }
