package contents

import (
	"fmt"

	"gaugewright/internal/quantity"
)

// At divides the stock into liquid and vapour at a temperature in K, from
// [MinTemperature] to [Stock.Limit]; another is refused. Each part's mass is
// kept; the rules are those of [Mix].
//
// With so little in the tank that all of it is vapour, LiquidVolume is 0. With so
// much that the liquid fills the tank, Full is set, and Pressure follows from the
// parts' own equations for the compressed liquid, each put under the same rise
// above its saturation pressure; that rise goes to 35 MPa, beyond which the stock
// is refused with the volume that is wanting.
func (s Stock) At(kelvin float64) (State, error) {
	if err := s.check(); err != nil {
		return State{}, err
	}
	if err := lpgTemperature(kelvin, MinTemperature, s.Limit()); err != nil {
		return State{}, err
	}
	if s.Kg() == 0 {
		return State{T: kelvin}, nil
	}
	f := newFlash(s, kelvin)
	// A hair, so that a tank filled to the brim is full in spite of rounding.
	const hair = 1e-12
	if least, _ := f.excess(0); least >= -hair*f.tank {
		return s.full(&f, max(least, 0))
	}
	if most, _ := f.excess(1); most <= 0 {
		return s.allVapour(&f), nil
	}
	u := f.split()
	st := State{T: kelvin}
	var vapour [lpgParts]float64
	for i, above := range f.vapourMoles(u) {
		below := max(0, f.moles[i]-above)
		molar := eosFluids[i].molar
		vapour[i] = above * molar
		st.VapourKg += above * molar
		st.LiquidKg += below * molar
		st.LiquidVolume += quantity.CubicMetre(below * f.liquid[i])
	}
	st.LiquidVolume = min(s.Tank, st.LiquidVolume)
	st.Pressure = f.bubble(u)
	st.Liquid, st.Vapour = f.liquidMix(u), lpgWeighed(vapour)
	return st, nil
}

// liquidShares gives the mole fractions of the liquid. They hold good to the
// last drop, where the amounts themselves are differences of next to nothing.
func (f *flash) liquidShares(u float64) (x [lpgParts]float64) {
	sum := 0.0
	for i, n := range f.moles {
		if n == 0 {
			continue
		}
		x[i] = n / (1 - u + u*f.pressure[i]/f.reference)
		sum += x[i]
	}
	for i := range x {
		x[i] /= sum
	}
	return x
}

func (f *flash) bubble(u float64) float64 {
	p := 0.0
	for i, x := range f.liquidShares(u) {
		p += x * f.pressure[i]
	}
	return p
}

func (f *flash) liquidMix(u float64) Mix {
	x := f.liquidShares(u)
	for i := range x {
		x[i] *= eosFluids[i].molar
	}
	return lpgWeighed(x)
}

// allVapour is the state with no liquid. The departure of each part from an
// ideal gas goes with the pressure, so that
// Z = 1 + p Σ y (Zˢ - 1) / pˢ = p V / n RT, which is linear in p.
func (s Stock) allVapour(f *flash) State {
	total, departure := 0.0, 0.0
	for i, n := range f.moles {
		if n == 0 {
			continue
		}
		total += n
		departure += n * (f.z[i] - 1) / f.pressure[i]
	}
	ideal := eosGas * f.kelvin / f.tank
	return State{
		T: f.kelvin, VapourKg: s.Kg(), Vapour: lpgWeighed(s.parts()),
		Pressure: total * ideal / (1 - ideal*departure),
	}
}

// flashMostRise is the greatest rise above saturation that the equations are
// used for, Pa. That of isobutane was made for pressures up to 35 MPa.
const flashMostRise = 35e6

// full is the state with no vapour. over is what the liquid at saturation has
// more than the tank, m³.
func (s Stock) full(f *flash, over float64) (State, error) {
	st := State{T: f.kelvin, LiquidVolume: s.Tank, LiquidKg: s.Kg(), Full: true, Liquid: lpgWeighed(s.parts())}
	var isotherms [lpgParts]*eosIsotherm
	for i, n := range f.moles {
		if n > 0 {
			isotherms[i] = eosFluids[i].at(f.kelvin)
		}
	}
	volume := func(rise float64) float64 {
		v := 0.0
		for i, n := range f.moles {
			if n > 0 {
				molar := eosFluids[i].molar
				v += n * molar / isotherms[i].compressed(f.pressure[i]+rise, molar/f.liquid[i])
			}
		}
		return v
	}
	low, high := 0.0, flashMostRise
	if volume(high) > f.tank {
		return State{}, fmt.Errorf("%s kg can't be in a tank of %v: at %s they are %v as liquid, %v too much",
			quantity.Short(s.Kg(), 3), s.Tank, lpgCelsius(f.kelvin), s.Tank+quantity.CubicMetre(over), quantity.CubicMetre(over))
	}
	if over > 0 {
		for high-low > 1 { // 1 Pa
			if middle := (low + high) / 2; volume(middle) > f.tank {
				low = middle
			} else {
				high = middle
			}
		}
	}
	st.Pressure = f.bubble(0) + low
	return st, nil
}

// FullAt gives the temperature in K at which the stock becomes liquid-full, the
// vapour's mass counted. ok is false where that is above [Stock.Limit], or never,
// because there is so little that it evaporates first. A stock that is
// liquid-full at [MinTemperature] already is refused.
//
// With mixtures the liquid is taken for slightly too light (see [Mix]), so that
// they become full a little later than said; above 60 °C that has no check outside.
func (s Stock) FullAt() (kelvin float64, ok bool, err error) {
	if err := s.check(); err != nil {
		return 0, false, err
	}
	over := func(kelvin float64) float64 {
		v := 0.0
		for i, kg := range s.parts() {
			if kg > 0 {
				rho, _ := eosLines()[i].density(kelvin)
				v += kg / rho
			}
		}
		return v - float64(s.Tank)
	}
	low, high := MinTemperature, s.Limit()
	if o := over(low); o >= 0 {
		return 0, false, fmt.Errorf("%s kg are %v as liquid at %s, and the tank has %v: %v too much at any temperature that LPG is reckoned at",
			quantity.Short(s.Kg(), 3), s.Tank+quantity.CubicMetre(o), lpgCelsius(low), s.Tank, quantity.CubicMetre(o))
	}
	if over(high) < 0 {
		return 0, false, nil
	}
	for high-low > 1e-9 {
		if middle := (low + high) / 2; over(middle) < 0 {
			low = middle
		} else {
			high = middle
		}
	}
	return low, true, nil
}
