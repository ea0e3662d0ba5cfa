package main

import (
	"fmt"
	"io"
	"math"
	"strings"

	"gaugewright/internal/contents"
	"gaugewright/internal/finding"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/telling"
)

// print puts the report on a terminal, the answer in its first line.
func (r *gasReport) print(w io.Writer) {
	where := fmt.Sprintf("%s at %s", r.name, quantity.Minus(quantity.Kelvin(r.kelvin).String()))
	if r.asked {
		fmt.Fprintln(w, r.answer(where))
	} else {
		fmt.Fprintln(w, telling.Sentence(where))
	}
	g := telling.Grid{Head: []string{"", ""}, Left: 2}
	g.Add("liquid", quantity.Digits(r.now.Liquid, 1)+" kg/m³")
	g.Add("vapour", quantity.Digits(r.now.Vapour, 2)+" kg/m³")
	g.Add("pressure", fmt.Sprintf("%s bar, %s bar over the atmosphere", quantity.Digits(r.now.Pressure/1e5, 2), quantity.Minus(quantity.Digits((r.now.Pressure-contents.Atmosphere)/1e5, 2))))
	g.Add("heat of vaporisation", quantity.Digits(r.now.Heat/1000, 0)+" kJ/kg")
	net, gross := r.mix.Heating()
	g.Add("heating value", fmt.Sprintf("%s kWh/kg net, %s gross", quantity.Digits(net/3.6e6, 2), quantity.Digits(gross/3.6e6, 2)))
	if r.asked && r.capacity > 0 {
		g.Add("mass", fmt.Sprintf("%s kg liquid, %s kg vapour", quantity.Digits(r.liquidKg, 2), quantity.Digits(r.vapourKg, 2)))
	}
	writeGrid(w, g)
	if len(r.levels) > 0 {
		var parts []string
		for _, l := range r.levels {
			parts = append(parts, fmt.Sprintf("%s %% at %s", quantity.Digits(float64(l.share)*100, 1), quantity.Minus(quantity.Short(l.kelvin-273.15, 0)+" °C")))
		}
		fmt.Fprintln(w)
		writeWrapped(w, "", "The same mass stands at "+strings.Join(parts, ", ")+" of the water capacity.")
	}
	if r.ask != nil && !r.ask.Nothing {
		fmt.Fprintln(w)
		writeWrapped(w, "", r.ask.Sentence())
		fmt.Fprintln(w, "It may stop earlier, and none of that is a reason to fill on:")
		for _, reason := range contents.StopsEarly() {
			writeWrapped(w, "- ", fmt.Sprintf("%s (%s)", reason.Text, reason.Mark))
		}
	}
	if d := r.delivered; d != nil {
		fmt.Fprintln(w)
		litre := func(v float64) string { return quantity.Digits(v*1000, 1) + " L" }
		writeWrapped(w, "", fmt.Sprintf("The docket comes to %s kg, %s as metered at %s, %s at 15 °C, to about %s %%; it lifts the liquid by %s, %s points of the water capacity.",
			quantity.Digits(d.Kilograms, 2), litre(d.Metered), quantity.Minus(quantity.Kelvin(r.kelvin).String()), litre(d.At15),
			quantity.Digits(200*d.U, 1), litre(d.Rise), quantity.Digits(float64(d.Share)*100, 1)))
	}
	fmt.Fprintln(w)
	writeFindings(w, r.findings)
	for _, caution := range (job.Tank{Contents: job.LPG, PermittedFillPct: float64(r.permitted) * 100}).Cautions() {
		writeWrapped(w, "! ", caution)
	}
}

// answer is the fitter's question answered in one line.
func (r *gasReport) answer(where string) string {
	text := fmt.Sprintf("%s L of %s: %s kg, %s kWh", quantity.Short(float64(r.liquid)*1000, 1), where, quantity.Digits(r.mass(), 1), quantity.Digits(r.net/3.6e6, 0))
	if r.hours != nil {
		h := r.hours.Hours()
		text += fmt.Sprintf(", %s of burning", between(h, "h"))
	}
	if r.days != nil {
		text += ", " + between(r.days.Days(), "days")
	}
	return text + "."
}

// between prints an estimate as whole numbers, outwards; a short one with a
// decimal.
func between(e contents.Estimate, unit string) string {
	decimals, p := 0, 1.0
	if e.Mid < 10 {
		decimals, p = 1, 10
	}
	low, high := quantity.Short(math.Floor(e.Low*p+1e-9)/p, decimals), quantity.Short(math.Ceil(e.High*p-1e-9)/p, decimals)
	if low == high {
		return low + " " + unit
	}
	return low + " to " + high + " " + unit
}

// result is the report for --json.
func (r *gasReport) result() fields {
	var out fields
	out.set("mixture", map[string]float64{"propane": figure(r.mix.Propane), "butane": figure(r.mix.NButane), "isobutane": figure(r.mix.Isobutane)})
	out.set("temperature_c", figure(r.kelvin-273.15))
	out.set("density_kg_m3", figure(r.now.Liquid))
	out.set("vapour_density_kg_m3", figure(r.now.Vapour))
	out.set("pressure_bar_abs", figure(r.now.Pressure/1e5))
	out.set("pressure_bar_gauge", figure((r.now.Pressure-contents.Atmosphere)/1e5))
	out.set("heat_of_vaporisation_kj_kg", figure(r.now.Heat/1000))
	out.set("mass_kg", nil)
	out.set("energy_kwh_net", nil)
	out.set("energy_kwh_gross", nil)
	out.set("liquid_full_at_c", nil)
	out.set("hours", nil)
	out.set("days", nil)
	put := func(name string, value any) {
		for i, n := range out.names {
			if n == name {
				out.values[i] = value
				return
			}
		}
		out.set(name, value)
	}
	estimate := func(e contents.Estimate) map[string]float64 {
		return map[string]float64{"low": figure(e.Low), "mid": figure(e.Mid), "high": figure(e.High)}
	}
	if r.asked {
		put("mass_kg", figure(r.mass()))
		put("energy_kwh_net", figure(r.net/3.6e6))
		put("energy_kwh_gross", figure(r.gross/3.6e6))
		put("litres", figure(float64(r.liquid)*1000))
		put("liquid_kg", figure(r.liquidKg))
		put("vapour_kg", figure(r.vapourKg))
		put("u_mass_kg", figure(r.u))
	}
	if r.fullAt > 0 {
		put("liquid_full_at_c", figure(r.fullAt-273.15))
	}
	if r.hours != nil {
		put("hours", estimate(r.hours.Hours()))
	}
	if r.days != nil {
		put("days", estimate(r.days.Days()))
	}
	if r.offtake != nil {
		put("offtake_kg_h", map[string]float64{"low": figure(r.offtake.Rate.Low * 3600), "high": figure(r.offtake.Rate.High * 3600)})
	}
	if len(r.levels) > 0 {
		levels := make([]fields, len(r.levels))
		for i, l := range r.levels {
			levels[i].set("temperature_c", figure(l.kelvin-273.15))
			levels[i].set("of_capacity_pct", points(l.share))
		}
		put("levels", levels)
	}
	if r.ask != nil {
		var ask fields
		ask.set("nothing", r.ask.Nothing)
		ask.set("metered_l", figure(r.ask.Metered*1000))
		ask.set("at_15c_l", figure(r.ask.At15*1000))
		ask.set("kg", figure(r.ask.Kilograms))
		ask.set("price", figure(r.ask.Price))
		put("fill", ask)
	}
	if d := r.delivered; d != nil {
		var f fields
		f.set("kg", figure(d.Kilograms))
		f.set("metered_l", figure(d.Metered*1000))
		f.set("at_15c_l", figure(d.At15*1000))
		f.set("rise_l", figure(d.Rise*1000))
		f.set("rise_pct", points(d.Share))
		f.set("u_pct", figure(d.U*100))
		put("docket", f)
	}
	out.set("findings", append([]finding.Finding{}, r.findings...))
	return out
}
