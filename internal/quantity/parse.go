package quantity

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// What the older units are in SI. All are exact by definition: the inch and
// the pound by the international yard and pound agreement of 1959, the US
// gallon as 231 cubic inches, the imperial gallon in litres, standard gravity
// by the 3rd CGPM of 1901.
const (
	litre           = 0.001                                 // m³
	inch            = 0.0254                                // m
	foot            = 12 * inch                             // m
	pound           = 0.45359237                            // kg
	usGallon        = 231 * inch * inch * inch              // m³, 3.785411784 L
	impGallon       = 0.00454609                            // m³
	standardGravity = 9.80665                               // m/s²
	psi             = pound * standardGravity / inch / inch // Pa, 6894.757 293 168…
)

// unit is one way to write a quantity: the text after the number, and what one
// of it is in SI.
type unit struct {
	text string
	si   float64
}

func parse(text, what, example string, units []unit) (float64, error) {
	v, u, err := split(text, what, example, units)
	if err != nil {
		return 0, err
	}
	if si := v * u.si; !math.IsInf(si, 0) {
		return si, nil
	}
	return 0, tooLarge(text, what, example)
}

// split takes text apart into its number and its unit. The unit is the longest
// one that leaves a number before it, so that the digit in "m3" isn't taken
// for one of the number's.
func split(text, what, example string, units []unit) (float64, unit, error) {
	trimmed := strings.TrimSpace(text)
	var best unit
	value := math.NaN()
	for _, u := range units {
		before, ok := strings.CutSuffix(trimmed, u.text)
		if !ok || len(u.text) <= len(best.text) {
			continue
		}
		if v, err := ParseNumber(before, true); err == nil {
			value, best = v, u
		}
	}
	if best.text != "" {
		return value, best, nil
	}
	number := strings.TrimRightFunc(trimmed, func(r rune) bool {
		return (r < '0' || r > '9') && r != '.' && r != ','
	})
	suffix := strings.TrimSpace(trimmed[len(number):])
	if _, err := ParseNumber(number, true); err != nil {
		return 0, unit{}, fmt.Errorf("%q is not %s; write it like %s", text, what, example)
	}
	if suffix == "" {
		return 0, unit{}, fmt.Errorf("%q has no unit; write %s like %s", text, what, example)
	}
	if strings.HasPrefix(suffix, "gal") && slices.ContainsFunc(units, func(u unit) bool { return strings.HasPrefix(u.text, "USgal") }) {
		return 0, unit{}, fmt.Errorf("%q doesn't say which gallon it is; write USgal (3.785 L) or impgal (4.546 L)", text)
	}
	return 0, unit{}, fmt.Errorf("%q has the unit %q; %s is written like %s", text, suffix, what, example)
}

func tooLarge(text, what, example string) error {
	return fmt.Errorf("%q is too large for %s; write it like %s", text, what, example)
}
