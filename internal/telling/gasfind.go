package telling

import (
	"fmt"
	"math"
	"strings"

	"gaugewright/internal/contents"
	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
)

// Weigh works out mass and heat from the liquid and, where the capacity is known,
// from the vapour above it.
func (r *Gas) Weigh() error {
	capacity := r.Capacity
	if capacity == 0 {
		capacity = r.Liquid // the liquid alone
	}
	var err error
	if r.LiquidKg, r.VapourKg, err = r.Mix.Mass(r.Liquid, capacity, r.Kelvin); err != nil {
		return err
	}
	net, gross := r.Mix.Heating()
	r.Net, r.Gross = net*r.Kilograms(), gross*r.Kilograms()
	return nil
}

// Warm follows the same mass through the temperatures, and says when the tank
// would be full of liquid and whether it is filled above what is permitted. The
// capacity has to be known.
func (r *Gas) Warm() ([]finding.Finding, error) {
	var out []finding.Finding
	stock, err := r.Mix.StockOf(r.Liquid, r.Capacity, r.Kelvin)
	if err != nil {
		return nil, err
	}
	full, ok, err := stock.FullAt()
	if err != nil {
		return nil, err
	}
	if ok {
		r.FullAt = full
		out = append(out, finding.Finding{Kind: "liquid-full", Weight: finding.Note,
			Text: fmt.Sprintf("With what is in it the tank would be full of liquid at %s, and its pressure would then rise by several bar for each further degree: keep it from heat. This is no limit to fill up to.",
				quantity.Kelvin(math.Floor(full-273.15)+273.15))})
	}
	r.Levels = nil
	for _, celsius := range []float64{-20, -10, 0, 15, 30, 45} {
		state, err := stock.At(celsius + 273.15)
		if err != nil {
			return nil, err
		}
		r.Levels = append(r.Levels, GasLevel{Kelvin: celsius + 273.15, Share: quantity.Share(float64(state.LiquidVolume) / float64(r.Capacity))})
	}
	if share := quantity.Share(r.Liquid / r.Capacity); share > r.Permitted*(1+1e-9) {
		out = append(out, finding.Finding{Kind: "overfull", Weight: finding.Bad,
			Text: fmt.Sprintf("The tank is filled to %s, above the permitted %s. Don't fill it further, keep it from warming, use it until it is below, and have someone licensed see to it if it got there by filling.",
				quantity.Share(math.Ceil(float64(share)*1000-1e-9)/1000), r.Permitted)})
	}
	return out, nil
}

// Offtake holds what the tank can give as vapour against what burns it. Capacity
// and liquid have to be above nothing.
func (r Gas) Offtake(supply contents.Supply, load contents.Load) (contents.Give, finding.Finding, error) {
	fail := func(err error) (contents.Give, finding.Finding, error) {
		return contents.Give{}, finding.Finding{}, err
	}
	wetted, err := contents.WettedLying(float64(r.Capacity), float64(r.Liquid/r.Capacity))
	if err != nil {
		return fail(err)
	}
	pure := max(r.Mix.Propane, r.Mix.NButane, r.Mix.Isobutane) > 1-1e-9
	give, err := contents.Offtake{Ambient: r.Kelvin, Wetted: contents.Exactly(wetted), Mixed: !pure, NetHeat: supply.NetHeat,
		Boiling: func(kelvin float64) (pressure, heat float64, err error) {
			s, err := r.Mix.At(kelvin)
			return s.Pressure, s.Heat, err
		}}.Steady()
	if err != nil {
		return fail(err)
	}
	need, err := supply.Rate(load)
	if err != nil {
		return fail(err)
	}
	weight := finding.Note
	if give.Covers(need) > contents.EnoughJust {
		weight = finding.Doubt
	}
	text := give.Sentence(r.Kelvin, quantity.Share(math.Round(float64(r.Liquid/r.Capacity)*100)/100), "burner", need) +
		" It takes the tank for a lying cylinder three diameters long: " + strings.Join(give.Assumptions, "; ") + "."
	return give, finding.Finding{Kind: "offtake", Weight: weight, Text: text}, nil
}
