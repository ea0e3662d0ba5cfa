package main

import (
	"errors"
	"fmt"
	"math"

	"gaugewright/internal/curve"
	"gaugewright/internal/doubt"
	"gaugewright/internal/kin"
	"gaugewright/internal/quantity"
	"gaugewright/internal/telling"
)

type typeShow struct {
	Type string `arg:"" help:"The type's file."`
	JSON bool   `name:"json" help:"Write the result as JSON."`
	doubtless
}

// doubtless states what the next unit will be read with, for the plan.
type doubtless struct {
	Meter string `placeholder:"SPEC" help:"The meter that the next unit is read with, as its data sheet has it: 0.5%+2, or a class: pocket, handheld, bench."`
	Leads string `placeholder:"OHM" help:"What its shorted test leads read."`
}

func (d doubtless) options(unit curve.MarkUnit, signal curve.Signal) (curve.Options, error) {
	doubts, err := doubtInput{Meter: d.Meter, Leads: d.Leads}.doubts(unit, signal)
	return curve.Options{Doubts: doubts}, err
}

// mostShown is how many readings ahead are told of.
const mostShown = 4

// Run tells what is known of a type.
func (v *typeShow) Run(s streams) error {
	t, err := kin.ReadFile(v.Type)
	if err != nil {
		return err
	}
	g, err := t.Gather()
	if err != nil {
		return err
	}
	k := g.Known
	unit, _ := k.Unit()
	signal, _ := k.Signal()
	o, err := v.options(unit, signal)
	if err != nil {
		return err
	}
	plan, err := k.Plan(mostShown, o)
	if err != nil {
		return err
	}
	c, err := k.Curve()
	if err != nil {
		return err
	}
	if v.JSON {
		return writeJSON(s.out, typeResult(t, g, plan))
	}
	writeFindings(s.out, g.Findings)
	fmt.Fprintln(s.out)
	grid := telling.Grid{Head: []string{"mark", signal.Head(), "next unit ±", "of it for good"}}
	for i, p := range c.Points() {
		grid.Add(unit.Text(p.Mark), signal.Figure(p.Ohm), telling.DoubtOf(signal, doubt.UsualFactor*float64(p.U)), telling.DoubtOf(signal, doubt.UsualFactor*k.Knots[i].Floor))
	}
	writeGrid(s.out, grid)
	writeWrapped(s.out, "  ", "± is about 95 %: what the type alone tells of the next unit, and what of that no reading takes away (meter, hysteresis).")
	fmt.Fprintln(s.out)
	ahead := telling.Grid{Head: []string{"readings", "last one at", "worst ± % of span", "mean"}}
	ahead.Add("none", "", points95(plan.Worst), points95(plan.Mean))
	for i, n := range plan.Next {
		ahead.Add(fmt.Sprint(i+1), unit.Text(n.Mark), points95(n.Worst), points95(n.Mean))
	}
	writeGrid(s.out, ahead)
	fmt.Fprintln(s.out)
	list := telling.Grid{Head: []string{"unit", "batch", "job", "read on", "marks"}, Left: 4}
	for _, u := range t.Units {
		list.Add(u.Serial, u.Batch, u.Job, u.Date, fmt.Sprint(len(u.Knots)))
	}
	writeGrid(s.out, list)
	if t.Words != "" {
		fmt.Fprintln(s.out)
		writeWrapped(s.out, "  ", t.Words)
	}
	return nil
}

func points95(u float64) string { return quantity.Digits(100*doubt.UsualFactor*u, 1) }

// typeResult is a type as JSON. Doubts are standard uncertainties.
func typeResult(t *kin.Type, g kin.Gathered, plan kin.Plan) fields {
	var r fields
	k := g.Known
	unit, _ := k.Unit()
	in := k.Gives
	r.set("name", t.Name)
	r.set("units", k.Units)
	r.set("batches", k.Batches)
	r.set("df", figure(k.DF))
	r.set("unit_sd_pct", figure(100*math.Sqrt(g.Spread.Unit)))
	r.set("batch_sd_pct", figureIf(g.Spread.BatchKnown && g.Spread.UnitKnown, 100*math.Sqrt(g.Spread.Batch)))
	r.set("widened", g.Widened)
	r.set("noise_"+in, figureIf(k.NoiseDF > 0, k.Noise))
	knots := make([]fields, len(k.Knots))
	for i, n := range k.Knots {
		knots[i].set(k.Marks, n.Mark)
		knots[i].set(in, n.Value)
		knots[i].set("u_"+in, n.U)
		knots[i].set("floor_"+in, n.Floor)
		knots[i].set("modes_"+in, n.Modes)
	}
	r.set("knots", knots)
	r.set("next", nextResult(unit, plan))
	odd := make([]fields, len(g.Odd))
	for i, o := range g.Odd {
		odd[i].set("unit", t.Units[o.Index].Name())
		odd[i].set("p", o.P)
		odd[i].set(k.Marks, unit.ToShown(o.Mark))
		odd[i].set("off_"+in, figure(o.Off))
	}
	r.set("odd", odd)
	r.set("findings", g.Findings)
	return r
}

func nextResult(unit curve.MarkUnit, plan kin.Plan) fields {
	var r fields
	r.set("u_worst_pct", figure(100*plan.Worst))
	r.set("u_mean_pct", figure(100*plan.Mean))
	list := make([]fields, len(plan.Next))
	for i, n := range plan.Next {
		list[i].set(unit.Column(), unit.ToShown(n.Mark))
		list[i].set("u_worst_pct", figure(100*n.Worst))
		list[i].set("u_mean_pct", figure(100*n.Mean))
	}
	r.set("readings", list)
	return r
}

type typeTry struct {
	Type     string   `arg:"" help:"The type's file."`
	Readings string   `arg:"" help:"CSV of readings of the unit, or - for standard input."`
	Or       []string `placeholder:"FILE" sep:"none" help:"The file of another type that it might be; may be given several times."`
	JSON     bool     `name:"json" help:"Write the result as JSON."`

	Meter            string `placeholder:"SPEC" help:"The meter's data sheet, such as 0.5%+2, or a class: pocket, handheld, bench."`
	Leads            string `placeholder:"OHM" help:"What the shorted test leads read, such as 0.3ohm; it is taken off every reading."`
	MarkDoubt        number `placeholder:"MARK" help:"How far a mark may have been misread either way, in the unit of the file."`
	TemperatureDrift string `placeholder:"PERCENT" help:"How far what the sender gives may change with the weather either way, such as 0.4%."`
}

// Run weighs readings of a unit against a type.
func (v *typeTry) Run(s streams) error {
	sheet, err := s.sheet(v.Readings)
	if err != nil {
		return err
	}
	d, err := doubtInput{Meter: v.Meter, Leads: v.Leads, MarkDoubt: v.MarkDoubt, TemperatureDrift: v.TemperatureDrift}.doubts(sheet.Unit, sheet.Signal)
	if err != nil {
		return err
	}
	o := curve.Options{Doubts: d}
	var types []kin.Known
	var names []string
	for _, path := range append([]string{v.Type}, v.Or...) {
		t, err := kin.ReadFile(path)
		if err != nil {
			return err
		}
		g, err := t.Gather()
		if err != nil {
			return err
		}
		types, names = append(types, g.Known), append(names, t.Name)
	}
	c, verdict, err := types[0].With(sheet, o)
	if err != nil {
		var wrong *curve.SheetError
		if errors.As(err, &wrong) {
			return fmt.Errorf("%s: %w", v.Readings, err)
		}
		return err
	}
	odds, err := kin.Which(types, sheet, o)
	if err != nil {
		return err
	}
	have := make([]float64, 0, len(sheet.Readings))
	for _, r := range sheet.Readings {
		have = append(have, r.Mark)
	}
	plan, err := types[0].Plan(2, o, have...)
	if err != nil {
		return err
	}
	switch {
	case v.JSON:
		err = writeJSON(s.out, tryResult(c, verdict, odds, names, plan))
	default:
		writeFindings(s.out, c.Findings())
		writeFindings(s.out, odds.Findings(names))
		fmt.Fprintln(s.out)
		writeGrid(s.out, telling.CurvePoints(c))
		writeWrapped(s.out, "  ", telling.CurveNote(c))
		fmt.Fprintln(s.out)
		writeWrapped(s.out, "- ", fmt.Sprintf("These readings leave ±%s %% of span at the worst; %s would leave ±%s %%.", points95(plan.Worst), "one more at "+sheet.Unit.Text(plan.Next[0].Mark), points95(plan.Next[0].Worst)))
	}
	if err == nil && verdict.Judgement == kin.Refused {
		err = errBad
	}
	return err
}

// tryResult is the verdict on a unit as JSON.
func tryResult(c *curve.Curve, v kin.Verdict, odds kin.Odds, names []string, plan kin.Plan) fields {
	unit, in := c.Unit(), c.Signal().Column()
	var r fields
	r.set("verdict", v.Judgement)
	r.set("p", v.P)
	r.set("t2", figure(v.T2))
	r.set("refused_from_t2", figureIf(!math.IsInf(v.Refuses, 0) && v.Used > 0, v.Refuses))
	r.set("df", []any{v.DF[0], finite(v.DF[1])})
	r.set("readings_used", v.Used)
	r.set("readings_left_out", v.LeftOut)
	r.set("furthest_at_"+unit.Column(), unit.ToShown(v.Mark))
	r.set("furthest_"+in, figure(v.Off))
	r.set("offset_refused_pct", figureIf(!math.IsInf(v.Offset, 0), 100*v.Offset))
	r.set("words", v.Words)
	list := make([]fields, len(odds.List))
	for i, o := range odds.List {
		list[i].set("type", names[o.Index])
		list[i].set("probability", o.Probability)
		list[i].set("verdict", o.Verdict.Judgement)
	}
	r.set("odds", list)
	r.set("none", odds.None)
	points := make([]fields, 0, len(c.Points()))
	for _, p := range c.Points() {
		var f fields
		f.set(unit.Column(), unit.ToShown(p.Mark))
		f.set(in, figure(p.Ohm))
		f.set("u_"+in, figure(p.U))
		points = append(points, f)
	}
	r.set("points", points)
	r.set("next", nextResult(unit, plan))
	r.set("findings", c.Findings())
	return r
}
