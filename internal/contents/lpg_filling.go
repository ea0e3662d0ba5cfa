package contents

import (
	"fmt"
	"math"

	"gaugewright/internal/quantity"
)

const (
	// AutomotiveFill is the share of the water capacity at which the filling of
	// a vehicle's LPG tank has to stop by itself: UN Regulation 67, 80 % with a
	// tolerance of +0/-5 % (from memory). Leisure tanks go by the same figure
	// (common practice).
	AutomotiveFill quantity.Share = 0.80

	// lpg60F is 60 °F in K, and lpgWater60F the density of water there that
	// relative densities are taken against, kg/m³: the value of ISO 91 and of
	// the API tables (from memory).
	lpg60F      = (60.0-32)*5/9 + 273.15
	lpgWater60F = 999.016

	// lpgLargeTank is 1200 US gallons of 3.785411784 L.
	lpgLargeTank = 1200 * 3.785411784e-3
)

// RelativeDensity gives the density of the liquid at 60 °F by that of water at
// 60 °F, the figure by which filling densities are tabulated.
func (m Mix) RelativeDensity() float64 {
	m.must()
	return m.saturated(lpg60F).Liquid / lpgWater60F
}

// lpgFillingRow is a row of the table of filling densities: relative densities
// in thousandths from the first, until the next row begins; then per cent of the
// mass of water for tanks above ground up to 1200 US gallons, above that, and
// underground.
type lpgFillingRow struct{ from, small, large, under int }

// The table of maximum filling densities of 29 CFR 1910.110(b)(12), which is
// that of NFPA 58; read in a copy of a state's code. lpgFillingEnd is the last
// relative density of its last row.
var lpgFillingRows = []lpgFillingRow{
	{496, 41, 44, 45}, {504, 42, 45, 46}, {511, 43, 46, 47}, {520, 44, 47, 48},
	{528, 45, 48, 49}, {537, 46, 49, 50}, {545, 47, 50, 51}, {553, 48, 51, 52},
	{561, 49, 52, 53}, {569, 50, 53, 54}, {577, 51, 54, 55}, {585, 52, 55, 56},
	{593, 53, 56, 57},
}

const lpgFillingEnd = 600

// FillingDensity gives the most that may be filled into a stationary tank or a
// cylinder by 29 CFR 1910.110 and NFPA 58: the mass of the LPG by the mass of
// water at 60 °F that the tank holds. The relative density is that at 60 °F, see
// [Mix.RelativeDensity], size is the water capacity.
//
// The table goes in thousandths; a relative density between two of them counts
// as the lower, which permits less. One outside 0.496 to 0.600 is refused. The
// 45 and 46 % columns are permissions for installed tanks; local rules may be
// stricter, and vehicle tanks have their stop at [AutomotiveFill] besides.
func FillingDensity(relativeDensity float64, size quantity.CubicMetre, underground bool) (quantity.Share, error) {
	if err := lpgTank(size); err != nil {
		return 0, err
	}
	// A hair, so that 0.504 × 1000 is not taken for less than 504.
	thousandths := math.Floor(relativeDensity*1000 + 1e-9)
	if !(thousandths >= float64(lpgFillingRows[0].from) && relativeDensity <= lpgFillingEnd/1e3+1e-12) {
		return 0, fmt.Errorf("the relative density is %v; the table of filling densities goes from 0.496 to 0.600", relativeDensity)
	}
	row := lpgFillingRows[0]
	for _, r := range lpgFillingRows {
		if float64(r.from) <= thousandths {
			row = r
		}
	}
	percent := row.small
	switch {
	case underground:
		percent = row.under
	case float64(size) > lpgLargeTank:
		percent = row.large
	}
	return quantity.Share(percent) / 100, nil
}

// VolumeOfFilling gives the share of the water capacity that a mass has as
// liquid at a temperature in K, the mass stated as a filling density: by the
// mass of water at 60 °F that the tank holds. The vapour over the liquid is not
// taken off, as in the rules' own arithmetic. It may come out above 1, and is
// then no filling at all. Temperatures are judged as by [Mix.At].
func (m Mix) VolumeOfFilling(density quantity.Share, kelvin float64) (quantity.Share, error) {
	s, err := m.At(kelvin)
	if err != nil {
		return 0, err
	}
	if !(density >= 0 && density <= 1) {
		return 0, fmt.Errorf("the filling density is %v; it is from 0 to 1", float64(density))
	}
	return density * quantity.Share(lpgWater60F/s.Liquid), nil
}

// RoadFilling gives the greatest mass per water capacity that ADR 4.3.3.2.2
// lets be carried in a tank, kg/m³: 95 % of the liquid's density at 50 °C, and
// not so much that the tank is liquid-full at 60 °C. Divide by 1000 for kg per
// litre. For the pure gases ADR P200 tabulates the figures to two decimals
// (propane 0.42 to 0.43, from memory).
func (m Mix) RoadFilling() float64 {
	m.must()
	return min(0.95*m.saturated(323.15).Liquid, m.saturated(333.15).Liquid)
}
