package contents

import (
	"fmt"
	"math"

	"gaugewright/internal/quantity"
)

// Saturated is LPG with its vapour over it, in balance, while the liquid has
// the composition of the [Mix]: just filled, or the vapour space small.
type Saturated struct {
	T        float64 // K
	Pressure float64 // of the vapour, Pa absolute
	Liquid   float64 // density of the liquid, kg/m³
	Vapour   float64 // density of the vapour over it, kg/m³
	// Heat is what it takes to evaporate what boils off first, J/kg of it.
	Heat float64
	// VapourMoles are the mole fractions of the vapour: propane, n-butane,
	// isobutane.
	VapourMoles [3]float64
	// Boils is the vapour by mass fractions: what boils off first.
	Boils Mix
}

// At gives the properties at a temperature in K, from [MinTemperature] to
// [MaxTemperature]; another is refused. How good they are stands at [Mix].
func (m Mix) At(kelvin float64) (Saturated, error) {
	if err := m.check(); err != nil {
		return Saturated{}, err
	}
	if err := lpgTemperature(kelvin, MinTemperature, MaxTemperature); err != nil {
		return Saturated{}, err
	}
	return m.saturated(kelvin), nil
}

func (m Mix) saturated(kelvin float64) Saturated {
	s := Saturated{T: kelvin}
	x, _ := m.moles()
	lines := eosLines()
	var volume, z float64
	var kg [lpgParts]float64
	for i, w := range m.parts() {
		if w == 0 {
			continue
		}
		p := lines[i].at(kelvin)
		volume += w / p.liquid
		partial := x[i] * p.pressure
		s.Pressure += partial
		s.VapourMoles[i] = partial
		molar := eosFluids[i].molar
		z += x[i] * p.pressure * molar / (p.vapour * eosGas * kelvin)
		kg[i] = partial * molar
		s.Heat += kg[i] * p.heat
	}
	molarVapour := 0.0
	for i := range s.VapourMoles {
		s.VapourMoles[i] /= s.Pressure
		molarVapour += s.VapourMoles[i] * eosFluids[i].molar
	}
	s.Boils = lpgWeighed(kg)
	s.Heat /= kg[lpgPropane] + kg[lpgNButane] + kg[lpgIsobutane]
	s.Liquid = 1 / volume
	s.Vapour = s.Pressure * molarVapour / (z * eosGas * kelvin)
	return s
}

// LiquidExpansion gives the relative growth of the liquid's volume per kelvin,
// 1/K, while it stays in balance with its vapour. Temperatures are judged as by
// [Mix.At].
func (m Mix) LiquidExpansion(kelvin float64) (float64, error) {
	if err := m.check(); err != nil {
		return 0, err
	}
	if err := lpgTemperature(kelvin, MinTemperature, MaxTemperature); err != nil {
		return 0, err
	}
	var volume, growth float64
	for i, w := range m.parts() {
		rho, slope := eosLines()[i].density(kelvin)
		volume += w / rho
		growth -= w * slope / (rho * rho)
	}
	return growth / volume, nil
}

// Litres15 gives the volume that so many kilograms have as liquid at 15 °C, the
// temperature at which LPG is sold by volume (common practice). A mass below 0
// or not a number is refused.
func (m Mix) Litres15(kg float64) (quantity.CubicMetre, error) {
	if err := m.check(); err != nil {
		return 0, err
	}
	if err := lpgMass(kg); err != nil {
		return 0, err
	}
	return quantity.CubicMetre(kg / m.saturated(lpg15).Liquid), nil
}

// Mass gives the mass of a closed tank's contents: of so much liquid of this
// composition, and of the vapour over it. A liquid volume below 0 or beyond the
// tank is refused, and temperatures as by [Mix.At].
func (m Mix) Mass(liquid, tank quantity.CubicMetre, kelvin float64) (liquidKg, vapourKg float64, err error) {
	s, err := m.At(kelvin)
	if err != nil {
		return 0, 0, err
	}
	if err := lpgVolumes(liquid, tank); err != nil {
		return 0, 0, err
	}
	return s.Liquid * float64(liquid), s.Vapour * float64(tank-liquid), nil
}

// lpgVolumes judges a liquid volume in a tank.
func lpgVolumes(liquid, tank quantity.CubicMetre) error {
	if err := lpgTank(tank); err != nil {
		return err
	}
	switch {
	case math.IsNaN(float64(liquid)) || math.IsInf(float64(liquid), 0):
		return fmt.Errorf("the volume of the liquid is not a number; give one from 0 to the tank's %v", tank)
	case liquid < 0:
		return fmt.Errorf("the volume of the liquid is %v; it can't be below 0", liquid)
	case liquid > tank:
		return fmt.Errorf("%v of liquid is %v more than the tank's water capacity of %v", liquid, liquid-tank, tank)
	}
	return nil
}

func lpgTank(tank quantity.CubicMetre) error {
	if !(tank > 0) || math.IsInf(float64(tank), 0) {
		return fmt.Errorf("the tank's water capacity is %v m³; it has to be above 0", float64(tank))
	}
	return nil
}

func lpgMass(kg float64) error {
	switch {
	case math.IsNaN(kg) || math.IsInf(kg, 0):
		return fmt.Errorf("the mass is not a number; give one in kg")
	case kg < 0:
		return fmt.Errorf("the mass is %v kg; it can't be below 0", kg)
	}
	return nil
}
