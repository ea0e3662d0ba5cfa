package contents

import (
	"fmt"
	"math"

	"gaugewright/internal/quantity"
)

// The temperatures between which the properties of LPG are given, in K: -40 °C
// and +60 °C.
const (
	MinTemperature = 233.15
	MaxTemperature = 333.15
)

// lpg15 is the temperature at which litres of LPG are sold and compared, K.
const lpg15 = 288.15

// Mix is liquefied petroleum gas by what its LIQUID is made of: mass fractions
// that add up to 1. Make one with [NewMix], [MixByVolume], [MixByMoles] or
// [Preset].
//
// A mixture is reckoned from its pure parts by ideal rules:
//
//   - liquid volumes add up;
//   - the pressure is that of the bubble point by Raoult's law, p = Σ x pˢ, and
//     the vapour over the liquid has the mole fractions y = x pˢ / p (Dalton);
//   - a part's departure from an ideal gas goes with the pressure, and is at its
//     own saturation pressure what its own equation says there; the departures
//     of the parts add up by mole fractions. The compressibility factor of the
//     vapour over a liquid is then Σ x Z, with each part's Z at its saturation;
//   - nothing is lost or gained in heat by mixing.
//
// For a pure substance that is exact. Against GERG-2008 (O. Kunz, W. Wagner,
// J. Chem. Eng. Data 57 (2012) 3032-3091) put on the same equations for the pure
// parts, mixtures of propane with butanes come out like this, and a test holds
// them to it:
//
//	                                     -40 °C   15 °C   40 °C   60 °C
//	pressure too high by up to            1.7 %   3.4 %   4.6 %   5.7 %
//	liquid too light by up to             0.2 %   0.5 %   0.9 %   1.7 %
//	vapour too heavy by up to             1.6 %   3.4 %   4.6 %   6.3 %
//	propane in 100 moles of vapour too
//	much by up to                         1.4     3.6     5.4     7.2
//
// and the butanes with one another within 0.4 % in pressure and 0.12 % in the
// liquid's density. So a mixture of so many kilograms stands a little lower in
// the tank than said here, and becomes liquid-full a little later; in frost it
// has a little less pressure. Real LPG also has some propene, ethane and other
// parts, which are not reckoned with.
type Mix struct{ Propane, NButane, Isobutane float64 }

// NewMix gives the mixture with these mass fractions of the liquid. Fractions
// below 0 (but for rounding) or not numbers are refused, and so is a sum that is off 1 by more than
// 0.001; what is off by less is taken for rounding and put right.
func NewMix(propane, nButane, isobutane float64) (Mix, error) {
	w, err := lpgFractions([lpgParts]float64{propane, nButane, isobutane}, "mass")
	if err != nil {
		return Mix{}, err
	}
	return Mix{w[lpgPropane], w[lpgNButane], w[lpgIsobutane]}, nil
}

// MixByVolume gives the mixture with these fractions of the liquid volume, the
// parts measured each by itself at 15 °C. Input is judged as by [NewMix].
func MixByVolume(propane, nButane, isobutane float64) (Mix, error) {
	v, err := lpgFractions([lpgParts]float64{propane, nButane, isobutane}, "volume")
	if err != nil {
		return Mix{}, err
	}
	lines := eosLines()
	for i := range v {
		rho, _ := lines[i].density(lpg15)
		v[i] *= rho
	}
	return lpgWeighed(v), nil
}

// MixByMoles gives the mixture with these mole fractions of the liquid, which
// are also the fractions by volume of the gas once all of it has evaporated, as
// standards for test gases state them. Input is judged as by [NewMix].
func MixByMoles(propane, nButane, isobutane float64) (Mix, error) {
	x, err := lpgFractions([lpgParts]float64{propane, nButane, isobutane}, "mole")
	if err != nil {
		return Mix{}, err
	}
	for i := range x {
		x[i] *= eosFluids[i].molar
	}
	return lpgWeighed(x), nil
}

// lpgFractions judges fractions, and puts their sum right.
func lpgFractions(f [lpgParts]float64, of string) ([lpgParts]float64, error) {
	sum := 0.0
	for i, v := range f {
		switch {
		case math.IsNaN(v) || math.IsInf(v, 0):
			return f, fmt.Errorf("the %s fraction of %s is not a number; give one from 0 to 1", of, eosFluids[i].name)
		case v < 0 && v > -1e-12: // what 1 less the others leaves of nothing
			f[i] = 0
		case v < 0:
			return f, fmt.Errorf("the %s fraction of %s is %v; it can't be below 0", of, eosFluids[i].name, v)
		}
		sum += v
	}
	const off = 0.001 + 1e-12 // three rounded decimals, and the rounding of the sum itself
	if math.Abs(sum-1) > off {
		return f, fmt.Errorf("the %s fractions add up to %s; they have to make 1 (propane %v, n-butane %v, isobutane %v)",
			of, quantity.Short(sum, 6), f[lpgPropane], f[lpgNButane], f[lpgIsobutane])
	}
	for i := range f {
		f[i] /= sum
	}
	return f, nil
}

// lpgWeighed gives the mixture of these masses, which are not all 0.
func lpgWeighed(kg [lpgParts]float64) Mix {
	sum := kg[lpgPropane] + kg[lpgNButane] + kg[lpgIsobutane]
	return Mix{kg[lpgPropane] / sum, kg[lpgNButane] / sum, kg[lpgIsobutane] / sum}
}

func (m Mix) parts() [lpgParts]float64 {
	return [lpgParts]float64{m.Propane, m.NButane, m.Isobutane}
}

// check says what is wrong with a mixture that no function here has made.
func (m Mix) check() error {
	for i, w := range m.parts() {
		if w < 0 {
			return fmt.Errorf("the mass fraction of %s is %v; it can't be below 0", eosFluids[i].name, w)
		}
	}
	_, err := lpgFractions(m.parts(), "mass")
	return err
}

// must panics for a mixture that can't be: a programmer's slip.
func (m Mix) must() {
	if err := m.check(); err != nil {
		panic("contents: " + err.Error())
	}
}

// moles gives the mole fractions of the liquid, and its molar mass in kg/mol.
func (m Mix) moles() (x [lpgParts]float64, molar float64) {
	per := 0.0
	for i, w := range m.parts() {
		x[i] = w / eosFluids[i].molar
		per += x[i]
	}
	for i := range x {
		x[i] /= per
	}
	return x, 1 / per
}

// MolarMass gives the mean molar mass in kg/mol. A Mix that doesn't add up to 1
// panics, here and in the other methods that give no error.
func (m Mix) MolarMass() float64 {
	m.must()
	_, molar := m.moles()
	return molar
}

// MoleFractions gives the mole fractions of the liquid: propane, n-butane,
// isobutane.
func (m Mix) MoleFractions() [3]float64 {
	m.must()
	x, _ := m.moles()
	return x
}

// lpgTemperature refuses a temperature outside the range. A hair is allowed for
// the rounding of degrees Celsius.
func lpgTemperature(kelvin, least, most float64) error {
	const hair = 1e-6
	if kelvin >= least-hair && kelvin <= most+hair {
		return nil
	}
	if math.IsNaN(kelvin) || math.IsInf(kelvin, 0) {
		return fmt.Errorf("the temperature is not a number; LPG is reckoned from %s to %s", lpgCelsius(least), lpgCelsius(most))
	}
	return fmt.Errorf("the temperature is %s; LPG is reckoned from %s to %s", lpgCelsius(kelvin), lpgCelsius(least), lpgCelsius(most))
}

func lpgCelsius(kelvin float64) string { return quantity.Short(kelvin-273.15, 2) + " °C" }
