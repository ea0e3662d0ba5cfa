package circuit

import (
	"fmt"
	"math"
	"strings"

	"gaugewright/internal/quantity"
)

// Metal is what a wire is made of.
type Metal string

// The metals known here.
const (
	Copper    Metal = "copper"        // plain annealed copper
	Tinned    Metal = "tinned copper" // annealed copper strands coated with tin
	Aluminium Metal = "aluminium"
)

// Constants of the metals at 20 °C.
const (
	// CopperResistivity is that of the annealed copper standard, 1/58 Ω·mm²/m, in
	// Ω·m. Source: IEC 60028.
	CopperResistivity = 1e-6 / 58
	// CopperTempco is its temperature coefficient at 20 °C and constant mass, 1/K.
	// Source: IEC 60028.
	CopperTempco = 0.00393
	// aluminiumResistivity and aluminiumTempco are those of hard-drawn aluminium
	// wire, IEC 60889 (from memory).
	aluminiumResistivity = 0.028264e-6
	aluminiumTempco      = 0.00403
)

const roomKelvin = 293.15 // 20 °C, the reference temperature of IEC 60028 and 60228

type metalConstants struct {
	rho, alpha float64
	// excess is how much more than ρ/A a wire may have: tin coating takes a part of
	// the section, up to 3 % by the two columns of IEC 60228's table.
	excess float64
}

var metals = map[Metal]metalConstants{
	Copper:    {CopperResistivity, CopperTempco, 1},
	Tinned:    {CopperResistivity, CopperTempco, 1.03},
	Aluminium: {aluminiumResistivity, aluminiumTempco, 1},
}

func (m metalConstants) factor(kelvin float64) float64 { return 1 + m.alpha*(kelvin-roomKelvin) }

// TempFactor gives by how much the resistance of copper at a temperature in K
// is larger than at 20 °C: 1 + 0.00393 (T − 20 °C). Source: IEC 60028.
func TempFactor(kelvin float64) float64 { return metals[Copper].factor(kelvin) }

// class5 is the maximum resistance of flexible conductors, IEC 60228:2004, table
// 3, class 5: size in mm², Ω/km at 20 °C with plain and with metal-coated strands.
var class5 = []struct{ size, plain, tinned float64 }{
	{0.5, 39.0, 40.1}, {0.75, 26.0, 26.7}, {1, 19.5, 20.0}, {1.5, 13.3, 13.7},
	{2.5, 7.98, 8.21}, {4, 4.95, 5.09}, {6, 3.30, 3.39}, {10, 1.91, 1.95},
}

// Sizes gives the areas of IEC 60228, class 5, that are chosen from here, in m²,
// the smallest first: 0.5 to 10 mm².
func Sizes() []float64 {
	list := make([]float64, len(class5))
	for i, c := range class5 {
		list[i] = c.size * 1e-6
	}
	return list
}

// AWG gives the diameter in m and the area in m² of a solid wire of a gauge
// number: d = 0.127 mm · 92^((36 − n)/39). The numbers 00, 000 and 0000 are −1,
// −2 and −3; −3 to 40 are taken. Source: ASTM B258.
func AWG(n int) (diameter, area float64, err error) {
	if n < -3 || n > 40 {
		return 0, 0, fmt.Errorf("AWG number %d; expected 40 to 0, or -1 to -3 for 00 to 0000", n)
	}
	diameter = 0.127e-3 * math.Pow(92, float64(36-n)/39)
	return diameter, math.Pi / 4 * diameter * diameter, nil
}

// ParseArea reads the area of a wire in m²: "0.75mm2", "0.75 mm²", "AWG 18",
// "18AWG" or "AWG 2/0". An area in mm² may have a decimal comma. It gives AWG
// true for a gauge number, whose wire is taken as [Solid].
func ParseArea(text string) (area float64, awg bool, err error) {
	const expected = `expected a wire size such as "0.75mm2" or "AWG 18"`
	t := strings.ToLower(strings.TrimSpace(text))
	if number, ok := strings.CutPrefix(t, "awg"); ok {
		return parseAWG(text, number, expected)
	}
	if number, ok := strings.CutSuffix(t, "awg"); ok {
		return parseAWG(text, number, expected)
	}
	for _, unit := range []string{"mm2", "mm²", "mm^2"} {
		number, ok := strings.CutSuffix(t, unit)
		if !ok {
			continue
		}
		v, err := quantity.ParseNumber(number, true)
		if err != nil {
			return 0, false, fmt.Errorf("%q: %w; %s", text, err, expected)
		}
		if v < 0.005 || v > 1000 {
			return 0, false, fmt.Errorf("%q is out of range; expected 0.005 to 1000 mm²", text)
		}
		return v * 1e-6, false, nil
	}
	return 0, false, fmt.Errorf("%q has no unit known here; %s", text, expected)
}

func parseAWG(text, number, expected string) (float64, bool, error) {
	number = strings.TrimSpace(strings.TrimPrefix(strings.TrimSpace(number), "#"))
	n := 0
	switch number {
	case "00", "2/0":
		n = -1
	case "000", "3/0":
		n = -2
	case "0000", "4/0":
		n = -3
	case "1/0":
	default:
		v, err := quantity.ParseNumber(number, false)
		if err != nil {
			return 0, false, fmt.Errorf("%q: %w; %s", text, err, expected)
		}
		if v != math.Trunc(v) || v < 0 || v > 40 {
			return 0, false, fmt.Errorf("%q is no AWG number known here; expected a whole number from 0 to 40, or 2/0, 3/0 or 4/0", text)
		}
		n = int(v)
	}
	_, area, err := AWG(n)
	return area, true, err
}
