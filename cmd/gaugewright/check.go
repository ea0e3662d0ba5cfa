package main

import (
	"fmt"
	"math"
	"strings"
	"time"

	"gaugewright/internal/curve"
	"gaugewright/internal/drift"
	"gaugewright/internal/finding"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/readings"
	"gaugewright/internal/scale"
	"gaugewright/internal/span"
	"gaugewright/internal/telling"
)

type checkVerb struct {
	File        string  `arg:"" help:"CSV of what the display shows (mark_pct, mark_mm, mark_l or mark_kg; shown_pct; optionally note), or, with --into or --against, of what the sender itself gives (ohm, volt, milliamp or of_supply_pct in the place of shown_pct), or - for standard input."`
	Tolerance   number  `default:"2" placeholder:"POINTS" help:"How far the display may be off, in points; 2 is what a fitter accepts (common practice)."`
	DisplayStep *number `placeholder:"POINTS" help:"The step in which the display shows. Unless given it is what the figures tell: 1 where all are whole percents."`
	MarkDoubt   *number `placeholder:"MARK" help:"How far a mark may have been misread either way, in the unit of the file; 0 for a mark that is exact. Half a point of the way from empty to full unless given (common practice)."`
	Readings    string  `placeholder:"CSV" help:"Bench readings of the sender, so that its own scatter and hysteresis count in the doubt; needs --set."`
	Set         string  `placeholder:"L:U" help:"The end values keyed in, for --readings."`
	scaleInput
	markEnds
	Into string `placeholder:"JOB" help:"Take the scale and the sender from this job file's tank, and store the check in it."`
	Tank string `placeholder:"FILE|NAME" help:"The tank file (JSON, see docs/tank.md) that the scale goes through; with --into the name of the job's tank, needed where it has several."`
	When string `default:"as-left" enum:"as-found,as-left" help:"Whether the check was made before (as-found) or after (as-left) setting."`
	By   string `help:"Who made the check, for the job file."`
	serviceInput
	JSON bool `name:"json" help:"Write the result as JSON."`

	ofTank []finding.Finding `kong:"-"` // what the tank file was found to be
	left   *drift.SeenResult `kong:"-"` // the check beside the one made as left, with --against
}

// Run judges the display mark by mark.
func (v *checkVerb) Run(s streams) error {
	sheet, bench, err := s.displayOrBench(v.File)
	if err != nil {
		return err
	}
	if bench != nil {
		return v.runService(s, *bench)
	}
	proof, err := v.prove(s, sheet)
	if err != nil {
		return err
	}
	if v.JSON {
		r := checkResult(sheet.Unit, proof, v.ofTank)
		if v.left != nil {
			r.set("since_as_left", v.left)
		}
		err = writeJSON(s.out, r)
	} else {
		printProof(s, sheet.Unit, proof, v.ofTank)
		if v.left != nil {
			writeFindings(s.out, v.left.Findings)
		}
	}
	if err == nil && !proof.Pass {
		err = errBad
	}
	return err
}

func (v *checkVerb) prove(s streams, sheet readings.ShownSheet) (span.Proof, error) {
	switch {
	case v.ofSender():
		return span.Proof{}, fmt.Errorf("--meter, --leads and --temperature-drift are about the sender's own values; %s has what a display shows", v.File)
	case v.Into == "" && v.Against == "":
		return v.proveAlone(s, sheet)
	case v.Into != "" && v.Against != "":
		return span.Proof{}, errBoth
	}
	day, err := v.day()
	if err != nil {
		return span.Proof{}, err
	}
	j, before, err := toChange(v.Into + v.Against)
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
	if !v.jobScale() {
		return span.Proof{}, fmt.Errorf("with --into the scale comes from the job; leave out --scale, --permitted-fill, --heel, --capacity, --empty-mark and --full-mark")
	}
	if v.Readings != "" || v.Set != "" {
		return span.Proof{}, fmt.Errorf("with --into the sender and what was keyed in come from the job; leave out --readings and --set")
	}
	if err := v.stepIsOne(); err != nil {
		return span.Proof{}, err
	}
	check := v.stored(sheet, day.Format(time.DateOnly))
	check.DisplayStepPct, check.MarkDoubt = v.DisplayStep.float(), v.MarkDoubt.float()
	t.Checks = append(t.Checks, check)
	proofs, err := t.Proofs()
	if err != nil {
		return span.Proof{}, err
	}
	proof := proofs[len(proofs)-1].Proof
	if v.Into == "" {
		v.left, err = t.SinceLeft(proofs, len(proofs)-1, drift.Options{ErrorRate: float64(v.ErrorRate) / 100})
		return proof, err
	}
	_, err = s.write(v.Into, j, before, v.By, fmt.Sprintf("%s: checked %s, %s", t.Name, check.When, proof.Judgement()))
	return proof, err
}

// jobScale says that no flag states a scale, which the job does.
func (v *checkVerb) jobScale() bool {
	return v.PermittedFill == "" && v.Heel == "" && v.Capacity == "" && v.Scale == string(scale.Mark) && v.EmptyMark == nil && v.FullMark == nil
}

// proveAlone judges a check that belongs to no job.
func (v *checkVerb) proveAlone(s streams, sheet readings.ShownSheet) (span.Proof, error) {
	c, keyed, err := v.sender(s, sheet)
	if err != nil {
		return span.Proof{}, err
	}
	sc, err := v.checkScale(s, sheet.Unit, c)
	if err != nil {
		return span.Proof{}, err
	}
	d := span.UsualDoubt()
	if err := v.stepIsOne(); err != nil {
		return span.Proof{}, err
	}
	if v.DisplayStep != nil {
		d.Step = quantity.Share(*v.DisplayStep / 100)
	}
	if v.MarkDoubt != nil {
		empty, full := sc.Whole()
		d.Mark = quantity.Share(sheet.Unit.FromShown(float64(*v.MarkDoubt)) / (full - empty))
	}
	if c != nil {
		d.Sender = job.SenderDoubt(c, keyed)
	}
	return span.ProveWith(sc, seen(sheet), quantity.Share(v.Tolerance/100), d)
}

// stepIsOne refuses a step that a display can't have.
func (v *checkVerb) stepIsOne() error {
	if v.DisplayStep != nil && !(*v.DisplayStep > 0) {
		return fmt.Errorf("--display-step %g isn't a step; expected points above 0, such as 1 or 0.1", *v.DisplayStep)
	}
	return nil
}

// sender is the curve of the sender and what was keyed in for it, or nil where
// nothing is said of it.
func (v *checkVerb) sender(s streams, sheet readings.ShownSheet) (*curve.Curve, span.Setting, error) {
	switch {
	case v.Readings == "" && v.Set == "":
		return nil, nil, nil
	case v.Readings == "" || v.Set == "":
		return nil, nil, fmt.Errorf("--readings and --set go together: the sender's ohms tell nothing of the display without the end values, nor these without the ohms")
	case v.Readings == "-" && v.File == "-":
		return nil, nil, fmt.Errorf("the check and --readings can't both come from standard input")
	}
	keyed, err := span.ParseEnds(v.Set)
	if err != nil {
		return nil, nil, fmt.Errorf("--set %w", err)
	}
	c, err := senderInput{Readings: v.Readings}.fit(s)
	if err != nil {
		return nil, nil, err
	}
	if c.Unit() != sheet.Unit {
		return nil, nil, fmt.Errorf("%s has marks in %s and %s has them in %s", v.File, sheet.Unit.Symbol(), v.Readings, c.Unit().Symbol())
	}
	return c, keyed, nil
}

// checkScale is the scale as the flags have it. Off a dial the marks at empty
// and full can't be guessed from what was checked; the bench readings have them.
func (v *checkVerb) checkScale(s streams, unit curve.MarkUnit, c *curve.Curve) (scale.Scale, error) {
	empty, full := 0.0, 1.0
	if c != nil {
		empty, full = v.ends(c)
		sc, findings, err := v.scale(s, v.Tank, unit, empty, full)
		v.ofTank = findings
		return sc, err
	}
	through := v.Scale != string(scale.Mark) && (v.Tank != "" || v.Capacity != "")
	switch {
	case unit == curve.Dial || v.EmptyMark != nil && v.FullMark != nil:
	case through:
		// The tank has them.
		empty, full = math.NaN(), math.NaN()
	default:
		return scale.Scale{}, fmt.Errorf("marks in %s need --empty-mark and --full-mark (the marks at 0 %% and 100 %%), --readings that have them, or --into a job that knows them", unit.Symbol())
	}
	if v.EmptyMark != nil {
		empty = unit.FromShown(float64(*v.EmptyMark))
	}
	if v.FullMark != nil {
		full = unit.FromShown(float64(*v.FullMark))
	}
	sc, findings, err := v.scale(s, v.Tank, unit, empty, full)
	v.ofTank = findings
	return sc, err
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

func checkResult(unit curve.MarkUnit, proof span.Proof, ofTank []finding.Finding) fields {
	var r fields
	r.set("pass", proof.Pass)
	r.set("verdict", proof.Verdict)
	r.set("sentence", telling.Verdict(proof))
	r.set("tolerance_pct", points(proof.Tolerance))
	r.set("display_step_pct", points(proof.Doubt.Step))
	r.set("mark_doubt_pct", points(proof.Doubt.Mark))
	rows := make([]fields, len(proof.Rows))
	for i, row := range proof.Rows {
		rows[i].set(unit.Column(), unit.ToShown(row.Mark))
		rows[i].set("target_pct", points(row.Target))
		rows[i].set("shown_pct", points(row.Shown))
		rows[i].set("error_pct", points(row.Error()))
		rows[i].set("pass", row.Pass)
		rows[i].set("verdict", row.Verdict)
		rows[i].set("probability", figure(row.Probability))
		rows[i].set("u_pct", points(row.U))
		rows[i].set("guard_band_pct", points(row.GuardBand))
	}
	r.set("checks", rows)
	r.set("findings", append(append([]finding.Finding{}, ofTank...), proof.Findings()...))
	return r
}

func printProof(s streams, unit curve.MarkUnit, proof span.Proof, ofTank []finding.Finding) {
	g, lines := telling.Proof(unit, proof)
	writeGrid(s.out, g)
	fmt.Fprintf(s.out, "\n%s\n\n", telling.VerdictLoud(proof))
	writeFindings(s.out, append(append([]finding.Finding{}, ofTank...), proof.Findings()...))
	for _, line := range lines {
		writeWrapped(s.out, "- ", line)
	}
}
