package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"time"

	"gaugewright/internal/curve"
	"gaugewright/internal/drift"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/readings"
	"gaugewright/internal/telling"
)

// serviceInput is what a check of the sender itself takes besides that of the
// display.
type serviceInput struct {
	Against          string `placeholder:"JOB" help:"As --into, but nothing is stored."`
	Date             string `placeholder:"YYYY-MM-DD" help:"The day of the check; today unless given."`
	Meter            string `placeholder:"SPEC" help:"For a check of the sender's own values: the meter they were read with, as for the verb curve."`
	Leads            string `placeholder:"OHM" help:"For a check of the sender's own values: what the shorted test leads read, such as 0.3ohm; it is taken off."`
	TemperatureDrift string `placeholder:"PERCENT" help:"For a check of the sender's own values: how far they may change with the weather either way, such as 0.4%."`
	ErrorRate        number `default:"1" placeholder:"PERCENT" help:"How often a sender that hasn't changed may be said to have, in percent."`
}

// ofSender says whether anything was given that only a check of the sender uses.
func (in serviceInput) ofSender() bool {
	return in.Meter != "" || in.Leads != "" || in.TemperatureDrift != ""
}

// displayOrBench reads a check from a file, or from standard input: what a
// display showed, or else bench readings of the sender. The columns tell which
// it is. Where it can't be read as either, the error is that of the kind whose
// columns it has.
func (s streams) displayOrBench(path string) (readings.ShownSheet, *curve.Sheet, error) {
	if path != "-" {
		shown, err := readings.ReadShownFile(path)
		if err == nil {
			return shown, nil, nil
		}
		bench, other := readings.ReadFile(path)
		return either(bench, err, other)
	}
	text, err := io.ReadAll(io.LimitReader(s.in, readings.MaxBytes+1))
	if err != nil {
		return readings.ShownSheet{}, nil, err
	}
	shown, err := readings.ReadShown(bytes.NewReader(text), standardInput)
	if err == nil {
		return shown, nil, nil
	}
	bench, other := readings.Read(bytes.NewReader(text), standardInput)
	return either(bench, err, other)
}

// either decides between two ways in which a file can't be read. A row of a
// bench that can't be used stands below a head that could.
func either(bench curve.Sheet, asShown, asBench error) (readings.ShownSheet, *curve.Sheet, error) {
	if asBench == nil {
		return readings.ShownSheet{}, &bench, nil
	}
	var shown, own *readings.Error
	if errors.As(asShown, &shown) && errors.As(asBench, &own) && own.Line > shown.Line {
		return readings.ShownSheet{}, nil, asBench
	}
	return readings.ShownSheet{}, nil, asShown
}

// runService judges the sender by its own values.
func (v *checkVerb) runService(s streams, sheet curve.Sheet) error {
	if err := v.serviceFlags(); err != nil {
		return err
	}
	day, err := v.day()
	if err != nil {
		return err
	}
	in := telling.BenchStated{Meter: v.Meter, Leads: v.Leads, TemperatureDrift: v.TemperatureDrift}
	if v.MarkDoubt != nil {
		in.MarkDoubt = float64(*v.MarkDoubt)
	}
	doubts, err := in.Doubts(sheet.Unit, sheet.Signal)
	if err != nil {
		return flagged(err)
	}
	file := v.Into + v.Against
	j, before, err := toChange(file)
	if err != nil {
		return err
	}
	t, err := theTank(j, v.Tank)
	if err != nil {
		return err
	}
	result, err := telling.CheckService(*t, sheet, doubts, day, quantity.Share(v.Tolerance/100), drift.Options{ErrorRate: float64(v.ErrorRate) / 100})
	if err != nil {
		return named(v.File, err)
	}
	if v.Into != "" {
		if err := v.keepService(s, j, before, t, sheet, doubts, day); err != nil {
			return err
		}
	}
	if v.JSON {
		err = writeJSON(s.out, result)
	} else {
		printService(s, sheet, result)
	}
	if err == nil && result.Bad() {
		err = errBad
	}
	return err
}

// serviceFlags refuses what has no meaning for a check of the sender itself.
func (v *checkVerb) serviceFlags() error {
	switch {
	case v.Into == "" && v.Against == "":
		return fmt.Errorf("%s has what a sender gives, which is compared with a job's record; name the job with --into JOB (the readings are kept in it as a service) or --against JOB (nothing is kept)", v.File)
	case v.Into != "" && v.Against != "":
		return errBoth
	case v.DisplayStep != nil || v.Readings != "" || v.Set != "" || !v.jobScale():
		return fmt.Errorf("a check of the sender's own values takes its record, scale and setting from the job; leave out --display-step, --readings, --set, --scale, --permitted-fill, --heel, --capacity, --empty-mark and --full-mark")
	case !(v.ErrorRate >= 0.01 && v.ErrorRate <= 20):
		return fmt.Errorf("--error-rate %g can't be kept; expected 0.01 to 20 percent, such as 1", float64(v.ErrorRate))
	}
	return nil
}

var errBoth = errors.New("--into and --against are two ways of naming the job; give one")

// day is that of the check.
func (v *checkVerb) day() (time.Time, error) {
	if v.Date == "" {
		day, err := time.Parse(time.DateOnly, time.Now().Format(time.DateOnly))
		return day, err
	}
	day, err := time.Parse(time.DateOnly, v.Date)
	if err != nil {
		return time.Time{}, fmt.Errorf("--date %q isn't a date; write it like 2026-11-03", v.Date)
	}
	return day, nil
}

// keepService puts the readings into the job as a service.
func (v *checkVerb) keepService(s streams, j, before *job.Job, t *job.Tank, sheet curve.Sheet, doubts curve.Doubts, day time.Time) error {
	t.AddService(sheet, job.Service{Bench: job.Bench{By: v.By, Date: day.Format(time.DateOnly), Doubts: job.DoubtsOf(doubts, sheet.Unit)}})
	_, err := s.write(v.Into, j, before, v.By, fmt.Sprintf("%s: checked later, with %d readings", t.Name, len(sheet.Readings)))
	return err
}

func printService(s streams, sheet curve.Sheet, result telling.ServiceCheck) {
	g, lines := telling.Service(result.Drift, sheet.Unit, sheet.Signal)
	writeGrid(s.out, g)
	fmt.Fprintln(s.out)
	writeFindings(s.out, result.Findings())
	for _, line := range lines {
		writeWrapped(s.out, "- ", line)
	}
	writeListed(s.out, "\n"+telling.CautionHead, "! ", result.Cautions)
}
