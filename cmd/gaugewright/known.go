package main

import (
	"math"

	"gaugewright/internal/curve"
	"gaugewright/internal/doubt"
	"gaugewright/internal/telling"
)

// How well it is known: budgets, odds and plans as JSON.

// budgetResult is an uncertainty budget as JSON. Degrees of freedom are null
// where they are unlimited.
func budgetResult(unit curve.MarkUnit, signal curve.Signal, at curve.Answer, b doubt.Budget) *fields {
	var f fields
	f.set("at_"+unit.Column(), unit.ToShown(at.Mark))
	f.set("at_"+signal.Column(), figure(at.Ohm))
	lines := make([]fields, len(b.Lines))
	for i, l := range b.Lines {
		lines[i].set("quantity", l.Quantity)
		lines[i].set("value", figure(l.Value))
		lines[i].set("unit", l.Unit)
		lines[i].set("u", figure(l.U))
		lines[i].set("distribution", l.Distribution)
		lines[i].set("df", finite(l.DF))
		lines[i].set("sensitivity", figure(l.Sensitivity))
		lines[i].set("contribution", figure(l.Contribution()))
		lines[i].set("share_pct", figure(b.Share(i)*100))
	}
	f.set("lines", lines)
	k := b.Coverage(telling.BudgetProbability)
	f.set("u_"+unit.Column(), figure(b.Combined()))
	f.set("df", finite(b.DF()))
	f.set("k", figure(k))
	f.set("expanded_"+unit.Column(), figure(k*b.Combined()))
	f.set("probability_pct", figure(telling.BudgetProbability*100))
	return &f
}

// finite is a figure for JSON, or null where it has no end.
func finite(v float64) any {
	if math.IsInf(v, 0) {
		return nil
	}
	return figure(v)
}

// oddsResult is what the readings say of spans, as JSON.
func oddsResult(unit curve.MarkUnit, signal curve.Signal, o curve.Odds) []fields {
	out := make([]fields, len(o.List))
	for i, d := range o.List {
		out[i].set("claimed", d.Claim.String())
		out[i].set("verdict", d.Verdict)
		out[i].set("probability", figure(d.Probability))
		out[i].set("worst_pct", figure(d.Worst*100))
		out[i].set("at_"+unit.Column(), unit.ToShown(d.Mark))
		out[i].set("expected_"+signal.Column(), figure(d.Expected))
		out[i].set("found_"+signal.Column(), figure(d.Found))
		out[i].set("u_found_"+signal.Column(), figure(d.UFound))
	}
	return out
}

// planResult is a plan as JSON; readings_to_halve is null where no number of
// readings would do.
func planResult(unit curve.MarkUnit, p curve.Plan) *fields {
	var f fields
	next := make([]fields, len(p.Next))
	for i, n := range p.Next {
		next[i].set(unit.Column(), unit.ToShown(n.Mark))
		next[i].set("again", n.Again)
		next[i].set("then_u_pct", figure(n.U*100))
	}
	f.set("next", next)
	f.set("u_pct", figure(p.U*100))
	f.set("least_known_"+unit.Column(), unit.ToShown(p.At))
	if p.Halve >= 0 {
		f.set("readings_to_halve", p.Halve)
	} else {
		f.set("readings_to_halve", nil)
	}
	f.set("findings", p.Findings())
	return &f
}
