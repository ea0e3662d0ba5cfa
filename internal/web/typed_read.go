package web

import (
	"math"
	"strings"

	"gaugewright/internal/quantity"
	"gaugewright/internal/wording"
)

// number reads a number of a field within limits; "" gives 0 and false. The unit
// may follow it.
func (f *typed) number(name, unit string, least, most float64) (float64, bool) {
	text := f.text(name)
	if text == "" {
		return 0, false
	}
	v, err := quantity.ParseNumber(strings.TrimSpace(strings.TrimSuffix(text, unit)), true)
	if err != nil || !(v >= least && v <= most) {
		f.blame(name, "found %q; expected %s to %s%s", wording.Clip(text, 40), quantity.Short(least, 3), quantity.Short(most, 3), unitAfter(unit))
		return 0, false
	}
	return v, true
}

func unitAfter(unit string) string {
	if unit == "" || unit == "°" {
		return unit
	}
	return " " + unit
}

// length reads a length in mm; a plain number is in millimetres. Around it, as in
// "C 942 mm", may be measured in the place of across it where that is allowed.
func (f *typed) length(name string, around bool) (float64, bool) {
	text := f.text(name)
	if text == "" {
		return 0, false
	}
	plain, divide := text, 1.0
	if rest, ok := strings.CutPrefix(strings.ToLower(text), "c"); ok && around {
		plain, divide = strings.TrimSpace(rest), math.Pi
	}
	if v, err := quantity.ParseNumber(plain, true); err == nil {
		return quantity.Round(v/divide, 9), true
	}
	m, err := quantity.ParseMetre(plain)
	if err != nil {
		f.blame(name, "%v; millimetres may be written without it", err)
		return 0, false
	}
	return quantity.Round(float64(m)*1000/divide, 9), true
}

// litres reads a volume in L; a plain number is in the unit that the job is shown
// in. A field that stands as it was kept gives what was kept.
func (f *typed) litres(name string, u quantity.Units, kept float64) (float64, bool) {
	text := f.text(name)
	switch {
	case text == "":
		return 0, false
	case f.same(name) && kept > 0:
		return kept, true
	}
	if _, err := quantity.ParseNumber(text, true); err == nil {
		text += unitOfVolume(u)
	}
	v, err := quantity.ParseCubicMetre(text)
	if err != nil {
		f.blame(name, "%v", err)
		return 0, false
	}
	litres := quantity.Round(float64(v)*1000, 9)
	if !(litres > 0 && litres <= 1e6) {
		f.blame(name, "found %q; expected more than nothing, up to 1000000 L", wording.Clip(f.text(name), 40))
		return 0, false
	}
	return litres, true
}

func unitOfVolume(u quantity.Units) string {
	_, unit := u.VolumeIn(0)
	return unit
}

// volumeField writes litres for a field, in the shown unit.
func volumeField(litres float64, u quantity.Units) string {
	if litres == 0 {
		return ""
	}
	v, _ := u.VolumeIn(quantity.CubicMetre(litres / 1000))
	return quantity.Short(v, 4)
}

// celsius reads a temperature in °C; a plain number is in the shown unit.
func (f *typed) celsius(name string, u quantity.Units, kept *float64) *float64 {
	text := f.text(name)
	switch {
	case text == "":
		return nil
	case f.same(name) && kept != nil:
		return kept
	}
	if _, err := quantity.ParseNumber(text, true); err == nil {
		_, unit := u.TemperatureIn(0)
		text += strings.TrimPrefix(unit, "°")
	}
	k, err := quantity.ParseKelvin(text)
	if err != nil {
		f.blame(name, "%v", err)
		return nil
	}
	c := quantity.Round(k.Celsius(), 9)
	return &c
}

func celsiusField(c *float64, u quantity.Units) string {
	if c == nil {
		return ""
	}
	v, _ := u.TemperatureIn(quantity.Celsius(*c))
	return quantity.Short(v, 2)
}

// figureField writes a figure for a field; nothing for nothing.
func figureField(v float64) string {
	if v == 0 {
		return ""
	}
	return quantity.Short(v, 9)
}
