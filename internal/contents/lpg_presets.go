package contents

import (
	"fmt"
	"strings"
)

// PresetMix is a mixture under the name that a fuel standard or the trade uses,
// with a sentence on what of it the standard fixes and what is assumed.
type PresetMix struct {
	Name string
	Mix  Mix
	Note string
}

// Presets gives all there are. None says what is really in a tank: a delivery
// note does, or an analysis.
func Presets() []PresetMix {
	return []PresetMix{
		{"propane", lpgPreset(NewMix, 1, 0, 0), "pure propane; what is sold under the name has other parts in it"},
		{"butane", lpgPreset(NewMix, 0, 1, 0), "pure n-butane; what is sold under the name has isobutane and some propane in it"},
		{"isobutane", lpgPreset(NewMix, 0, 0, 1), "pure isobutane"},
		{"G30", lpgPreset(MixByMoles, 0, 0.5, 0.5), "test gas of EN 437: equal volumes of n-butane and isobutane as gas (from memory)"},
		{"G31", lpgPreset(MixByMoles, 1, 0, 0), "test gas of EN 437: propane (from memory)"},
		{"HD-5", lpgPreset(MixByVolume, 0.95, 0.05, 0), "special-duty propane of ASTM D1835: the standard fixes at least 90 % propane by liquid volume, and little else than propene and butanes (from memory); 95 % propane and 5 % n-butane by volume are assumed"},
		{"commercial propane", lpgPreset(NewMix, 0.90, 0.07, 0.03), "ASTM D1835 limits the vapour pressure and not the composition (from memory); 90 % propane, 7 % n-butane and 3 % isobutane by mass are assumed"},
		{"commercial butane", lpgPreset(NewMix, 0.10, 0.63, 0.27), "ASTM D1835 limits the vapour pressure and not the composition (from memory); 10 % propane, 63 % n-butane and 27 % isobutane by mass are assumed"},
		{"EN 589 winter", lpgPreset(NewMix, 0.60, 0.28, 0.12), "EN 589 fixes at least 20 % propane by mass and a vapour pressure by season (from memory); 60 % propane, 28 % n-butane and 12 % isobutane by mass are assumed, which is common practice, no source"},
		{"EN 589 summer", lpgPreset(NewMix, 0.40, 0.42, 0.18), "EN 589 fixes at least 20 % propane by mass and a vapour pressure by season (from memory); 40 % propane, 42 % n-butane and 18 % isobutane by mass are assumed, which is common practice, no source"},
	}
}

// Preset gives the mixture of a name and its note. Case doesn't matter; an
// unknown name is refused with those there are.
func Preset(name string) (Mix, string, error) {
	var names []string
	for _, p := range Presets() {
		if strings.EqualFold(p.Name, strings.Join(strings.Fields(name), " ")) {
			return p.Mix, p.Note, nil
		}
		names = append(names, p.Name)
	}
	return Mix{}, "", fmt.Errorf("no gas is known by the name %.40q; expected one of: %s", name, strings.Join(names, ", "))
}

func lpgPreset(make func(a, b, c float64) (Mix, error), propane, nButane, isobutane float64) Mix {
	m, err := make(propane, nButane, isobutane)
	if err != nil {
		panic("contents: " + err.Error())
	}
	return m
}
