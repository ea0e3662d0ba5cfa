package contents

import (
	"fmt"
	"math"

	"gaugewright/internal/quantity"
)

// Where the volume correction holds: densities at 15 °C in kg/m³ as table 54B
// has them, and temperatures in °C as the tables of national authorities use
// it.
const (
	fuelLightest = 653.0
	fuelDensest  = 1075.0
	fuelColdest  = -40.0
	fuelHottest  = 90.0
	fuelBase     = 15.0
)

// VolumeCorrection gives the volume correction factor of a petroleum product:
// what a litre of it at a temperature comes to in litres at 15 °C, and so also
// its density there over that at 15 °C. base is the density at 15 °C, from 653
// to 1075 kg/m³, and the temperature from −40 to +90 °C; outside that an error.
//
// It is the formula of table 54B, generalised products, of API MPMS chapter
// 11.1 (1980), the same as ASTM D1250 and ISO 91-1:
//
//	VCF = exp(−α·Δt·(1 + 0.8·α·Δt)),  Δt = t − 15 °C
//
// without the rounding of intermediate figures that trade by volume asks for.
// The coefficients are from memory and agree with public transcriptions; the
// factors are held to published tables by the tests. Mixtures with much
// alcohol or plant oil aren't what the formula was fitted to, and neither are
// pure hydrocarbons. The later edition of the chapter, of 2004, has other
// coefficients for 60 °F and differs by a few parts in a hundred thousand (from
// memory).
func VolumeCorrection(base float64, at quantity.Kelvin) (float64, error) {
	if !(base >= fuelLightest && base <= fuelDensest) {
		return 0, fmt.Errorf("the density at 15 °C is %g kg/m³; expected %g to %g kg/m³ for a petroleum product", base, fuelLightest, fuelDensest)
	}
	t := at.Celsius()
	if !(t >= fuelColdest-waterSlack && t <= fuelHottest+waterSlack) {
		return 0, fmt.Errorf("the temperature is %s; the volume correction of fuels holds from %s to %s", matterCelsius(t), matterCelsius(fuelColdest), matterCelsius(fuelHottest))
	}
	return fuelFactor(base, t), nil
}

func fuelFactor(base, celsius float64) float64 {
	x := fuelAlpha(base) * (celsius - fuelBase)
	return math.Exp(-x * (1 + 0.8*x))
}

// fuelAlpha is the thermal expansion at 15 °C in 1/K by the density there. From
// group to group it steps by 0.1 % of itself at most.
func fuelAlpha(base float64) float64 {
	switch r2 := base * base; {
	case base < 770.5: // petrol
		return 346.4228/r2 + 0.4388/base
	case base < 787.5: // between petrol and kerosene
		return 2680.3206/r2 - 0.00336312
	case base < 838.5: // kerosene and light diesel
		return 594.5418 / r2
	default: // diesel and fuel oil
		return 186.9696/r2 + 0.4862/base
	}
}

// FuelDensity gives the density in kg/m³ of a petroleum product at a temperature
// from its density at 15 °C, by [VolumeCorrection].
func FuelDensity(base float64, at quantity.Kelvin) (float64, error) {
	f, err := VolumeCorrection(base, at)
	return base * f, err
}

// FuelBase is the other way round: the density at 15 °C of a petroleum product
// whose density was measured at a temperature, such as with a hydrometer (whose
// glass grows too little to matter here). Temperatures as for
// [VolumeCorrection]; a density that no product has there is an error.
func FuelBase(density float64, at quantity.Kelvin) (float64, error) {
	low, err := FuelDensity(fuelLightest, at)
	if err != nil {
		return 0, err
	}
	high, err := FuelDensity(fuelDensest, at)
	if err != nil {
		return 0, err
	}
	if !(density >= low && density <= high) {
		return 0, fmt.Errorf("the density at %s is %g kg/m³; expected %.0f to %.0f kg/m³ for a petroleum product", at, density, math.Ceil(low), math.Floor(high))
	}
	// Halving needs no slope, and the steps between groups don't trouble it.
	from, to := fuelLightest, fuelDensest
	for range 60 {
		mid := from + (to-from)/2
		if mid*fuelFactor(mid, at.Celsius()) < density {
			from = mid
		} else {
			to = mid
		}
	}
	return from + (to-from)/2, nil
}
