package contents

import (
	"fmt"

	"gaugewright/internal/quantity"
)

// Measured gives the same liquid with the density of what is really in the
// tank, in kg/m³ at the temperature at which it was measured; with an error for
// a temperature that Density refuses, and for a density that is more than a
// fifth away from what it usually is there.
func (m Matter) Measured(density float64, at quantity.Kelvin) (Matter, error) {
	usual, err := m.Density(at)
	if err != nil {
		return Matter{}, err
	}
	if !(density >= 0.8*usual.Low && density <= 1.2*usual.High) {
		return Matter{}, fmt.Errorf("the density of the %s is %g kg/m³ at %s; expected about %.0f to %.0f kg/m³, so look at the figure, its unit and what is in the tank",
			m.Title, density, at, usual.Low, usual.High)
	}
	base := density
	switch m.law {
	case matterAsFuel:
		if base, err = FuelBase(density, at); err != nil {
			return Matter{}, err
		}
		m.BaseAt = quantity.Celsius(fuelBase)
	default:
		// Kept where it was measured, so that it doesn't lean on the law.
		m.BaseAt = at
	}
	m.Base, m.Mark = matterExactly(base), "measured"
	m.Cautions = append([]string(nil), m.Cautions...)
	if slack := 1e-9 * density; density < usual.Low-slack || density > usual.High+slack {
		m.Cautions = append(m.Cautions, fmt.Sprintf("A density of %.0f kg/m³ at %s isn't usual for %s, which has %.0f to %.0f: make sure of what is in the tank.",
			density, at, m.Title, usual.Low, usual.High))
	}
	return m, nil
}

// Head gives the pressure of a metre of it at a temperature, in Pa/m, as
// [HeadPerMetre] does.
func (m Matter) Head(at quantity.Kelvin) (Range, error) {
	d, err := m.Density(at)
	return d.each(HeadPerMetre), err
}

// Mass gives what a volume of it weighs at a temperature, in kg.
func (m Matter) Mass(v quantity.CubicMetre, at quantity.Kelvin) (Range, error) {
	d, err := m.Density(at)
	return d.each(func(d float64) float64 { return d * float64(v) }), err
}

// Volume gives what room a mass of it takes at a temperature, in m³.
func (m Matter) Volume(mass quantity.Kilogram, at quantity.Kelvin) (Range, error) {
	d, err := m.Density(at)
	if err != nil {
		return Range{}, err
	}
	return d.each(func(d float64) float64 { return float64(mass) / d }), nil
}

// Heat gives the net heat of burning a volume of it that was measured at a
// temperature, in J; zero for what doesn't burn. Density and heating value are
// taken at their ends together, so that the range is wide rather than narrow.
func (m Matter) Heat(v quantity.CubicMetre, at quantity.Kelvin) (Range, error) {
	w, err := m.Mass(v, at)
	return Range{w.Low * m.Net.Low, w.Mid * m.Net.Mid, w.High * m.Net.High}, err
}
