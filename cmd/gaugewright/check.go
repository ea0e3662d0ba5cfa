package main

import (
	"fmt"
	"strings"
	"time"

	"gaugewright/internal/curve"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/readings"
	"gaugewright/internal/scale"
	"gaugewright/internal/span"
)

type checkVerb struct {
	File      string `arg:"" help:"CSV of what the display shows (mark_pct, mark_mm, mark_l or mark_kg; shown_pct; optionally note), or - for standard input."`
	Tolerance number `default:"2" placeholder:"POINTS" help:"How far the display may be off, in points; 2 is what a fitter accepts (common practice)."`
	scaleInput
	markEnds
	Into string `placeholder:"JOB" help:"Take the scale from this job file's tank, and store the check in it."`
	Tank string `help:"Which tank of the job; needed where it has several."`
	When string `default:"as-left" enum:"as-found,as-left" help:"Whether the check was made before (as-found) or after (as-left) setting."`
	By   string `help:"Who made the check, for the job file."`
	JSON bool   `name:"json" help:"Write the result as JSON."`
}

// Run judges the display mark by mark.
func (v *checkVerb) Run(s streams) error {
	sheet, err := s.display(v.File)
	if err != nil {
		return err
	}
	proof, err := v.prove(sheet)
	if err != nil {
		return err
	}
	if v.JSON {
		err = writeJSON(s.out, checkResult(sheet.Unit, proof))
	} else {
		printProof(s, sheet.Unit, proof)
	}
	if err == nil && !proof.Pass {
		err = errBad
	}
	return err
}

// display reads what a display showed from a file, or from standard input.
func (s streams) display(path string) (readings.ShownSheet, error) {
	if path == "-" {
		return readings.ReadShown(s.in, standardInput)
	}
	return readings.ReadShownFile(path)
}

func (v *checkVerb) prove(sheet readings.ShownSheet) (span.Proof, error) {
	tolerance := quantity.Share(v.Tolerance / 100)
	if v.Into == "" {
		sc, err := v.checkScale(sheet)
		if err != nil {
			return span.Proof{}, err
		}
		return span.Prove(sc, seen(sheet), tolerance)
	}
	j, err := job.ReadFile(v.Into)
	if err != nil {
		return span.Proof{}, err
	}
	t, err := theTank(j, v.Tank)
	if err != nil {
		return span.Proof{}, err
	}
	if t.Unit() != sheet.Unit {
		return span.Proof{}, fmt.Errorf("%s has marks in %s and the bench of tank %q has them in %s", v.File, sheet.Unit.Symbol(), t.Name, t.Unit().Symbol())
	}
	if v.PermittedFill != "" || v.Scale != string(scale.Mark) || v.EmptyMark != nil || v.FullMark != nil {
		return span.Proof{}, fmt.Errorf("with --into the scale comes from the job; leave out --scale, --permitted-fill, --empty-mark and --full-mark")
	}
	t.Checks = append(t.Checks, v.stored(sheet, time.Now().Format(time.DateOnly)))
	proofs, err := t.Proofs()
	if err != nil {
		return span.Proof{}, err
	}
	return proofs[len(proofs)-1].Proof, j.WriteFile(v.Into)
}

// checkScale is the scale as the flags have it. Off a dial the marks at empty
// and full can't be guessed from what was checked.
func (v *checkVerb) checkScale(sheet readings.ShownSheet) (scale.Scale, error) {
	empty, full := 0.0, 1.0
	if sheet.Unit != curve.Dial {
		if v.EmptyMark == nil || v.FullMark == nil {
			return scale.Scale{}, fmt.Errorf("marks in %s need --empty-mark and --full-mark (the marks at 0 %% and 100 %%), or --into a job that knows them", sheet.Unit.Symbol())
		}
	}
	if v.EmptyMark != nil {
		empty = sheet.Unit.FromShown(float64(*v.EmptyMark))
	}
	if v.FullMark != nil {
		full = sheet.Unit.FromShown(float64(*v.FullMark))
	}
	return v.scale(empty, full, sheet.Unit == curve.Dial)
}

func seen(sheet readings.ShownSheet) []span.Seen {
	out := make([]span.Seen, len(sheet.Rows))
	for i, r := range sheet.Rows {
		out[i] = span.Seen{Mark: r.Mark, Shown: r.Shown, Note: r.Note}
	}
	return out
}

// stored is the check as a job keeps it.
func (v checkVerb) stored(sheet readings.ShownSheet, date string) job.Check {
	c := job.Check{
		When:         strings.ReplaceAll(v.When, "-", " "),
		Date:         date,
		By:           v.By,
		TolerancePct: float64(v.Tolerance),
	}
	for _, r := range sheet.Rows {
		p := job.CheckPoint{ShownPct: points(r.Shown), Note: r.Note}
		p.SetMark(sheet.Unit.ToShown(r.Mark), sheet.Unit)
		c.Readings = append(c.Readings, p)
	}
	return c
}

func checkResult(unit curve.MarkUnit, proof span.Proof) fields {
	var r fields
	r.set("pass", proof.Pass)
	r.set("tolerance_pct", points(proof.Tolerance))
	rows := make([]fields, len(proof.Rows))
	for i, row := range proof.Rows {
		rows[i].set(unit.Column(), unit.ToShown(row.Mark))
		rows[i].set("target_pct", points(row.Target))
		rows[i].set("shown_pct", points(row.Shown))
		rows[i].set("error_pct", points(row.Error()))
		rows[i].set("pass", row.Pass)
	}
	r.set("checks", rows)
	return r
}

func printProof(s streams, unit curve.MarkUnit, proof span.Proof) {
	g := grid{head: []string{"mark", "should show", "shown", "error", "verdict"}}
	for _, row := range proof.Rows {
		verdict := "pass"
		if !row.Pass {
			verdict = "FAIL"
		}
		g.add(unit.Text(row.Mark), shown(row.Target), shown(row.Shown), signed(row.Error()), verdict)
	}
	g.write(s.out)
	verdict := "PASS"
	if !proof.Pass {
		verdict = "FAIL"
	}
	fmt.Fprintf(s.out, "\n%s: %s.\n", verdict, proof.Sentence())
}
