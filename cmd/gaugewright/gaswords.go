package main

import (
	"fmt"
	"io"

	"gaugewright/internal/contents"
	"gaugewright/internal/finding"
	"gaugewright/internal/telling"
)

// print puts the report on a terminal, the answer in its first line.
func (r *gasReport) print(w io.Writer) {
	fmt.Fprintln(w, r.Headline())
	writeGrid(w, r.Figures())
	paragraph := func(text string) {
		if text != "" {
			fmt.Fprintln(w)
			writeWrapped(w, "", text)
		}
	}
	paragraph(r.LevelWords())
	ask, stops := r.FillWords()
	paragraph(ask)
	writeListed(w, telling.StopsHead, "- ", stops)
	paragraph(r.DocketWords())
	fmt.Fprintln(w)
	writeFindings(w, r.findings)
	for _, caution := range r.Cautions() {
		writeWrapped(w, "! ", caution)
	}
}

// result is the report for --json.
func (r *gasReport) result() fields {
	var out fields
	out.set("mixture", map[string]float64{"propane": figure(r.Mix.Propane), "butane": figure(r.Mix.NButane), "isobutane": figure(r.Mix.Isobutane)})
	out.set("temperature_c", figure(r.Kelvin-273.15))
	out.set("density_kg_m3", figure(r.Now.Liquid))
	out.set("vapour_density_kg_m3", figure(r.Now.Vapour))
	out.set("pressure_bar_abs", figure(r.Now.Pressure/1e5))
	out.set("pressure_bar_gauge", figure((r.Now.Pressure-contents.Atmosphere)/1e5))
	out.set("heat_of_vaporisation_kj_kg", figure(r.Now.Heat/1000))
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
	if r.Asked {
		put("mass_kg", figure(r.Kilograms()))
		put("energy_kwh_net", figure(r.Net/3.6e6))
		put("energy_kwh_gross", figure(r.Gross/3.6e6))
		put("litres", figure(float64(r.Liquid)*1000))
		put("liquid_kg", figure(r.LiquidKg))
		put("vapour_kg", figure(r.VapourKg))
		put("u_mass_kg", figure(r.u))
	}
	if r.FullAt > 0 {
		put("liquid_full_at_c", figure(r.FullAt-273.15))
	}
	if r.Hours != nil {
		put("hours", estimate(r.Hours.Hours()))
	}
	if r.Days != nil {
		put("days", estimate(r.Days.Days()))
	}
	if r.offtake != nil {
		put("offtake_kg_h", map[string]float64{"low": figure(r.offtake.Rate.Low * 3600), "high": figure(r.offtake.Rate.High * 3600)})
	}
	if len(r.Levels) > 0 {
		levels := make([]fields, len(r.Levels))
		for i, l := range r.Levels {
			levels[i].set("temperature_c", figure(l.Kelvin-273.15))
			levels[i].set("of_capacity_pct", points(l.Share))
		}
		put("levels", levels)
	}
	if r.Ask != nil {
		var ask fields
		ask.set("nothing", r.Ask.Nothing)
		ask.set("metered_l", figure(r.Ask.Metered*1000))
		ask.set("at_15c_l", figure(r.Ask.At15*1000))
		ask.set("kg", figure(r.Ask.Kilograms))
		ask.set("price", figure(r.Ask.Price))
		put("fill", ask)
	}
	if d := r.Delivered; d != nil {
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
