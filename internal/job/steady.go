package job

import (
	"gaugewright/internal/contents"
	"gaugewright/internal/gauge"
	"gaugewright/internal/quantity"
)

// Draw is what the loads of a tank take of it, in liquid.
type Draw struct {
	// Steady is the greatest rate at which they can draw for hours without a pause,
	// m³/s; 0 where none of them can.
	Steady float64
	// Low and High are what they take in a day, m³, with everything at its least and
	// everything at its most; both 0 where none is stated.
	Low, High float64
}

// longRun is from how many hours a day on a load is taken to run for hours without a
// pause: fridges, heaters and lamps do, hobs, taps and showers don't (common practice,
// no source).
const longRun = 4

// Drawing says what the tank's loads take of it. A load that is counted by the day or
// by the use has no rate of its own and adds nothing to Steady. The error says what
// isn't known.
func (t Tank) Drawing() (Draw, error) {
	loads, err := t.Draws()
	if err != nil || len(loads) == 0 {
		return Draw{}, err
	}
	supply, perUnit, err := t.liquid()
	if err != nil {
		return Draw{}, err
	}
	var d Draw
	for _, l := range loads {
		day, err := supply.PerDay(l)
		if err != nil {
			return Draw{}, err
		}
		d.Low += day.Low * perUnit
		d.High += day.High * perUnit
		if l.Kind > contents.CubicMetresPerSecond || l.HoursPerDay.High < longRun {
			continue
		}
		rate, err := supply.Rate(l)
		if err != nil {
			return Draw{}, err
		}
		d.Steady += rate.High * perUnit
	}
	return d, nil
}

// liquid gives the tank as a supply of which nothing is left, and how many m³ of
// liquid one unit of it is. Of gas each kilogram that is drawn lets 1/(ρ_L − ρ_V) m³
// of the liquid go, as vapour stays in its place.
func (t Tank) liquid() (contents.Supply, float64, error) {
	if t.Contents == Waste || t.Contents == Other || t.Contents == "" {
		supply := contents.Supply{Name: string(t.Contents), By: contents.ByCubicMetres, Density: 1000 * t.DensityKgL}
		return supply, 1, supply.Check()
	}
	s, err := t.Substance()
	if err != nil {
		return contents.Supply{}, 0, err
	}
	heel, _ := t.Heel()
	supply, err := s.supply(gauge.Amount{}, max(t.capacity(), quantity.CubicMetre(1e-3)), heel, t.Kelvin())
	if err != nil || supply.By != contents.ByKilograms {
		return supply, 1, err
	}
	m, err := s.At(t.Kelvin())
	return supply, 1 / (m.Liquid - m.Vapour), err
}
