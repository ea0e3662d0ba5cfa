package quantity

import (
	"fmt"
	"math"
	"strings"
)

// Units is a person's choice of the units in which quantities are shown to
// them. An empty field, and so the zero value, stands for L, kg, kWh, bar and
// C. Nothing is kept or reckoned in these units: they are for showing only.
type Units struct {
	Volume      string `json:"volume,omitempty"`      // "L", "US gal" or "imp gal"
	Mass        string `json:"mass,omitempty"`        // "kg" or "lb"
	Energy      string `json:"energy,omitempty"`      // "kWh", "MJ" or "therm"
	Pressure    string `json:"pressure,omitempty"`    // "bar", "kPa" or "psi"
	Temperature string `json:"temperature,omitempty"` // "C" or "F"
}

// What may be chosen of each kind; the first stands for an empty field too.
var (
	shownVolumes      = []unit{{"L", litre}, {"US gal", usGallon}, {"imp gal", impGallon}}
	shownMasses       = []unit{{"kg", 1}, {"lb", pound}}
	shownEnergies     = []unit{{"kWh", 3.6e6}, {"MJ", 1e6}, {"therm", therm}}
	shownPressures    = []unit{{"bar", 1e5}, {"kPa", 1000}, {"psi", psi}}
	shownTemperatures = []unit{{"C", 1}, {"F", 1}}
)

// Valid tells of the first unit that isn't one of those to choose from.
func (u Units) Valid() error {
	for _, c := range []struct {
		kind, chosen string
		from         []unit
	}{
		{"volume", u.Volume, shownVolumes},
		{"mass", u.Mass, shownMasses},
		{"energy", u.Energy, shownEnergies},
		{"pressure", u.Pressure, shownPressures},
		{"temperature", u.Temperature, shownTemperatures},
	} {
		if c.chosen == "" || choice(c.chosen, c.from).text == c.chosen {
			continue
		}
		var names []string
		for _, f := range c.from {
			names = append(names, f.text)
		}
		return fmt.Errorf("the unit of %s is %q; expected one of: %s", c.kind, c.chosen, strings.Join(names, ", "))
	}
	return nil
}

// choice gives the unit chosen, and the first of the list for anything that
// isn't in it: a wrong choice, which [Units.Valid] finds, shows the usual unit
// under its right name.
func choice(chosen string, from []unit) unit {
	for _, f := range from {
		if f.text == chosen {
			return f
		}
	}
	return from[0]
}

// VolumeIn gives the volume as a number in the chosen unit, and that unit.
func (u Units) VolumeIn(v CubicMetre) (float64, string) {
	return in(float64(v), choice(u.Volume, shownVolumes))
}

// MassIn gives the mass as a number in the chosen unit, and that unit.
func (u Units) MassIn(m Kilogram) (float64, string) {
	return in(float64(m), choice(u.Mass, shownMasses))
}

// EnergyIn gives the energy as a number in the chosen unit, and that unit. A
// therm is that of [ParseJoule].
func (u Units) EnergyIn(e Joule) (float64, string) {
	return in(float64(e), choice(u.Energy, shownEnergies))
}

// PressureIn gives the pressure as a number in the chosen unit, and that unit.
func (u Units) PressureIn(p Pascal) (float64, string) {
	return in(float64(p), choice(u.Pressure, shownPressures))
}

// TemperatureIn gives the temperature as a number in the chosen unit, and that
// unit as it is shown: "°C" or "°F".
func (u Units) TemperatureIn(k Kelvin) (float64, string) {
	if u.Temperature == "F" {
		return k.Fahrenheit(), "°F"
	}
	return k.Celsius(), "°C"
}

// VolumeText gives the volume in the chosen unit, for example "34.5 L".
func (u Units) VolumeText(v CubicMetre) string { return text(u.VolumeIn(v)) }

// MassText gives the mass in the chosen unit, for example "11 kg".
func (u Units) MassText(m Kilogram) string { return text(u.MassIn(m)) }

// EnergyText gives the energy in the chosen unit, for example "140 kWh".
func (u Units) EnergyText(e Joule) string { return text(u.EnergyIn(e)) }

// PressureText gives the pressure in the chosen unit, for example "7.32 bar".
// Whether it is absolute or gauge has to stand beside it.
func (u Units) PressureText(p Pascal) string { return text(u.PressureIn(p)) }

// TemperatureText gives the temperature in the chosen unit with up to one
// decimal, for example "41 °F".
func (u Units) TemperatureText(k Kelvin) string {
	v, name := u.TemperatureIn(k)
	return Short(v, 1) + " " + name
}

// VolumeTextDown is [Units.VolumeText] cut down instead of rounded: what may be
// filled in is never shown as more than it is.
func (u Units) VolumeTextDown(v CubicMetre) string { return textDown(u.VolumeIn(v)) }

// MassTextDown is [Units.MassText] cut down instead of rounded.
func (u Units) MassTextDown(m Kilogram) string { return textDown(u.MassIn(m)) }

func in(si float64, u unit) (float64, string) { return si / u.si, u.text }

func text(v float64, name string) string { return Short(v, decimals(v)) + " " + name }

// textDown cuts v to the decimals of text. What is less than a billionth below
// a step is taken for the step: the noise of a conversion would otherwise cost
// a whole one.
func textDown(v float64, name string) string {
	step := math.Pow(10, float64(decimals(v)))
	cut := math.Floor(v*step*(1+math.Copysign(1e-9, v))) / step
	if math.IsInf(cut, 0) || math.IsNaN(cut) {
		cut = v // too large to have decimals
	}
	return text(cut, name)
}

// decimals is how many make three figures or so: two below 10, one below 100
// and none from there. More would claim what no sender of a level knows.
func decimals(v float64) int {
	switch a := math.Abs(v); {
	case a < 10:
		return 2
	case a < 100:
		return 1
	}
	return 0
}
