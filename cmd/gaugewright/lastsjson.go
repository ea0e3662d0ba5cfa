package main

import (
	"time"

	"gaugewright/internal/contents"
	"gaugewright/internal/finding"
	"gaugewright/internal/gauge"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
)

// What `lasts --json` gives. Figures are in the units of their names, whatever
// the job's; what isn't known is null.
type (
	lastsJSON struct {
		Tanks []lastsTank `json:"tanks"`
	}
	lastsTank struct {
		Name        string            `json:"name"`
		Contents    job.Contents      `json:"contents"`
		Temperature float64           `json:"temperature_c"`
		Level       lastsFigure       `json:"of_capacity_pct"`
		Litres      lastsFigure       `json:"litres"`
		Kg          *lastsFigure      `json:"kg"`
		Net         *lastsFigure      `json:"kwh_net"`
		Gross       *lastsFigure      `json:"kwh_gross"`
		PerDay      *lastsUse         `json:"use_per_day"`
		Days        *lastsInterval    `json:"days"`
		Hours       *lastsInterval    `json:"hours"`
		Loads       []lastsLoad       `json:"loads"`
		RefillBy    *string           `json:"refill_by"`
		Fill        *lastsFill        `json:"fill"`
		Findings    []finding.Finding `json:"findings"`
	}
	lastsFigure struct {
		Mid float64 `json:"mid"`
		U   float64 `json:"u"`
	}
	lastsInterval struct {
		Low  float64 `json:"low"`
		Mid  float64 `json:"mid"`
		High float64 `json:"high"`
	}
	lastsUse struct {
		lastsInterval
		Unit string `json:"unit"`
	}
	lastsLoad struct {
		Name  string         `json:"name"`
		Share float64        `json:"share_pct"`
		Hours *lastsInterval `json:"running_hours"`
	}
	lastsFill struct {
		Litres   float64  `json:"litres"`
		Kg       float64  `json:"kg"`
		Price    *float64 `json:"price"`
		Currency string   `json:"currency,omitempty"`
	}
)

func lastsResult(list []tankOutlook) lastsJSON {
	out := lastsJSON{Tanks: make([]lastsTank, len(list))}
	for i, o := range list {
		out.Tanks[i] = o.result()
	}
	return out
}

func (o tankOutlook) result() lastsTank {
	a := o.Amount
	scaled := func(f gauge.Figure, by float64) lastsFigure { return lastsFigure{figure(f.Mid * by), figure(f.U * by)} }
	r := lastsTank{
		Name: o.of.Name, Contents: o.of.Contents, Temperature: figure(o.Kelvin.Celsius()),
		Level:    scaled(gauge.Figure{Mid: float64(o.Level.Share), U: float64(o.Level.U)}, 100),
		Litres:   scaled(a.Volume, 1000),
		Loads:    []lastsLoad{},
		Findings: o.Findings,
	}
	if r.Findings == nil {
		r.Findings = []finding.Finding{}
	}
	if a.Weighs {
		kg := scaled(a.Mass, 1)
		r.Kg = &kg
	}
	if a.Burns {
		net := scaled(a.Net, 1/3.6e6)
		if r.Net = &net; a.Gross.Mid > 0 {
			gross := scaled(a.Gross, 1/3.6e6)
			r.Gross = &gross
		}
	}
	if l := o.Lasting; !l.Nothing {
		unit, by := "kg", 1.0
		if l.By == contents.ByCubicMetres {
			unit, by = "L", 1000
		}
		r.PerDay = &lastsUse{*interval(contents.Estimate{Low: l.PerDay.Low * by, Mid: l.PerDay.Mid * by, High: l.PerDay.High * by}), unit}
		r.Days, r.Hours = interval(l.Left.Days()), interval(l.Left.Hours())
	}
	for _, p := range o.Lasting.Parts {
		load := lastsLoad{Name: p.Name, Share: figure(float64(p.Share) * 100)}
		for _, run := range o.Running {
			if run.Name == p.Name {
				load.Hours = interval(run.For.Hours())
			}
		}
		r.Loads = append(r.Loads, load)
	}
	if !o.RefillBy.IsZero() {
		day := o.RefillBy.Format(time.DateOnly)
		r.RefillBy = &day
	}
	if o.Asks {
		r.Fill = &lastsFill{Litres: figure(o.Ask.Metered * 1000), Kg: figure(o.Ask.Kilograms), Currency: o.Ask.Currency}
		if o.Ask.Price > 0 {
			price := figure(o.Ask.Price)
			r.Fill.Price = &price
		}
	}
	return r
}

// interval rounds to what draws of random numbers give sense to.
func interval(e contents.Estimate) *lastsInterval {
	return &lastsInterval{quantity.Round(e.Low, 2), quantity.Round(e.Mid, 2), quantity.Round(e.High, 2)}
}
