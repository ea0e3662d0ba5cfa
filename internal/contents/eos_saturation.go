package contents

import (
	"fmt"
	"math"
)

// eosBottom is the lowest temperature of the saturation lines, K: -45 °C, some
// way below what anybody may ask for.
const eosBottom = 228.15

// eosSaturation is a pure fluid where its liquid and its vapour are in balance.
type eosSaturation struct {
	pressure       float64 // Pa
	liquid, vapour float64 // kg/m³
	heat           float64 // of vaporisation, J/kg
}

// saturation finds the two densities at which pressure and Gibbs energy are
// equal (Maxwell's condition), by Newton's method with both derivatives, until
// a step changes neither by more than 1e-13 of itself; rounding in the vapour
// pressure then stays near 1e-12. It holds from eosBottom to the fluid's top;
// asking for anything else is a programmer's slip and panics.
//
// In terms of the reduced density δ the conditions are
//
//	δ (1 + δ α')            equal in both phases (pressure / ρc R T)
//	δ α' + α + ln δ         equal in both phases (Gibbs energy / R T)
func (f *eosFluid) saturation(kelvin float64) eosSaturation {
	const slack = 1e-6
	if !(kelvin >= eosBottom-slack && kelvin <= f.top+slack) {
		panic(fmt.Sprintf("contents: saturation of %s at %v K; its line is from %v to %v K", f.name, kelvin, eosBottom, f.top))
	}
	a := f.at(kelvin)
	liquid, vapour := f.guess(kelvin)
	for range 50 {
		l, v := a.residual(liquid), a.residual(vapour)
		balance := liquid*(1+l.d) - vapour*(1+v.d)
		gibbs := l.d + l.a + math.Log(liquid) - v.d - v.a - math.Log(vapour)
		// Derivatives with respect to the logarithms of the densities.
		pl, pv := liquid*(1+2*l.d+l.dd), vapour*(1+2*v.d+v.dd)
		gl, gv := 1+2*l.d+l.dd, 1+2*v.d+v.dd
		det := pv*gl - pl*gv
		stepL := (balance*gv - gibbs*pv) / det
		stepV := (balance*gl - gibbs*pl) / det
		// A long step is cut, so that a guess can't throw a phase to the other
		// side.
		cut := max(1, math.Abs(stepL)/0.2, math.Abs(stepV)/0.5)
		liquid *= math.Exp(stepL / cut)
		vapour *= math.Exp(stepV / cut)
		if math.Abs(stepL) < 1e-13 && math.Abs(stepV) < 1e-13 {
			l, v = a.residual(liquid), a.residual(vapour)
			rt := eosGas * kelvin
			return eosSaturation{
				pressure: vapour * (1 + v.d) * f.density * rt,
				liquid:   liquid * f.density * f.molar,
				vapour:   vapour * f.density * f.molar,
				heat:     rt / f.molar * (v.tau + v.d - l.tau - l.d),
			}
		}
	}
	panic(fmt.Sprintf("contents: the saturation of %s at %v K was not found", f.name, kelvin))
}

// guess gives reduced densities to begin with. Sums of powers of 1 - T/Tc in
// steps of a third are the usual form for saturation densities.
func (f *eosFluid) guess(kelvin float64) (liquid, vapour float64) {
	theta := math.Cbrt(1 - kelvin/f.critical)
	l, v := f.liquid, f.vapour
	t2, t4 := theta*theta, theta*theta*theta*theta
	liquid = 1 + l[0]*theta + l[1]*t2 + l[2]*theta*t2 + l[3]*t4
	vapour = math.Exp(v[0]*theta + v[1]*t2 + v[2]*t4 + v[3]*t4*t4)
	return liquid, vapour
}

// compressed gives the density in kg/m³ of the liquid at a temperature and a
// pressure in Pa at or above the saturation pressure, beginning with a density
// near it.
func (a *eosIsotherm) compressed(pressure, begin float64) float64 {
	unit := a.fluid.density * a.fluid.molar
	delta := begin / unit
	for range 60 {
		p, slope := a.pressure(delta)
		step := (pressure - p) / slope
		step = max(-0.1*delta, min(0.1*delta, step))
		delta += step
		if math.Abs(step) < 1e-13*delta {
			break
		}
	}
	return delta * unit
}
