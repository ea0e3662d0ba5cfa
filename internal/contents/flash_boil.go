package contents

import (
	"fmt"

	"gaugewright/internal/quantity"
)

// flashBoilSteps is in how many steps vapour is drawn.
const flashBoilSteps = 256

// Boil gives the stock after so many kilograms of vapour have been drawn from it
// at a constant temperature in K, from [MinTemperature] to [MaxTemperature]: what
// leaves has at each moment the composition of the vapour, so that the rest
// becomes richer in butane and its pressure falls (Rayleigh's distillation, with
// the vapour space). Solved in small steps of the fourth order; the mass drawn is
// met exactly. Taking more than there is, is refused.
//
// A tank that is drawn from hard gets colder, which is not reckoned with.
func (s Stock) Boil(kg, kelvin float64) (Stock, error) {
	if err := s.check(); err != nil {
		return Stock{}, err
	}
	if err := lpgTemperature(kelvin, MinTemperature, MaxTemperature); err != nil {
		return Stock{}, err
	}
	if err := lpgMass(kg); err != nil {
		return Stock{}, err
	}
	all := s.Kg()
	switch {
	case kg > all:
		return Stock{}, fmt.Errorf("%s kg can't be drawn from a tank that holds %s kg", quantity.Short(kg, 3), quantity.Short(all, 3))
	case kg == all:
		return Stock{Tank: s.Tank}, nil
	case kg == 0:
		return s, nil
	}
	f := newFlash(s, kelvin)
	if over, _ := f.excess(0); over > 1e-12*f.tank {
		return Stock{}, fmt.Errorf("the tank is liquid-full at %s: %v of liquid in %v; nothing may be drawn from it that way",
			lpgCelsius(kelvin), s.Tank+quantity.CubicMetre(over), s.Tank)
	}
	now := s.parts()
	step := kg / flashBoilSteps
	for range flashBoilSteps {
		k1 := f.drawn(now)
		k2 := f.drawn(flashLess(now, k1, step/2))
		k3 := f.drawn(flashLess(now, k2, step/2))
		k4 := f.drawn(flashLess(now, k3, step))
		for i := range now {
			now[i] = max(0, now[i]-step/6*(k1[i]+2*k2[i]+2*k3[i]+k4[i]))
		}
	}
	left := (all - kg) / (now[lpgPropane] + now[lpgNButane] + now[lpgIsobutane])
	return Stock{s.Tank, now[lpgPropane] * left, now[lpgNButane] * left, now[lpgIsobutane] * left}, nil
}

func flashLess(now, rate [lpgParts]float64, kg float64) [lpgParts]float64 {
	for i := range now {
		now[i] = max(0, now[i]-kg*rate[i])
	}
	return now
}

// drawn gives the mass fractions of the vapour over these masses.
func (f *flash) drawn(kg [lpgParts]float64) [lpgParts]float64 {
	g := *f
	g.reference = 0
	total := 0.0
	for i := range kg {
		g.moles[i] = kg[i] / eosFluids[i].molar
		g.reference += g.moles[i] * g.pressure[i]
		total += g.moles[i]
	}
	g.reference /= total
	vapour := kg
	if most, _ := g.excess(1); most > 0 {
		u := 0.0
		if least, _ := g.excess(0); least < 0 {
			u = g.split()
		}
		// n pˢ / (1 + β pˢ), whose ratios hold at u = 0 too.
		for i, n := range g.moles {
			if n == 0 {
				continue
			}
			ratio := g.pressure[i] / g.reference
			vapour[i] = n * ratio / (1 - u + u*ratio) * eosFluids[i].molar
		}
	}
	m := lpgWeighed(vapour)
	return m.parts()
}
