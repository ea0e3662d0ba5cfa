package contents

import (
	"fmt"

	"gaugewright/internal/quantity"
)

// waterGravity is standard gravity in m/s², exact by definition (3rd CGPM, 1901). The pull of
// the earth differs from it by up to 0.3 % from place to place.
const waterGravity = 9.80665

// Where the formulas for water hold, and where one takes over from the other,
// in °C.
const (
	waterColdest = 0.0
	waterJoin    = 40.0
	waterHottest = 100.0
)

// WaterDensity gives the density of pure water without dissolved air at
// 101.325 kPa, in kg/m³, from 0 to 100 °C; outside that an error. Water that is
// colder and still liquid is refused: it is about to freeze.
//
// Up to 40 °C it is the formula recommended by the CIPM: M. Tanaka, G. Girard,
// R. Davis, A. Peuto, N. Bignell, Metrologia 38 (2001) 301-309. From there it is
// that of G. S. Kell, J. Chem. Eng. Data 20 (1975) 97-105, equation 16, scaled
// by 1.000003 so that the two meet: Kell took 999.972 kg/m³ for the greatest
// density, which is 999.975. The whole is within 0.002 kg/m³ of IAPWS-95.
//
// Dissolved air takes off up to 0.005 kg/m³ (from memory), the salts of tap
// water add some 0.1 to 0.5 kg/m³ and a metre of depth 0.005 kg/m³ (common
// practice, no source); none of that shows on a gauge.
func WaterDensity(at quantity.Kelvin) (float64, error) {
	t := at.Celsius()
	if err := waterInRange(t); err != nil {
		return 0, err
	}
	if t <= waterJoin {
		return waterCIPM(t), nil
	}
	return waterKell(t) * waterScale, nil
}

// waterScale makes the formulas meet.
var waterScale = waterCIPM(waterJoin) / waterKell(waterJoin)

// waterSlack is what rounding may put a temperature off an end of the range.
const waterSlack = 1e-9

func waterInRange(celsius float64) error {
	switch {
	case celsius < waterColdest-waterSlack:
		return fmt.Errorf("water at %s is ice or about to be; expected 0 to 100 °C", matterCelsius(celsius))
	case !(celsius <= waterHottest+waterSlack):
		return fmt.Errorf("water at %s boils; expected 0 to 100 °C", matterCelsius(celsius))
	}
	return nil
}

// waterCIPM is equation 1 of Tanaka and others, with t in °C (ITS-90).
func waterCIPM(t float64) float64 {
	return 999.974950 * (1 - (t-3.983035)*(t-3.983035)*(t+301.797)/(522528.9*(t+69.34881)))
}

// waterKell is equation 16 of Kell, whose temperatures are of 1968: t68 =
// 1.00024 t90 between 0 and 100 °C (P. Saunders, as used for sea water by
// UNESCO; from memory).
func waterKell(t float64) float64 {
	t *= 1.00024
	n := 999.83952 + t*(16.945176+t*(-7.9870401e-3+t*(-46.170461e-6+t*(105.56302e-9-280.54253e-12*t))))
	return n / (1 + 16.879850e-3*t)
}

// WaterExpansion gives by what part of itself a quantity of water grows from one
// temperature to another; negative where it shrinks. It is densest at 4 °C, and
// so grows from there both ways.
func WaterExpansion(from, to quantity.Kelvin) (quantity.Share, error) {
	first, err := WaterDensity(from)
	if err != nil {
		return 0, err
	}
	last, err := WaterDensity(to)
	if err != nil {
		return 0, err
	}
	return quantity.Share(first/last - 1), nil
}

// HeadPerMetre gives the pressure that a metre of a liquid of a density in kg/m³
// puts on what is below it, in Pa/m: ρ·g with g = 9.80665 m/s². The metre is
// upright; along a tilted tank it counts by the cosine of the tilt.
func HeadPerMetre(density float64) float64 { return density * waterGravity }
