package gauge

import (
	"math"

	"gaugewright/internal/doubt"
	"gaugewright/internal/quantity"
)

// Matter is what the contents of a tank are at one temperature. What isn't known
// is 0: without a liquid density no mass is told, and without a heating value no
// heat.
type Matter struct {
	Density
	UDensity quantity.Share // standard uncertainty of the density, in parts of it
	// Net and Gross are the heat of burning in J/kg, with the water of combustion
	// as vapour and as liquid.
	Net, Gross float64
	UHeat      quantity.Share // their standard uncertainty, in parts of them
}

// Figure is a quantity with its standard uncertainty, in the same unit.
type Figure struct{ Mid, U float64 }

// Low and High give the 95 % interval (k = 2; JCGM 100:2008, 6.3.3); nothing in a
// tank is less than nothing.
func (f Figure) Low() float64  { return max(0, f.Mid-doubt.UsualFactor*f.U) }
func (f Figure) High() float64 { return f.Mid + doubt.UsualFactor*f.U }

// Amount is what is in a tank. What isn't known is 0, with Weighs and Burns to
// tell it from nothing.
type Amount struct {
	Share  quantity.Share // the part of the water capacity that is filled
	UShare quantity.Share
	Volume Figure  // of the liquid, m³
	Mass   Figure  // of liquid and vapour, kg
	Vapour float64 // of that the vapour, kg
	Net    Figure  // heat of burning all of it, J
	Gross  Figure
	Weighs bool // the mass is known
	Burns  bool // the heat is known
}

// Amount gives what is in a tank of a water capacity when a part of it, 0..1, is
// filled, known to a standard uncertainty of that part:
//
//	V = s·V₀,  m = ρ_L·V + ρ_V·(V₀ − V),  E = m·H
//
// The doubts of the level, the density and the heating value are taken for
// independent of one another and put together by the law of propagation (JCGM
// 100:2008, 5.1.2). A capacity that isn't known (0) gives nothing but the share.
func (m Matter) Amount(capacity quantity.CubicMetre, share, u quantity.Share) Amount {
	share = min(1, max(0, share))
	v0 := float64(capacity)
	a := Amount{Share: share, UShare: u}
	a.Volume = Figure{v0 * float64(share), v0 * float64(u)}
	if !(m.Liquid > 0) || !(v0 > 0) {
		return a
	}
	a.Weighs = true
	mass := float64(m.Mass(capacity, float64(share)))
	byLevel := v0 * (m.Liquid - m.Vapour) * float64(u)
	a.Mass = Figure{mass, math.Hypot(byLevel, mass*float64(m.UDensity))}
	a.Vapour = m.Vapour * (v0 - a.Volume.Mid)
	if !(m.Net > 0) {
		return a
	}
	a.Burns = true
	heat := func(perKg float64) Figure {
		e := a.Mass.Mid * perKg
		return Figure{e, math.Hypot(a.Mass.U*perKg, e*float64(m.UHeat))}
	}
	a.Net, a.Gross = heat(m.Net), heat(m.Gross)
	return a
}

// ShareOf gives the part of the water capacity that is filled when there is a
// mass of liquid and vapour in it, in kg. It isn't held to 0..1: what comes to more
// than 1 can't be in the tank. NaN can't come of it; without a density or a
// capacity it is false.
func (m Matter) ShareOf(capacity quantity.CubicMetre, mass quantity.Kilogram) (quantity.Share, bool) {
	if !(m.Liquid > m.Vapour) || !(capacity > 0) {
		return 0, false
	}
	return quantity.Share((float64(mass)/float64(capacity) - m.Vapour) / (m.Liquid - m.Vapour)), true
}
