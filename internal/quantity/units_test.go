package quantity_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/internal/peer"
	"gaugewright/internal/quantity"
)

// reader turns a Parse function into one that gives a bare number.
func reader[T ~float64](parse func(string) (T, error)) func(string) (float64, error) {
	return func(s string) (float64, error) { v, err := parse(s); return float64(v), err }
}

var (
	temperature = reader(quantity.ParseKelvin)
	pressure    = reader(quantity.ParsePascal)
	energy      = reader(quantity.ParseJoule)
	power       = reader(quantity.ParseWatt)
	length      = reader(quantity.ParseMetre)
	capacity    = reader(quantity.ParseCubicMetre)
	weight      = reader(quantity.ParseKilogram)
	duration    = reader(quantity.ParseSecond)
	byMass      = reader(quantity.ParseMassRate)
	byVolume    = reader(quantity.ParseVolumeRate)
)

func TestParseUnits(t *testing.T) {
	for _, test := range []struct {
		parse func(string) (float64, error)
		text  string
		want  float64
		err   string
	}{
		{temperature, "5C", 278.15, ""}, {temperature, "41F", 278.15, ""}, {temperature, "278.15K", 278.15, ""},
		{temperature, "−5 °C", 268.15, ""}, {temperature, "-40°F", 233.15, ""}, {temperature, "-40 degC", 233.15, ""}, {temperature, "0K", 0, ""},
		{temperature, "5", 0, `"5" has no unit; write a temperature like 5C`},
		{temperature, "5R", 0, `"5R" has the unit "R"; a temperature is written like 5C`},
		{temperature, "cold", 0, `"cold" is not a temperature; write it like 5C`},
		{temperature, "-274C", 0, `"-274C" is below absolute zero, −273.15 °C; write a temperature like 5C`},
		{temperature, "-460F", 0, `"-460F" is below absolute zero, −273.15 °C; write a temperature like 5C`},
		{temperature, "1e300K", 0, `"1e300K" is too large for a temperature; write it like 5C`},
		{pressure, "7.3bar", 7.3e5, ""}, {pressure, "37 mbar", 3700, ""}, {pressure, "30hPa", 3000, ""}, {pressure, "5kPa", 5000, ""}, {pressure, "5Pa", 5, ""}, {pressure, "1.5MPa", 1.5e6, ""},
		{pressure, "1e308MPa", 0, `"1e308MPa" is too large for a pressure; write it like 30mbar`},
		{pressure, "5atm", 0, `"5atm" has the unit "atm"; a pressure is written like 30mbar`},
		{energy, "2.5kWh", 9e6, ""}, {energy, "9MJ", 9e6, ""}, {energy, "500Wh", 1.8e6, ""}, {energy, "5kJ", 5000, ""}, {energy, "5J", 5, ""},
		// Directive 80/181/EEC had the therm as 105.506 MJ (from memory).
		{energy, "1therm", 105505585.262, ""}, {energy, "2 therms", 211011170.524, ""},
		{energy, "5kW", 0, `"5kW" has the unit "kW"; an energy is written like 2.5kWh`},
		{power, "2.2kW", 2200, ""}, {power, "800 W", 800, ""}, {power, "3600btu/h", 1055.05585262, ""},
		{power, "3kWh", 0, `"3kWh" has the unit "kWh"; a power is written like 2.2kW`},
		{length, "5in", 0.127, ""}, {length, "2ft", 0.6096, ""},
		// The gallons in litres are exact by definition (from memory).
		{capacity, "1USgal", 0.003785411784, ""}, {capacity, "12 US gal", 0.045424941408, ""}, {capacity, "1impgal", 0.00454609, ""}, {capacity, "10 imp gal", 0.0454609, ""},
		{capacity, "2ft3", 0.056633693184, ""}, {capacity, "2ft³", 0.056633693184, ""}, {capacity, "1 cu ft", 0.028316846592, ""},
		{capacity, "12gal", 0, `"12gal" doesn't say which gallon it is; write USgal (3.785 L) or impgal (4.546 L)`},
		{capacity, "12 gallons", 0, `"12 gallons" doesn't say which gallon it is; write USgal (3.785 L) or impgal (4.546 L)`},
		{capacity, "m3", 0, `"m3" is not a volume; write it like 54L`},
		{capacity, "12kL", 0, `"12kL" has the unit "kL"; a volume is written like 54L`},
		{weight, "24lb", 10.88621688, ""}, {weight, "24 lbs", 10.88621688, ""}, {weight, "8oz", 0.226796185, ""},
		{weight, "1gal", 0, `"1gal" has the unit "gal"; a mass is written like 11kg`},
		{duration, "3h", 10800, ""}, {duration, "45min", 2700, ""}, {duration, "2days", 172800, ""}, {duration, "2d", 172800, ""}, {duration, "1 day", 86400, ""}, {duration, "30s", 30, ""}, {duration, "2weeks", 1209600, ""},
		{duration, "3m", 0, `"3m" has the unit "m"; a length of time is written like 3h`},
		{byMass, "130g/h", 0.13 / 3600, ""}, {byMass, "0.3kg/h", 0.3 / 3600, ""}, {byMass, "2lb/day", 0.90718474 / 86400, ""},
		{byMass, "130g", 0, `"130g" has the unit "g"; a use by mass is written like 130g/h`},
		{byVolume, "6L/min", 1e-4, ""}, {byVolume, "2L/day", 0.002 / 86400, ""}, {byVolume, "0.5L/h", 0.0005 / 3600, ""}, {byVolume, "2 L/d", 0.002 / 86400, ""}, {byVolume, "1m3/h", 1.0 / 3600, ""}, {byVolume, "1USgal/min", 0.003785411784 / 60, ""},
		{byVolume, "1gal/min", 0, `"1gal/min" doesn't say which gallon it is; write USgal (3.785 L) or impgal (4.546 L)`},
		{byVolume, "2L", 0, `"2L" has the unit "L"; a use by volume is written like 2L/day`},
	} {
		got, err := test.parse(test.text)
		if test.err != "" {
			if err == nil || err.Error() != test.err {
				t.Errorf("%q: %v, error %v, want %s", test.text, got, err, test.err)
			}
			continue
		}
		if err != nil || math.Abs(got-test.want) > 2e-15*math.Abs(test.want) {
			t.Errorf("%q: %v, %v; want %v", test.text, got, err, test.want)
		}
	}
}

// What a unit is worth, asked of the constants of SciPy.
func TestUnitsAgainstSciPy(t *testing.T) {
	var want map[string]float64
	peer.Python(t, []string{"scipy"}, `
import json
from scipy import constants as c
print(json.dumps({
    "1in": c.inch, "1ft": c.foot, "1lb": c.pound, "1oz": c.oz, "1psi": c.psi, "1bar": c.bar,
    "1USgal": c.gallon, "1impgal": c.gallon_imp, "1ft3": c.foot**3, "1L": c.liter,
    "1btu/h": c.Btu_IT / c.hour, "1therm": 1e5 * c.Btu_IT, "1kWh": 1000 * c.hour,
    "1d": c.day, "1weeks": c.week, "1USgal/day": c.gallon / c.day,
    "100F": c.convert_temperature(100.0, "F", "K"), "-20C": c.convert_temperature(-20.0, "C", "K"),
}))
`, nil, &want)
	parsers := []func(string) (float64, error){length, weight, pressure, capacity, power, energy, duration, byVolume, temperature}
	for text, w := range want {
		read := 0
		for _, parse := range parsers {
			got, err := parse(text)
			if err != nil {
				continue
			}
			read++
			if math.Abs(got-w) > 1e-14*math.Abs(w) {
				t.Errorf("%s is %v here, %v in SciPy", text, got, w)
			}
		}
		if read != 1 {
			t.Errorf("%s is read by %d functions, want one", text, read)
		}
	}
}

func TestString(t *testing.T) {
	for _, test := range []struct {
		got  fmt.Stringer
		want string
	}{
		{quantity.Celsius(5), "5 °C"}, {quantity.Celsius(-0.01), "0 °C"}, {quantity.Fahrenheit(41), "5 °C"}, {quantity.Celsius(-40), "-40 °C"},
		{quantity.Pascal(732000), "7.32 bar"}, {quantity.Pascal(3000), "0.03 bar"},
		{quantity.Joule(9e6), "2.5 kWh"}, {quantity.Watt(2200), "2.2 kW"}, {quantity.Watt(65), "0.065 kW"},
		{quantity.Second(2700), "45 min"}, {quantity.Second(10800), "3 h"}, {quantity.Second(216000), "2.5 days"}, {quantity.Second(7199), "120 min"}, {quantity.Second(7200), "2 h"},
		{quantity.MassRate(0.13 / 3600), "0.13 kg/h"}, {quantity.VolumeRate(1e-4), "360 L/h"},
	} {
		if test.got.String() != test.want {
			t.Errorf("%T %v is shown as %q, want %q", test.got, test.got, test.got, test.want)
		}
	}
}

// A temperature through both scales and back is the same, and the scales meet
// at −40.
func TestTemperatureRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := quantity.Kelvin(rapid.Float64Range(0, 1000).Draw(t, "kelvin"))
		for scale, back := range map[string]quantity.Kelvin{"C": quantity.Celsius(k.Celsius()), "F": quantity.Fahrenheit(k.Fahrenheit())} {
			if math.Abs(float64(back-k)) > 1e-12 {
				t.Fatalf("%v K came back from %s as %v K", float64(k), scale, float64(back))
			}
		}
		if c, f := k.Celsius(), k.Fahrenheit(); (c < f) != (c > -40) && math.Abs(c+40) > 1e-9 {
			t.Fatalf("%v K: %v °C and %v °F", float64(k), c, f)
		}
	})
	if d := quantity.Celsius(-40) - quantity.Fahrenheit(-40); math.Abs(float64(d)) > 1e-12 {
		t.Errorf("−40 °C and −40 °F differ by %v K", d)
	}
}

var choices = struct{ volume, mass, energy, pressure, temperature []string }{
	[]string{"", "L", "US gal", "imp gal"}, []string{"", "kg", "lb"}, []string{"", "kWh", "MJ", "therm"},
	[]string{"", "bar", "kPa", "psi"}, []string{"", "C", "F"},
}

func drawUnits(t *rapid.T) quantity.Units {
	return quantity.Units{
		Volume: rapid.SampledFrom(choices.volume).Draw(t, "volume"), Mass: rapid.SampledFrom(choices.mass).Draw(t, "mass"),
		Energy: rapid.SampledFrom(choices.energy).Draw(t, "energy"), Pressure: rapid.SampledFrom(choices.pressure).Draw(t, "pressure"),
		Temperature: rapid.SampledFrom(choices.temperature).Draw(t, "temperature"),
	}
}

// Whatever is chosen to show a quantity in can be read back, and gives the
// same quantity.
func TestUnitsRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		u := drawUnits(t)
		if err := u.Valid(); err != nil {
			t.Fatal(err)
		}
		x := rapid.Float64Range(0, 1e4).Draw(t, "quantity")
		type shown struct {
			v    float64
			unit string
		}
		show := func(v float64, unit string) shown { return shown{v, unit} }
		for _, c := range []struct {
			shown
			parse func(string) (float64, error)
		}{
			{show(u.VolumeIn(quantity.CubicMetre(x))), capacity}, {show(u.MassIn(quantity.Kilogram(x))), weight},
			{show(u.EnergyIn(quantity.Joule(x))), energy}, {show(u.PressureIn(quantity.Pascal(x))), pressure},
			{show(u.TemperatureIn(quantity.Kelvin(x))), temperature},
		} {
			text := fmt.Sprintf("%v %s", c.v, c.unit)
			back, err := c.parse(text)
			if err != nil || math.Abs(back-x) > 1e-11*max(1, x) {
				t.Fatalf("%v was shown as %s and read as %v, %v", x, text, back, err)
			}
		}
	})
}

func TestUnitsText(t *testing.T) {
	us := quantity.Units{Volume: "US gal", Mass: "lb", Energy: "therm", Pressure: "psi", Temperature: "F"}
	imp := quantity.Units{Volume: "imp gal", Energy: "MJ", Pressure: "kPa"}
	var usual quantity.Units
	for _, test := range [][2]string{
		{usual.VolumeText(0.0345), "34.5 L"}, {usual.VolumeText(0.12345), "123 L"}, {usual.VolumeText(0.00345), "3.45 L"}, {usual.VolumeText(0), "0 L"},
		{usual.MassText(11), "11 kg"}, {usual.EnergyText(5.04e8), "140 kWh"}, {usual.PressureText(731512), "7.32 bar"}, {usual.TemperatureText(278.15), "5 °C"},
		{us.VolumeText(0.0345), "9.11 US gal"}, {us.MassText(11), "24.3 lb"}, {us.EnergyText(5.04e8), "4.78 therm"}, {us.PressureText(731512), "106 psi"}, {us.TemperatureText(278.15), "41 °F"},
		{imp.VolumeText(0.0345), "7.59 imp gal"}, {imp.EnergyText(5.04e8), "504 MJ"}, {imp.PressureText(731512), "732 kPa"},
		// Shown rounding, one unit in the last place either side of the step.
		{usual.MassText(quantity.Kilogram(math.Nextafter(12.25, 0))), "12.2 kg"}, {usual.MassText(quantity.Kilogram(math.Nextafter(12.25, 13))), "12.3 kg"},
		{usual.MassText(quantity.Kilogram(math.Nextafter(9.995, 0))), "9.99 kg"}, {usual.MassText(9.996), "10 kg"}, {usual.MassText(99.96), "100 kg"},
		// Cut down, and not by the noise of 0.0123 · 1000.
		{usual.VolumeTextDown(0.01239), "12.3 L"}, {usual.VolumeTextDown(0.0123), "12.3 L"}, {usual.VolumeTextDown(0.0999999), "99.9 L"}, {usual.VolumeTextDown(0.1239), "123 L"},
		{us.VolumeTextDown(0.0345), "9.11 US gal"}, {usual.MassTextDown(9.999), "9.99 kg"}, {us.MassTextDown(-1), "-2.21 lb"},
	} {
		if test[0] != test[1] {
			t.Errorf("shown as %q, want %q", test[0], test[1])
		}
	}
}

// Cutting never shows more than there is, and less by no more than one step.
func TestTextDown(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		u := drawUnits(t)
		v := quantity.CubicMetre(rapid.Float64Range(0, 10).Draw(t, "m³"))
		exact, name := u.VolumeIn(v)
		number, err := quantity.ParseNumber(strings.TrimSuffix(u.VolumeTextDown(v), name), false)
		if err != nil {
			t.Fatal(err)
		}
		step := 1.0
		if exact < 100 {
			step = 0.1
		}
		if exact < 10 {
			step = 0.01
		}
		if number > exact*(1+1e-8) || number < exact-1.0001*step {
			t.Fatalf("%v %s is cut to %v", exact, name, number)
		}
	})
	if got := (quantity.Units{}).VolumeTextDown(quantity.CubicMetre(math.MaxFloat64 / 1e4)); strings.Contains(got, "NaN") || strings.Contains(got, "Inf") {
		t.Errorf("a very large volume is shown as %s", got)
	}
}

func TestUnitsValid(t *testing.T) {
	for want, u := range map[string]quantity.Units{
		`the unit of volume is "gal"; expected one of: L, US gal, imp gal`: {Volume: "gal"},
		`the unit of mass is "st"; expected one of: kg, lb`:                {Mass: "st"},
		`the unit of energy is "cal"; expected one of: kWh, MJ, therm`:     {Energy: "cal"},
		`the unit of pressure is "atm"; expected one of: bar, kPa, psi`:    {Pressure: "atm"},
		`the unit of temperature is "K"; expected one of: C, F`:            {Temperature: "K"},
	} {
		if err := u.Valid(); err == nil || err.Error() != want {
			t.Errorf("%+v: %v, want %s", u, err, want)
		}
	}
	// A wrong choice that nobody checked shows the usual unit by its own name.
	if got := (quantity.Units{Volume: "gal"}).VolumeText(0.002); got != "2 L" {
		t.Errorf("2 L in no unit there is are shown as %q", got)
	}
}
