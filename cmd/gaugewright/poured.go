package main

import (
	"fmt"
	"strings"

	"gaugewright/internal/curve"
	"gaugewright/internal/doubt"
	"gaugewright/internal/quantity"
)

// poured reads what is stated of how marks in litres or kilograms came about.
// Weighed marks are turned into litres where a density is given. It gives nil
// where nothing is stated.
func (in doubtInput) poured(sheet *curve.Sheet) (*curve.Pouring, error) {
	if in.Measure == "" && in.PourDoubt == "" && in.PourScale == "" && in.Density == "" {
		return nil, nil
	}
	var each, common float64 // standard uncertainties: m³ or kg, and a part
	if in.Measure != "" {
		instrument, err := curve.InstrumentNamed(in.Measure)
		if err != nil {
			return nil, fmt.Errorf("--measure: %w", err)
		}
		if instrument.Weighs != (sheet.Unit == curve.Mass) {
			return nil, fmt.Errorf("--measure %s gives %s, and the marks are in %s", in.Measure, massOrVolume(instrument.Weighs), sheet.Unit.Symbol())
		}
		each, common = instrument.Doubts()
	}
	if in.PourDoubt != "" {
		half, err := pourHalf(in.PourDoubt, sheet.Unit)
		if err != nil {
			return nil, err
		}
		each = doubt.Rectangular(half)
	}
	if in.PourScale != "" {
		share, err := quantity.ParseShare(in.PourScale)
		if err != nil || share < 0 || share > 0.5 {
			return nil, fmt.Errorf("--pour-scale %q isn't a share of what was poured; write it like 1%%, 0 to 50", in.PourScale)
		}
		common = doubt.Rectangular(float64(share))
	}
	if in.Density != "" {
		density, err := parseDensity(in.Density)
		if err != nil {
			return nil, err
		}
		if sheet.Unit != curve.Mass {
			return nil, fmt.Errorf("--density turns marks in kilograms into litres, and the marks are in %s", sheet.Unit.Symbol())
		}
		for i := range sheet.Readings {
			sheet.Readings[i].Mark /= density.Value
		}
		sheet.Unit = curve.Volume
		each /= density.Value
		common = doubt.Combine(common, density.U/density.Value)
	}
	if sheet.Unit != curve.Volume {
		return nil, fmt.Errorf("--measure, --pour-doubt and --pour-scale are for marks in litres, or in kilograms with --density; the marks are in %s", sheet.Unit.Symbol())
	}
	marks := make([]float64, len(sheet.Readings))
	for i, r := range sheet.Readings {
		marks[i] = r.Mark
	}
	p, err := curve.PouredTo(marks, 0, 0, quantity.CubicMetre(each), common)
	if err != nil {
		return nil, err
	}
	return &p, nil
}

func massOrVolume(weighs bool) string {
	if weighs {
		return "kilograms"
	}
	return "litres"
}

// pourHalf reads how far off a pour may be, in the unit of the marks inside.
func pourHalf(text string, unit curve.MarkUnit) (float64, error) {
	var half float64
	if unit == curve.Mass {
		v, err := quantity.ParseKilogram(text)
		if err != nil {
			return 0, fmt.Errorf("--pour-doubt %w", err)
		}
		half = float64(v)
	} else {
		v, err := quantity.ParseCubicMetre(text)
		if err != nil {
			return 0, fmt.Errorf("--pour-doubt %w", err)
		}
		half = float64(v)
	}
	if half < 0 {
		return 0, fmt.Errorf("--pour-doubt %q can't be below zero", text)
	}
	return half, nil
}

// parseDensity reads "0.998kg/L" or "0.998±0.002kg/L" (a half-width).
func parseDensity(text string) (curve.Density, error) {
	number, found := strings.CutSuffix(strings.TrimSpace(text), "kg/L")
	value, half, _ := strings.Cut(number, "±")
	v, err := quantity.ParseNumber(value, true)
	h := 0.0
	if err == nil && half != "" {
		h, err = quantity.ParseNumber(half, true)
	}
	if !found || err != nil || !(v >= 0.3 && v <= 3) || !(h >= 0 && h < v) {
		return curve.Density{}, fmt.Errorf("--density %q isn't a liquid's; write it like 0.998kg/L or 0.998±0.002kg/L, 0.3 to 3", text)
	}
	return curve.Density{Value: v * 1000, U: doubt.Rectangular(h * 1000)}, nil
}
