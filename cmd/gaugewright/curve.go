package main

import (
	"bytes"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"gaugewright/internal/curve"
	"gaugewright/internal/finding"
	"gaugewright/internal/gauge"
	"gaugewright/internal/job"
	"gaugewright/internal/keep"
	"gaugewright/internal/quantity"
	"gaugewright/internal/record"
)

type curveVerb struct {
	senderInput
	AtOhm    []number `sep:"none" placeholder:"OHM" help:"Also tell the mark at this resistance; may be given several times."`
	AtMark   []number `sep:"none" placeholder:"MARK" help:"Also tell the resistance at this mark, in the unit of the file; may be given several times."`
	Continue bool     `help:"Answer outside the readings too, in a straight line from their end."`
	SVG      string   `name:"svg" placeholder:"FILE" help:"Write a drawing of the curve."`
	JSON     bool     `name:"json" help:"Write the result as JSON."`
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
	empty, full := v.ends(c)
	if !(full > empty) {
		return fmt.Errorf("--full-mark must lie above --empty-mark; found empty %s and full %s", c.Unit().Text(empty), c.Unit().Text(full))
	}
	judged := c.Judge(claims, empty, full)
	findings := append(c.Findings(), c.ClaimFindings(judged)...)
	beyond := curve.Refuse
	if v.Continue {
		beyond = curve.Continue
	}
	var byOhm, byMark []curve.Answer
	for _, ohm := range v.AtOhm {
		byOhm = append(byOhm, c.Mark(quantity.Ohm(ohm), beyond))
	}
	for _, mark := range v.AtMark {
		byMark = append(byMark, c.Ohm(c.Unit().FromShown(float64(mark)), beyond))
	}
	if v.SVG != "" {
		if err := v.drawCurve(c, claims); err != nil {
			return err
		}
	}
	if v.JSON {
		err = writeJSON(s.out, curveResult(c, findings, judged, byOhm, byMark))
	} else {
		v.print(s.out, c, findings, byOhm, byMark)
	}
	if err == nil && finding.Worst(findings) == finding.Bad {
		err = errBad
	}
	return err
}

// drawCurve writes the drawing of a curve, as it stands in a record.
func (v *curveVerb) drawCurve(c *curve.Curve, claims []curve.Claim) error {
	name := filepath.Base(v.Readings)
	t := job.Tank{Name: strings.TrimSuffix(name, filepath.Ext(name)), Contents: job.Other}
	t.SetSheet(curve.Sheet{Unit: c.Unit(), Readings: append(c.Used(), c.SetAside()...)})
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

// curveJSON is the result of the verb as JSON.
type curveJSON struct {
	Direction     string   `json:"direction"`
	MarkUnit      string   `json:"mark_unit"`
	Points        []fields `json:"points"`
	Hysteresis    *float64 `json:"hysteresis_ohm"`    // null: no mark was read both ways
	Repeatability *float64 `json:"repeatability_ohm"` // null: no mark was read twice the same way
	Linearity     struct {
		Independent float64 `json:"independent"`
		Terminal    float64 `json:"terminal"`
		Zero        float64 `json:"zero"`
	} `json:"linearity_pct"`
	Span     float64           `json:"span_ohm"`
	Claims   []fields          `json:"claims,omitempty"`
	SetAside []fields          `json:"set_aside,omitempty"`
	Findings []finding.Finding `json:"findings"`
	At       []fields          `json:"at,omitempty"`
}

func curveResult(c *curve.Curve, findings []finding.Finding, judged []curve.Judged, byOhm, byMark []curve.Answer) curveJSON {
	unit := c.Unit()
	r := curveJSON{Direction: c.Direction().String(), MarkUnit: unit.Symbol(), Span: figure(c.Span()), Findings: findings}
	for _, p := range c.Points() {
		var f fields
		f.set(unit.Column(), unit.ToShown(p.Mark))
		f.set("ohm", figure(p.Ohm))
		f.set("u_ohm", figure(p.U))
		f.set("n", p.N)
		r.Points = append(r.Points, f)
	}
	if h := c.Hysteresis(); h.Known {
		v := figure(h.Ohm)
		r.Hysteresis = &v
	}
	if s := c.Repeatability(); s.DF > 0 {
		v := figure(s.SD)
		r.Repeatability = &v
	}
	l := c.Linearity()
	r.Linearity.Independent, r.Linearity.Terminal, r.Linearity.Zero = figure(l.Independent*100), figure(l.Terminal*100), figure(l.Zero*100)
	for _, j := range judged {
		var f fields
		f.set("claimed", j.Claim.String())
		f.set("verdict", j.Verdict)
		f.set("worst_pct", figure(j.Worst*100))
		f.set("at_"+unit.Column(), unit.ToShown(j.Mark))
		f.set("expected_ohm", figure(j.Expected))
		f.set("found_ohm", figure(j.Found))
		r.Claims = append(r.Claims, f)
	}
	for _, a := range c.SetAside() {
		var f fields
		f.set(unit.Column(), unit.ToShown(a.Mark))
		f.set("ohm", figure(a.Ohm))
		f.set("line", a.Line)
		r.SetAside = append(r.SetAside, f)
	}
	// What was asked for is null where the curve doesn't know it.
	for _, a := range byOhm {
		var f fields
		f.set("ohm", figure(a.Ohm))
		f.set(unit.Column(), known(a, unit.ToShown(a.Mark)))
		f.set("u_"+unit.Column(), known(a, unit.ToShown(a.UMark)))
		f.set("outside", a.Outside)
		r.At = append(r.At, f)
	}
	for _, a := range byMark {
		var f fields
		f.set(unit.Column(), unit.ToShown(a.Mark))
		f.set("ohm", known(a, figure(a.Ohm)))
		f.set("u_ohm", known(a, figure(a.UOhm)))
		f.set("outside", a.Outside)
		r.At = append(r.At, f)
	}
	return r
}

func known(a curve.Answer, v float64) any {
	if !a.Known {
		return nil
	}
	return v
}

func (v *curveVerb) print(w io.Writer, c *curve.Curve, findings []finding.Finding, byOhm, byMark []curve.Answer) {
	unit := c.Unit()
	writeFindings(w, findings)
	fmt.Fprintln(w)
	if !c.Ordered() {
		g := grid{head: []string{"mark", "ohms", "readings"}}
		for _, p := range c.Points() {
			g.add(unit.Text(p.Mark), quantity.Digits(float64(p.Measured), 1), fmt.Sprint(p.N))
		}
		g.write(w)
		return
	}
	g := grid{head: []string{"mark", "ohms", "±", "readings"}}
	for _, p := range c.Points() {
		g.add(unit.Text(p.Mark), quantity.Digits(float64(p.Ohm), 1), doubt(gauge.Coverage*float64(p.U)), fmt.Sprint(p.N))
	}
	g.write(w)
	writeWrapped(w, "  ", "± is about 95 % (twice the standard uncertainty), from what these readings show.")
	if len(byOhm)+len(byMark) > 0 {
		fmt.Fprintln(w)
	}
	for _, a := range byOhm {
		fmt.Fprintf(w, "  %s → %s\n", a.Ohm, answer(a, fmt.Sprintf("%s ± %s", unit.Text(a.Mark), unit.Text(gauge.Coverage*a.UMark))))
	}
	for _, a := range byMark {
		fmt.Fprintf(w, "  %s → %s\n", unit.Text(a.Mark), answer(a, fmt.Sprintf("%s ± %s", a.Ohm, gauge.Coverage*a.UOhm)))
	}
}

// answer says an answer, and what it is worth where it lies outside.
func answer(a curve.Answer, text string) string {
	switch {
	case !a.Known:
		return "outside the readings: no answer (--continue goes on in a straight line)"
	case a.Outside:
		return text + ", outside the readings: a straight continuation"
	}
	return text
}
