package main

import (
	"bytes"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"gaugewright/internal/curve"
	"gaugewright/internal/doubt"
	"gaugewright/internal/finding"
	"gaugewright/internal/job"
	"gaugewright/internal/keep"
	"gaugewright/internal/quantity"
	"gaugewright/internal/record"
	"gaugewright/internal/telling"
)

type curveVerb struct {
	senderInput
	AtOhm    []number `aliases:"at-value" sep:"none" placeholder:"OHM" help:"Also tell the mark at this resistance, or what else the file has, with its 95 % interval; --at-value is the same; may be given several times."`
	AtMark   []number `sep:"none" placeholder:"MARK" help:"Also tell the resistance, or what else the file has, at this mark, in the unit of the file; may be given several times."`
	Continue bool     `help:"Answer outside the readings too, in a straight line from their end."`
	Budget   bool     `help:"Print the uncertainty budget of a mark told from one reading."`
	BudgetAt *number  `placeholder:"MARK" help:"The mark that the budget is for; where it is least well known, unless given."`
	Plan     int      `placeholder:"N" help:"Also tell the next N marks to read, and how many more readings would halve the doubt."`
	SVG      string   `name:"svg" placeholder:"FILE" help:"Write a drawing of the curve."`
	JSON     bool     `name:"json" help:"Write the result as JSON."`
}

// told is everything the verb found out.
type told struct {
	curve       *curve.Curve
	findings    []finding.Finding
	odds        curve.Odds
	byOhm       []curve.Answer
	intervals   []*curve.Interval // of byOhm; nil where there is none
	byMark      []curve.Answer
	budget      doubt.Budget
	budgetAt    curve.Answer
	hasBudget   bool
	plan        *curve.Plan
	empty, full float64
}

// Run fits the curve and says what the sender does.
func (v *curveVerb) Run(s streams) error {
	claims, err := v.claims()
	if err != nil {
		return err
	}
	c, err := v.fit(s)
	if err != nil {
		return err
	}
	r, err := v.ask(c, claims)
	if err != nil {
		return err
	}
	if v.SVG != "" {
		if err := v.drawCurve(c, claims); err != nil {
			return err
		}
	}
	if v.JSON {
		err = writeJSON(s.out, curveResult(r))
	} else {
		v.print(s.out, r)
	}
	if err == nil && finding.Worst(r.findings) == finding.Bad {
		err = errBad
	}
	return err
}

// ask puts every question to the curve.
func (v *curveVerb) ask(c *curve.Curve, claims []curve.Claim) (told, error) {
	r := told{curve: c}
	r.empty, r.full = v.ends(c)
	if !(r.full > r.empty) {
		return r, fmt.Errorf("--full-mark must lie above --empty-mark; found empty %s and full %s", c.Unit().Text(r.empty), c.Unit().Text(r.full))
	}
	r.findings = c.Findings()
	var err error
	if r.odds, err = telling.OddsOf(c, claims, r.empty, r.full); err != nil {
		return r, err
	}
	r.findings = append(r.findings, telling.OddsFindings(c, r.odds)...)
	beyond := curve.Refuse
	if v.Continue {
		beyond = curve.Continue
	}
	for _, ohm := range v.AtOhm {
		a := c.Mark(quantity.Ohm(ohm), beyond)
		r.byOhm = append(r.byOhm, a)
		r.intervals = append(r.intervals, telling.IntervalOf(c, a))
	}
	for _, mark := range v.AtMark {
		r.byMark = append(r.byMark, c.Ohm(c.Unit().FromShown(float64(mark)), beyond))
	}
	if c.Ordered() {
		r.budgetAt = c.Ohm(c.LeastKnown(), curve.Refuse)
		if v.BudgetAt != nil {
			r.budgetAt = c.Ohm(c.Unit().FromShown(float64(*v.BudgetAt)), beyond)
			if !r.budgetAt.Known {
				return r, fmt.Errorf("--budget-at %g lies outside the readings", float64(*v.BudgetAt))
			}
		}
		r.budget, r.hasBudget = c.BudgetOfMark(r.budgetAt.Ohm, beyond)
	}
	if v.Plan < 0 || v.Plan > curve.MostPlanned {
		return r, fmt.Errorf("--plan %d can't be a number of readings; expected 1 to %d", v.Plan, curve.MostPlanned)
	}
	if v.Plan > 0 && c.Ordered() {
		plan := c.Plan(v.Plan, r.empty, r.full)
		r.plan = &plan
	}
	return r, nil
}

// drawCurve writes the drawing of a curve, as it stands in a record.
func (v *curveVerb) drawCurve(c *curve.Curve, claims []curve.Claim) error {
	name := filepath.Base(v.Readings)
	t := job.Tank{Name: strings.TrimSuffix(name, filepath.Ext(name)), Contents: job.Other}
	t.SetSheet(curve.Sheet{Unit: c.Unit(), Signal: c.Signal(), Readings: append(c.Used(), c.SetAside()...)})
	t.Sender.Numbers = job.NumbersOf(c.Signal())
	t.Setting = &job.Setting{EmptyMark: v.EmptyMark.float(), FullMark: v.FullMark.float()}
	for _, claim := range claims {
		t.Sender.Claimed = append(t.Sender.Claimed, job.Claim{EmptyOhm: float64(claim.Empty), FullOhm: float64(claim.Full)})
	}
	var b bytes.Buffer
	if err := record.CurveDrawing(t, c).SVG(&b, "curve"); err != nil {
		return err
	}
	return keep.File(v.SVG, b.Bytes())
}

// curveResult is the result of the verb as JSON. Names end in the column of what
// the sender gives: hysteresis_ohm, hysteresis_volt.
func curveResult(t told) fields {
	c := t.curve
	unit, signal := c.Unit(), c.Signal()
	in := signal.Column()
	var r fields
	r.set("direction", c.Direction().String())
	r.set("mark_unit", unit.Symbol())
	var points []fields
	for _, p := range c.Points() {
		var f fields
		f.set(unit.Column(), unit.ToShown(p.Mark))
		f.set(in, figure(p.Ohm))
		f.set("u_"+in, figure(p.U))
		f.set("n", p.N)
		points = append(points, f)
	}
	r.set("points", points)
	// null: no mark was read both ways, or twice the same way.
	h, s := c.Hysteresis(), c.Repeatability()
	r.set("hysteresis_"+in, figureIf(h.Known, float64(h.Ohm)))
	r.set("repeatability_"+in, figureIf(s.DF > 0, s.SD))
	l := c.Linearity()
	var linearity fields
	linearity.set("independent", figure(l.Independent*100))
	linearity.set("terminal", figure(l.Terminal*100))
	linearity.set("zero", figure(l.Zero*100))
	r.set("linearity_pct", linearity)
	r.set("span_"+in, figure(c.Span()))
	var budget *fields // of a mark told from one reading; null where none can be told
	if t.hasBudget {
		budget = budgetResult(unit, signal, t.budgetAt, t.budget)
	}
	r.set("budget", budget)
	odds := oddsResult(unit, signal, t.odds)
	switch {
	case len(odds) == 0:
	case t.odds.Usual:
		r.set("usual_spans", odds)
	default:
		r.set("claims", odds)
	}
	if aside := c.SetAside(); len(aside) > 0 {
		list := make([]fields, len(aside))
		for i, a := range aside {
			list[i].set(unit.Column(), unit.ToShown(a.Mark))
			list[i].set(in, figure(a.Ohm))
			list[i].set("line", a.Line)
		}
		r.set("set_aside", list)
	}
	r.set("findings", t.findings)
	if at := atResult(t); len(at) > 0 {
		r.set("at", at)
	}
	if t.plan != nil {
		r.set("plan", planResult(unit, *t.plan))
	}
	return r
}

// figureIf is a figure for JSON where it is known, or null.
func figureIf(known bool, v float64) any {
	if !known {
		return nil
	}
	return figure(v)
}

// atResult answers what was asked for; null where the curve doesn't know it.
func atResult(t told) []fields {
	unit, in := t.curve.Unit(), t.curve.Signal().Column()
	var out []fields
	for i, a := range t.byOhm {
		var f fields
		f.set(in, figure(a.Ohm))
		f.set(unit.Column(), known(a, unit.ToShown(a.Mark)))
		f.set("u_"+unit.Column(), known(a, unit.ToShown(a.UMark)))
		if interval := t.intervals[i]; interval != nil {
			f.set("low_"+unit.Column(), unit.ToShown(interval.Low))
			f.set("high_"+unit.Column(), unit.ToShown(interval.High))
		}
		f.set("outside", a.Outside)
		out = append(out, f)
	}
	for _, a := range t.byMark {
		var f fields
		f.set(unit.Column(), unit.ToShown(a.Mark))
		f.set(in, known(a, figure(a.Ohm)))
		f.set("u_"+in, known(a, figure(a.UOhm)))
		f.set("outside", a.Outside)
		out = append(out, f)
	}
	return out
}

func known(a curve.Answer, v float64) any {
	if !a.Known {
		return nil
	}
	return v
}

func (v *curveVerb) print(w io.Writer, t told) {
	c := t.curve
	writeFindings(w, t.findings)
	fmt.Fprintln(w)
	writeGrid(w, telling.CurvePoints(c))
	if !c.Ordered() {
		return
	}
	writeWrapped(w, "  ", telling.CurveNote(c))
	if len(t.byOhm)+len(t.byMark) > 0 {
		fmt.Fprintln(w)
	}
	line := func(a curve.Answer, asked, told string) {
		if !a.Known {
			told += " (--continue goes on in a straight line)"
		}
		fmt.Fprintf(w, "  %s → %s\n", asked, told)
	}
	for i, a := range t.byOhm {
		asked, told := telling.MarkTold(c, a, t.intervals[i])
		line(a, asked, told)
	}
	for _, a := range t.byMark {
		asked, told := telling.ValueTold(c, a)
		line(a, asked, told)
	}
	if v.Budget && t.hasBudget {
		title, g, notes := telling.Budget(c.Unit(), c.Signal(), t.budgetAt, t.budget)
		fmt.Fprintf(w, "\n%s\n", title)
		writeGrid(w, g)
		for _, note := range notes {
			fmt.Fprintf(w, "  %s\n", note)
		}
	}
	if t.plan != nil {
		title, list := telling.Plan(*t.plan)
		fmt.Fprintf(w, "\n%s\n", title)
		writeFindings(w, list)
	}
}
