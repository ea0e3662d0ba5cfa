package contents

import (
	"fmt"

	"gaugewright/internal/quantity"
)

// MixDensities gives the densities of LPG for [Fill] and [Docket]; see [Mix.At].
func MixDensities(m Mix) Densities {
	return func(kelvin float64) (liquid, vapour float64, err error) {
		s, err := m.At(kelvin)
		return s.Liquid, s.Vapour, err
	}
}

// MatterDensities gives the densities of another liquid, the middle of what they
// may be; its vapour counts for nothing. Litres to fill hardly depend on them,
// kilograms by as much as the density itself is uncertain.
func MatterDensities(m Matter) Densities {
	return func(kelvin float64) (liquid, vapour float64, err error) {
		d, err := m.Density(quantity.Kelvin(kelvin))
		return d.Mid, 0, err
	}
}

// MixBoiling gives the pressure and heat of vaporisation of LPG for [Offtake];
// see [Mix.At].
func MixBoiling(m Mix) Boiling {
	return func(kelvin float64) (pressure, heat float64, err error) {
		s, err := m.At(kelvin)
		return s.Pressure, s.Heat, err
	}
}

// MixSupply gives LPG that is left, in kg, as a supply: liquid and vapour
// together, with what of it can't be drawn, see [MixHeel].
func MixSupply(m Mix, left Known, heel Between) (Supply, error) {
	at15, err := m.At(fillingAt15)
	if err != nil {
		return Supply{}, err
	}
	net, gross := m.Heating()
	s := Supply{Name: "gas", By: ByKilograms, Left: left, Heel: heel, Density: at15.Liquid, NetHeat: net, GrossHeat: gross}
	return s, s.Check()
}

// MixHeel gives what can't be drawn of LPG once the liquid is gone, in kg: the
// vapour that fills a tank of a water capacity, m³, at the pressure that the
// regulator needs, Pa absolute (0: Atmosphere + UsualInlet), at a temperature in
// K. The low end takes it for an ideal gas at that temperature, the high end for
// saturated vapour, which is colder and denser. What boils off last is taken to
// be of the composition of the mixture.
//
// Liquid that is too cold to boil isn't in it: see [Offtake.Steady].
func MixHeel(m Mix, capacity, kelvin, needed float64) (Between, error) {
	if !(capacity > 0 && capacity <= 1e4) {
		return Between{}, fmt.Errorf("the water capacity is %g L; expected above 0, up to 1e7 L", capacity*1000)
	}
	if _, err := m.At(kelvin); err != nil {
		return Between{}, err
	}
	o := Offtake{Ambient: kelvin, Needed: needed, Boiling: MixBoiling(m)}
	if err := o.offtakeCheck(); err != nil {
		return Between{}, err
	}
	coldest, _, err := o.offtakeColdest()
	if err != nil {
		return Between{}, err
	}
	const gasConstant = 8.314462618 // J/(mol·K), CODATA 2018, exact to its digits
	s, err := m.At(coldest)
	if err != nil {
		return Between{}, err
	}
	ideal := o.offtakeNeeded() * m.MolarMass() / (gasConstant * max(kelvin, coldest))
	return Between{capacity * min(ideal, s.Vapour), capacity * max(ideal, s.Vapour)}, nil
}

// fillingGrossFuel is the gross heating value of diesel and petrol in parts of
// the net one (from memory; 1.06 to 1.07).
const fillingGrossFuel = 1.065

// MatterSupply gives another liquid that is left, in m³ at a temperature in K,
// as a supply. A heating value is taken at its middle: that of a fuel is known
// to one or two percent.
func MatterSupply(m Matter, left Known, heel Between, kelvin float64) (Supply, error) {
	d, err := m.Density(quantity.Kelvin(kelvin))
	if err != nil {
		return Supply{}, err
	}
	s := Supply{Name: m.Title, By: ByCubicMetres, Left: left, Heel: heel, Density: d.Mid, NetHeat: m.Net.Mid, GrossHeat: fillingGrossFuel * m.Net.Mid}
	return s, s.Check()
}
