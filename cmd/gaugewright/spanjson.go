package main

import (
	"strings"

	"gaugewright/internal/curve"
	"gaugewright/internal/finding"
	"gaugewright/internal/scale"
	"gaugewright/internal/span"
)

// result is the choice as JSON.
func (v *spanVerb) result(c *curve.Curve, sc scale.Scale, choice span.Choice, trials []span.Trial, findings []finding.Finding) fields {
	unit, signal := c.Unit(), c.Signal()
	lower, upper := "lower_"+signal.Column(), "upper_"+signal.Column()
	var r fields
	switch setting := choice.Setting.(type) {
	case span.Ends:
		r.set("readout", "two-point")
		r.set("scale", sc.Kind())
		r.set(lower, figure(setting.Lower))
		r.set(upper, figure(setting.Upper))
	case span.Table:
		r.set("readout", "table")
		r.set("scale", sc.Kind())
		entries := make([]fields, len(setting))
		for i, e := range setting {
			entries[i].set(signal.Column(), figure(e.Ohm))
			entries[i].set("pct", points(e.Share))
		}
		r.set("points", entries)
	case span.EndsThenTable:
		r.set("readout", "ends-then-table")
		r.set("scale", sc.Kind())
		r.set(lower, figure(setting.Ends.Lower))
		r.set(upper, figure(setting.Ends.Upper))
		entries := make([]fields, len(setting.Table))
		for i, e := range setting.Table {
			entries[i].set("in_pct", points(e.In))
			entries[i].set("pct", points(e.Out))
		}
		r.set("points", entries)
	}
	r.set("means", sc.Sentence())
	if f, ok := sc.Filling(); ok && f.Capacity > 0 {
		r.set("capacity_l", figure(f.Capacity*1000))
	}
	r.set("objective", choice.Objective)
	r.setTrial(unit, choice.Trial)
	r.set("objective_pct", points(choice.Score))
	r.set("lower_bound_pct", points(choice.LowerBound))
	r.set("gap_pct", points(choice.Score-choice.LowerBound))
	r.set("proven_best_on_steps", choice.Proven)
	r.set("unproven_pct", points(choice.Gap))
	r.set("searched", choice.Searched)
	r.set("between_marks_pct", points(choice.Between))
	r.set("margin_"+signal.Column(), figure(choice.Margin))
	r.setSensitivity(c, sc, choice.Setting)
	r.setRows(unit, signal, sc, choice.Trial)
	if len(v.AtMark) > 0 {
		r.set("at_mark", v.atMarks(c, sc, choice.Setting))
	}
	r.set("findings", append(findings, choice.Findings...))
	tried := make([]fields, len(trials))
	for i, t := range trials {
		ends := t.Setting.(span.Ends)
		tried[i].set(lower, figure(ends.Lower))
		tried[i].set(upper, figure(ends.Upper))
		tried[i].setTrial(unit, t)
		tried[i].set("why", span.Why(c, sc, ends))
		tried[i].setSensitivity(c, sc, ends)
		tried[i].setRows(unit, signal, sc, t)
		if len(v.AtMark) > 0 {
			tried[i].set("at_mark", v.atMarks(c, sc, ends))
		}
	}
	r.set("tried", tried)
	return r
}

func (f *fields) setTrial(unit curve.MarkUnit, t span.Trial) {
	f.set("worst_error_pct", points(t.Worst))
	at := make([]float64, len(t.WorstAt))
	for i, m := range t.WorstAt {
		at[i] = unit.ToShown(m)
	}
	f.set("worst_at_"+strings.TrimPrefix(unit.Column(), "mark_"), at)
}

func (f *fields) setRows(unit curve.MarkUnit, signal curve.Signal, sc scale.Scale, t span.Trial) {
	rows := make([]fields, len(t.Rows))
	for i, row := range t.Rows {
		rows[i].set(unit.Column(), unit.ToShown(row.Mark))
		setVolume(&rows[i], sc, row.Mark)
		rows[i].set(signal.Column(), figure(row.Ohm))
		rows[i].set("target_pct", points(row.Target))
		rows[i].set("shown_pct", points(row.Shown))
		rows[i].set("error_pct", figure((row.Shown-row.Target)*100))
		rows[i].set("u_pct", points(row.U))
		rows[i].set("low_pct", points(row.Low))
		rows[i].set("high_pct", points(row.High))
		if row.Sweep != curve.Unstated {
			rows[i].set("sweep", row.Sweep.String())
		}
	}
	f.set("shown", rows)
}

// setVolume sets what is in the tank at a mark, where that is known.
func setVolume(f *fields, sc scale.Scale, mark float64) {
	if v, ok := sc.Volume(mark); ok {
		f.set("volume_l", figure(v*1000))
	}
}

// perStep names the step that a sensitivity is of.
var perStep = map[curve.Signal]string{curve.Ohms: "ohm", curve.Volts: "10_mv", curve.Milliamps: "10_ua", curve.Ratio: "0_1_pct_of_supply"}

// setSensitivity sets what one ohm more on either end value does to the figure
// at the top of the scale; for other signals it is their common step.
func (f *fields) setSensitivity(c *curve.Curve, sc scale.Scale, setting span.Setting) {
	for _, s := range span.Sensitivities(c, sc, setting) {
		if side, found := strings.CutSuffix(s.Value, " value"); s.Top && found {
			f.set("sensitivity_"+side+"_pct_per_"+perStep[c.Signal()], points(s.Change))
		}
	}
}

// atMarks is what a setting shows at the marks asked for; null where the sender
// gives nothing there that could be told.
func (v *spanVerb) atMarks(c *curve.Curve, sc scale.Scale, setting span.Setting) []fields {
	unit := c.Unit()
	out := make([]fields, len(v.AtMark))
	for i, mark := range v.AtMark {
		f := span.WhatIf(c, sc, setting, unit.FromShown(float64(mark)))
		known := func(value float64) any {
			if !f.Known {
				return nil
			}
			return value
		}
		out[i].set(unit.Column(), float64(mark))
		setVolume(&out[i], sc, f.Mark)
		out[i].set(c.Signal().Column(), known(figure(f.Ohm)))
		out[i].set("u_"+c.Signal().Column(), known(figure(f.UOhm)))
		out[i].set("outside", f.Outside)
		out[i].set("target_pct", points(f.Target))
		out[i].set("shown_pct", known(points(f.Shown)))
		out[i].set("u_pct", known(points(f.U)))
		out[i].set("low_pct", known(points(f.Low)))
		out[i].set("high_pct", known(points(f.High)))
	}
	return out
}
