package gauge

import (
	"fmt"

	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
)

// Density is what a cubic metre of the contents weighs, in kg/m³: of the liquid,
// above 0, and of the vapour over it, 0 where it counts for nothing.
type Density struct{ Liquid, Vapour float64 }

// Mass gives what is in a tank of a capacity when a part of it, 0..1, is liquid:
//
//	m = ρ_L·V_L + ρ_V·(V − V_L)
func (d Density) Mass(capacity quantity.CubicMetre, share float64) quantity.Kilogram {
	return quantity.Kilogram(float64(capacity) * (d.Vapour + share*(d.Liquid-d.Vapour)))
}

// Weighed is the filling of marks in kilograms: all that is in the tank, liquid
// and vapour. So 0 is no liquid and nothing over it; a tank that has given all
// of its liquid still holds the vapour.
//
// It is an error where the capacity isn't known (0), and where the densities
// can't be those of a liquid and its vapour.
func Weighed(capacity quantity.CubicMetre, d Density) (scale.Filling, error) {
	if !(capacity > 0) {
		return scale.Filling{}, fmt.Errorf("marks in kg tell how full a tank is only with its water capacity; state it")
	}
	if !(d.Liquid > 0 && d.Vapour >= 0 && d.Vapour < d.Liquid) {
		return scale.Filling{}, fmt.Errorf("densities of %g kg/m³ for the liquid and %g kg/m³ for the vapour: the liquid is the heavier one, and neither is below 0", d.Liquid, d.Vapour)
	}
	words := "by the kilograms weighed"
	if d.Vapour > 0 {
		words += ", liquid and vapour"
	}
	return scale.Straight(float64(d.Mass(capacity, 0)), float64(d.Mass(capacity, 1)), capacity, words), nil
}
