package contents

import (
	"errors"
	"fmt"
	"math"

	"gaugewright/internal/quantity"
)

// Stock is what a closed tank holds: the mass of each part in kg, liquid and
// vapour together, and the tank's water capacity. It stays the same while the
// temperature changes and nothing goes in or out. Make one with [Mix.StockOf] or
// [Mix.StockOfMass].
//
// The tank is taken as rigid: a steel tank widens by some 0.004 % per kelvin,
// a fiftieth of what the liquid does or less (from memory).
type Stock struct {
	Tank                        quantity.CubicMetre
	Propane, NButane, Isobutane float64
}

// State is how a [Stock] is divided at a temperature.
type State struct {
	T            float64 // K
	LiquidVolume quantity.CubicMetre
	LiquidKg     float64
	VapourKg     float64
	// Pressure is the tank's, Pa absolute. In a tank that is liquid-full it is
	// that of the compressed liquid in a tank that doesn't give.
	Pressure float64
	// Full says that the tank is liquid-full: no vapour is left to give way, and
	// each further kelvin adds several bar. No tank may come near it.
	Full bool
	// Liquid and Vapour are what the two are made of; one that isn't there is
	// the zero Mix.
	Liquid, Vapour Mix
}

// StockOf gives the stock of a tank in which so much liquid of this composition
// stands, with the vapour over it in balance. A liquid volume below 0 or beyond
// the tank is refused, and temperatures as by [Mix.At].
func (m Mix) StockOf(liquid, tank quantity.CubicMetre, kelvin float64) (Stock, error) {
	s, err := m.At(kelvin)
	if err != nil {
		return Stock{}, err
	}
	if err := lpgVolumes(liquid, tank); err != nil {
		return Stock{}, err
	}
	below, above := s.Liquid*float64(liquid), s.Vapour*float64(tank-liquid)
	return Stock{
		Tank:      tank,
		Propane:   below*m.Propane + above*s.Boils.Propane,
		NButane:   below*m.NButane + above*s.Boils.NButane,
		Isobutane: below*m.Isobutane + above*s.Boils.Isobutane,
	}, nil
}

// StockOfMass gives the stock of a tank that holds so many kilograms of this
// composition, liquid and vapour together. A mass that isn't room for as liquid
// at the temperature is refused, with the volume that is wanting; temperatures
// as by [Mix.At].
func (m Mix) StockOfMass(kg float64, tank quantity.CubicMetre, kelvin float64) (Stock, error) {
	liquid, err := m.At(kelvin)
	if err != nil {
		return Stock{}, err
	}
	if err := errors.Join(lpgMass(kg), lpgTank(tank)); err != nil {
		return Stock{}, err
	}
	if needs := quantity.CubicMetre(kg / liquid.Liquid); needs > tank {
		return Stock{}, fmt.Errorf("%s kg can't be in a tank of %v: at %s they are %v as liquid, %v too much",
			quantity.Short(kg, 3), tank, lpgCelsius(kelvin), needs, needs-tank)
	}
	return Stock{tank, kg * m.Propane, kg * m.NButane, kg * m.Isobutane}, nil
}

// LevelAt gives the state of a tank that holds so many kilograms of this
// composition, liquid and vapour together: [Mix.StockOfMass] and [Stock.At] in
// one.
func (m Mix) LevelAt(kg float64, tank quantity.CubicMetre, kelvin float64) (State, error) {
	s, err := m.StockOfMass(kg, tank, kelvin)
	if err != nil {
		return State{}, err
	}
	return s.At(kelvin)
}

func (s Stock) parts() [lpgParts]float64 {
	return [lpgParts]float64{s.Propane, s.NButane, s.Isobutane}
}

// Kg gives the whole mass, kg.
func (s Stock) Kg() float64 { return s.Propane + s.NButane + s.Isobutane }

// Limit gives the highest temperature that this stock can be reckoned at, K:
// 95 °C with propane in it, which has its critical point at 96.7 °C, and 125 °C
// without.
func (s Stock) Limit() float64 {
	limit := math.Inf(1)
	for i, kg := range s.parts() {
		if kg > 0 {
			limit = min(limit, eosFluids[i].top)
		}
	}
	if math.IsInf(limit, 1) {
		return eosFluids[lpgPropane].top
	}
	return limit
}

// check says what is wrong with a stock.
func (s Stock) check() error {
	if err := lpgTank(s.Tank); err != nil {
		return err
	}
	for i, kg := range s.parts() {
		if err := lpgMass(kg); err != nil {
			return fmt.Errorf("%s in the tank: %w", eosFluids[i].name, err)
		}
	}
	return nil
}

// flash is a stock at one temperature, ready to be divided.
type flash struct {
	kelvin, tank float64
	moles        [lpgParts]float64
	// Of each part: the saturation pressure; the molar volume of its liquid,
	// m³/mol; and the compressibility factor of its vapour, all at saturation.
	pressure, liquid, z [lpgParts]float64
	// reference is a pressure between the least and the greatest.
	reference float64
}

func newFlash(s Stock, kelvin float64) flash {
	f := flash{kelvin: kelvin, tank: float64(s.Tank)}
	lines := eosLines()
	total := 0.0
	for i, kg := range s.parts() {
		if kg == 0 {
			continue
		}
		molar := eosFluids[i].molar
		sat := lines[i].at(kelvin)
		f.moles[i] = kg / molar
		f.pressure[i] = sat.pressure
		f.liquid[i] = molar / sat.liquid
		f.z[i] = sat.pressure * molar / (sat.vapour * eosGas * kelvin)
		f.reference += f.moles[i] * sat.pressure
		total += f.moles[i]
	}
	f.reference /= total
	return f
}

// excess gives by how much liquid and vapour together would fill more than the
// tank, m³, if the vapour had u of a part whose saturation pressure is the
// reference; and the derivative.
//
// With L moles of liquid in all and a vapour of volume V, Raoult's law and the
// compressibility factor Σ x Z put x pˢ V / (Σ x Z RT) moles of a part into the
// vapour. So the vapour has β pˢ times what the liquid has of it, with one β =
// V / (L Σ x Z RT) for all parts, and of n moles n / (1 + β pˢ) are liquid. The
// liquid's volume is Σ n v / (1 + β pˢ) and the vapour's β RT Σ n Z / (1 + β pˢ):
// each part adds its own, and adds the more the greater β is, because its vapour
// takes more room than its liquid. One unknown, and one root.
// u = β p₀ / (1 + β p₀) brings β from 0…∞ to 0…1.
func (f *flash) excess(u float64) (volume, slope float64) {
	rt := eosGas * f.kelvin
	for i, n := range f.moles {
		if n == 0 {
			continue
		}
		ratio := f.pressure[i] / f.reference
		vapour := rt * f.z[i] / f.reference
		below := 1 - u + u*ratio
		above := (1-u)*f.liquid[i] + u*vapour
		volume += n * above / below
		slope += n * (vapour - f.liquid[i]*ratio) / (below * below)
	}
	return volume - f.tank, slope
}

// split finds u: Newton's method held in a bracket that closes. The caller has
// seen that there is a root.
func (f *flash) split() float64 {
	low, high := 0.0, 1.0
	atLow, _ := f.excess(0)
	atHigh, _ := f.excess(1)
	u := -atLow / (atHigh - atLow) // exact for a pure one
	for range 200 {
		v, slope := f.excess(u)
		if v > 0 {
			high = u
		} else {
			low = u
		}
		next := u - v/slope
		if !(next > low && next < high) {
			next = (low + high) / 2
		}
		if math.Abs(next-u) <= 1e-16 || next == u {
			return next
		}
		u = next
	}
	return u
}

// vapourMoles gives how much of each part is vapour.
func (f *flash) vapourMoles(u float64) (n [lpgParts]float64) {
	for i, all := range f.moles {
		if all == 0 {
			continue
		}
		ratio := f.pressure[i] / f.reference
		n[i] = all * u * ratio / (1 - u + u*ratio)
	}
	return n
}
