package quantity

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Ohm is an electrical resistance in ohms.
type Ohm float64

// Share is a dimensionless fraction; 0.8 is shown as 80 %.
type Share float64

// Metre is a length in metres; it is shown in millimetres.
type Metre float64

// CubicMetre is a volume in cubic metres; it is shown in litres.
// 1 L = 0.001 m³ exactly.
type CubicMetre float64

// Kilogram is a mass in kilograms.
type Kilogram float64

// Radian is a plane angle in radians; it is shown in degrees.
type Radian float64

// String gives the resistance to a tenth of an ohm, for example "80.0 Ω".
func (o Ohm) String() string { return Digits(float64(o), 1) + " Ω" }

// String gives the share in percent with up to two decimals, for example "80 %".
func (s Share) String() string { return Short(float64(s)*100, 2) + " %" }

// String gives the length in millimetres with up to one decimal.
func (m Metre) String() string { return Short(float64(m)*1000, 1) + " mm" }

// String gives the volume in litres with up to two decimals.
func (v CubicMetre) String() string { return Short(float64(v)*1000, 2) + " L" }

// String gives the mass in kilograms with up to two decimals.
func (m Kilogram) String() string { return Short(float64(m), 2) + " kg" }

// String gives the angle in degrees with up to two decimals, for example "3°".
func (r Radian) String() string { return Short(float64(r)*180/math.Pi, 2) + "°" }

var (
	ohmUnits    = []unit{{"ohm", 1}, {"ohms", 1}, {"Ω", 1}, {"Ω", 1}, {"kohm", 1000}, {"kΩ", 1000}, {"kΩ", 1000}}
	shareUnits  = []unit{{"%", 0.01}}
	metreUnits  = []unit{{"mm", 0.001}, {"cm", 0.01}, {"m", 1}, {"in", inch}, {"ft", foot}}
	volumeUnits = []unit{
		{"L", litre}, {"l", litre}, {"mL", 1e-6}, {"ml", 1e-6}, {"m3", 1}, {"m³", 1},
		{"USgal", usGallon}, {"US gal", usGallon}, {"impgal", impGallon}, {"imp gal", impGallon},
		{"ft3", foot * foot * foot}, {"ft³", foot * foot * foot}, {"cu ft", foot * foot * foot},
	}
	massUnits  = []unit{{"kg", 1}, {"g", 0.001}, {"lb", pound}, {"lbs", pound}, {"oz", pound / 16}}
	angleUnits = []unit{{"deg", math.Pi / 180}, {"°", math.Pi / 180}, {"rad", 1}}
)

// ParseOhm reads a resistance with its unit: "1ohm", "0.5 Ω", "1.2kohm".
func ParseOhm(text string) (Ohm, error) {
	v, err := parse(text, "a resistance", "1ohm", ohmUnits)
	return Ohm(v), err
}

// ParseShare reads a percentage with its sign: "2%", "80 %". 100 % is 1.
func ParseShare(text string) (Share, error) {
	v, err := parse(text, "a percentage", "80%", shareUnits)
	return Share(v), err
}

// ParseMetre reads a length with its unit: "120mm", "12cm", "0.12m", "5in",
// "2ft". 1 in = 0.0254 m and 1 ft = 12 in exactly.
func ParseMetre(text string) (Metre, error) {
	v, err := parse(text, "a length", "120mm", metreUnits)
	return Metre(v), err
}

// ParseCubicMetre reads a volume with its unit: "54L", "500mL", "0.054m3",
// "12USgal", "12 imp gal", "2ft3". A gallon has to say which it is: 1 US gal =
// 3.785411784 L and 1 imp gal = 4.54609 L, both exactly.
func ParseCubicMetre(text string) (CubicMetre, error) {
	v, err := parse(text, "a volume", "54L", volumeUnits)
	return CubicMetre(v), err
}

// ParseKilogram reads a mass with its unit: "11kg", "250g", "24lb", "8oz".
// 1 lb = 0.45359237 kg and 1 oz = 1/16 lb exactly (avoirdupois).
func ParseKilogram(text string) (Kilogram, error) {
	v, err := parse(text, "a mass", "11kg", massUnits)
	return Kilogram(v), err
}

// ParseRadian reads an angle with its unit: "3deg", "-1.5°", "0.05rad".
func ParseRadian(text string) (Radian, error) {
	v, err := parse(text, "an angle", "3deg", angleUnits)
	return Radian(v), err
}

// ParseOhms reads a resistance with its unit, as [ParseOhm] does, or a plain number of
// ohms.
func ParseOhms(text string) (Ohm, error) {
	if v, err := ParseNumber(strings.TrimSpace(text), true); err == nil {
		return Ohm(v), nil
	}
	return ParseOhm(text)
}

// ParseNumber reads a plain decimal number: digits with an optional sign, one
// decimal point and an exponent. With commaOK a decimal comma is read as well;
// a number with both is refused, because which of them groups the thousands is
// a guess. Infinities, NaN, hexadecimal and digit separators are refused.
func ParseNumber(text string, commaOK bool) (float64, error) {
	t := strings.TrimSpace(text)
	if t == "" {
		return 0, fmt.Errorf("nothing where a number was expected")
	}
	t = strings.Replace(t, "−", "-", 1)
	for _, r := range t {
		if (r < '0' || r > '9') && !strings.ContainsRune("+-.,eE", r) {
			return 0, fmt.Errorf("%q is not a number", text)
		}
	}
	if strings.Contains(t, ",") {
		switch {
		case !commaOK:
			return 0, fmt.Errorf("%q has a comma; write the number with a decimal point", text)
		case strings.Contains(t, ".") || strings.Count(t, ",") > 1:
			return 0, fmt.Errorf("%q has more than one separator; write the number without grouping its thousands", text)
		}
		t = strings.Replace(t, ",", ".", 1)
	}
	v, err := strconv.ParseFloat(t, 64)
	if err != nil || math.IsInf(v, 0) {
		return 0, fmt.Errorf("%q is not a number", text)
	}
	return v, nil
}

// Digits prints v with exactly the given number of decimals. A result that
// rounds to zero has no minus sign.
func Digits(v float64, decimals int) string {
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Trim(s, "-0.") == "" {
		s = strings.TrimPrefix(s, "-")
	}
	return s
}

// Minus writes the minus sign of a printed number as a true one, for people.
func Minus(text string) string { return strings.Replace(text, "-", "−", 1) }

// Short prints v with at most the given number of decimals and no trailing
// zeros: Short(80, 2) is "80", Short(0.25, 1) is "0.2".
func Short(v float64, decimals int) string {
	s := Digits(v, decimals)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}

// Aligned prints values that stand under one another with as many decimals as
// the one that needs most, and no more than the given number.
func Aligned(values []float64, most int) []string {
	decimals := 0
	for _, v := range values {
		if _, after, _ := strings.Cut(Short(v, most), "."); len(after) > decimals {
			decimals = len(after)
		}
	}
	texts := make([]string, len(values))
	for i, v := range values {
		texts[i] = Digits(v, decimals)
	}
	return texts
}

// Round rounds v to the given number of decimals, for figures put into files:
// it takes off the last-place noise of a conversion such as 0.07 × 100.
// Values too large to have such decimals come back as they are.
func Round(v float64, decimals int) float64 {
	p := math.Pow(10, float64(decimals))
	r := math.Round(v*p) / p
	if math.IsInf(r, 0) || math.IsNaN(r) {
		return v
	}
	if r == 0 {
		return 0 // not -0
	}
	return r
}
