package quantity

import (
	"fmt"
	"strings"
)

// Kelvin is a thermodynamic temperature in kelvins; it is shown in degrees
// Celsius. 0 °C = 273.15 K exactly. A difference of temperatures is no Kelvin:
// shown as one it would be off by 273 degrees.
type Kelvin float64

// zeroCelsius is 0 °C in kelvins, and zeroFahrenheit is absolute zero's
// distance below 0 °F in degrees Fahrenheit; both exact.
const (
	zeroCelsius    = 273.15
	zeroFahrenheit = 459.67
)

// Celsius gives the temperature of t degrees Celsius.
func Celsius(t float64) Kelvin { return Kelvin(t + zeroCelsius) }

// Fahrenheit gives the temperature of t degrees Fahrenheit:
// T/K = (t/°F + 459.67) · 5/9, exact but for rounding.
func Fahrenheit(t float64) Kelvin { return Kelvin((t + zeroFahrenheit) * 5 / 9) }

// Celsius gives the temperature in degrees Celsius.
func (k Kelvin) Celsius() float64 { return float64(k) - zeroCelsius }

// Fahrenheit gives the temperature in degrees Fahrenheit.
func (k Kelvin) Fahrenheit() float64 { return float64(k)*9/5 - zeroFahrenheit }

// String gives the temperature in degrees Celsius with up to one decimal, for
// example "5 °C".
func (k Kelvin) String() string { return Short(k.Celsius(), 1) + " °C" }

var temperatureUnits = []unit{
	{"C", 1}, {"°C", 1}, {"℃", 1}, {"degC", 1},
	{"F", 1}, {"°F", 1}, {"℉", 1}, {"degF", 1},
	{"K", 1},
}

// ParseKelvin reads a temperature with its unit: "5C", "−5 °C", "41F",
// "278.15K". A temperature below absolute zero is refused.
func ParseKelvin(text string) (Kelvin, error) {
	const what, example = "a temperature", "5C"
	v, u, err := split(text, what, example, temperatureUnits)
	if err != nil {
		return 0, err
	}
	k := Kelvin(v)
	switch {
	case strings.HasSuffix(u.text, "C") || u.text == "℃":
		k = Celsius(v)
	case strings.HasSuffix(u.text, "F") || u.text == "℉":
		k = Fahrenheit(v)
	}
	if k < 0 {
		return 0, fmt.Errorf("%q is below absolute zero, −273.15 °C; write %s like %s", text, what, example)
	}
	if k > maxKelvin {
		return 0, tooLarge(text, what, example)
	}
	return k, nil
}

// maxKelvin is more than any tank will see; beyond it the offset of the
// Celsius scale would begin to be lost in rounding.
const maxKelvin = 1e9
