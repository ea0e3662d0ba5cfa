package job

import (
	"gaugewright/internal/curve"
	"gaugewright/internal/doubt"
	"gaugewright/internal/quantity"
)

// Doubts are the largest errors of what a bench was read with, either way. Those
// of the meter and of the marks are in what the bench reads, and in its unit of
// marks. Zero is not stated.
type Doubts struct {
	MeterPct       float64 `json:"meter_pct,omitempty"`    // of the reading
	MeterDigits    float64 `json:"meter_digits,omitempty"` // of MeterStep, besides
	MeterStep      float64 `json:"meter_step,omitempty"`   // its last digit; 0: what the readings show
	LeadsOhm       float64 `json:"leads_ohm,omitempty"`    // what the shorted leads read; it is taken off
	Mark           float64 `json:"mark,omitempty"`         // how far a mark may have been misread
	TemperaturePct float64 `json:"temperature_pct,omitempty"`
}

// Curve gives the doubts as a curve takes them; nil states nothing.
func (d *Doubts) Curve(unit curve.MarkUnit) curve.Doubts {
	if d == nil {
		return curve.Doubts{}
	}
	out := curve.Doubts{
		Meter:         curve.Meter{OfReading: quantity.Share(d.MeterPct / 100), Digits: d.MeterDigits, Step: quantity.Ohm(d.MeterStep)},
		Leads:         quantity.Ohm(d.LeadsOhm),
		MarkHalfWidth: unit.FromShown(d.Mark),
		Temperature:   quantity.Share(d.TemperaturePct / 100),
	}
	if d.LeadsOhm > 0 {
		out.LeadsU = LeadsU(out.Meter)
	}
	return out
}

// DoubtsOf gives doubts as a job keeps them, nil where nothing is stated. Pours
// aren't kept.
func DoubtsOf(d curve.Doubts, unit curve.MarkUnit) *Doubts {
	out := Doubts{MeterPct: tidy(float64(d.Meter.OfReading) * 100), MeterDigits: d.Meter.Digits, MeterStep: tidy(float64(d.Meter.Step)),
		LeadsOhm: tidy(float64(d.Leads)), Mark: tidy(unit.ToShown(d.MarkHalfWidth)), TemperaturePct: tidy(float64(d.Temperature) * 100)}
	if out == (Doubts{}) {
		return nil
	}
	return &out
}

// LeadsU gives the standard uncertainty of a reading of the shorted test leads,
// in ohms: they were read with the same meter, its digits and its last one (0.1 Ω
// where it isn't stated; common practice, no source).
func LeadsU(m curve.Meter) quantity.Ohm {
	step := m.Step
	if step == 0 {
		step = 0.1
	}
	return quantity.Ohm(doubt.Combine(doubt.Rectangular(m.Digits*float64(step)), doubt.Resolution(float64(step))))
}
