package main

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"gaugewright/internal/curve"
	"gaugewright/internal/finding"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/telling"
)

type lastsVerb struct {
	File   string `arg:"" help:"The job file, or - for standard input."`
	Tank   string `placeholder:"NAME" help:"This tank alone; else every tank with loads."`
	Level  string `placeholder:"PERCENT" help:"What the display shows, such as 60%; as full as permitted unless something is given."`
	Ohm    string `aliases:"at-value" placeholder:"OHM" help:"Or the ohms of the sender, such as 42.5ohm; or what else it gives in the job, such as 2.5V."`
	Litres string `placeholder:"VOLUME" help:"Or what is in the tank, such as 20L."`
	Kg     string `name:"kg" placeholder:"MASS" help:"Or what it weighs, such as 8kg; of gas liquid and vapour."`
	Temp   string `placeholder:"TEMPERATURE" help:"The temperature of the contents, such as 5C; that of the job unless given."`
	Date   string `placeholder:"YYYY-MM-DD" help:"The day from which it is counted; today unless given."`
	JSON   bool   `name:"json" help:"Write the result as JSON."`
}

// tankOutlook is one tank with what is told of it.
type tankOutlook struct {
	of job.Tank
	job.Outlook
}

// Run tells what is left in the tanks of a job and how long it lasts.
func (v *lastsVerb) Run(s streams) error {
	j, err := s.job(v.File)
	if err != nil {
		return err
	}
	from, err := v.from()
	if err != nil {
		return err
	}
	tanks, err := v.tanks(j)
	if err != nil {
		return err
	}
	var out []tankOutlook
	for _, t := range tanks {
		if err := v.warm(&t); err != nil {
			return err
		}
		level, err := v.level(t)
		if err != nil {
			return err
		}
		o, err := t.Outlook(level, from)
		if err != nil {
			return err
		}
		out = append(out, tankOutlook{t, o})
	}
	if v.JSON {
		err = writeJSON(s.out, lastsResult(out))
	} else {
		for i, o := range out {
			if i > 0 {
				fmt.Fprintln(s.out)
			}
			o.print(s.out, j.Shown())
		}
	}
	for _, o := range out {
		if finding.Worst(o.Findings) == finding.Bad && err == nil {
			err = errBad
		}
	}
	return err
}

// job reads a job file, or standard input.
func (s streams) job(path string) (*job.Job, error) {
	if path == "-" {
		j, err := job.Read(s.in, standardInput)
		if err == nil {
			j.Beside(".")
		}
		return j, err
	}
	return job.ReadFile(path)
}

// from gives the day from which it is counted.
func (v *lastsVerb) from() (time.Time, error) {
	if v.Date == "" {
		y, m, d := time.Now().Date()
		return time.Date(y, m, d, 0, 0, 0, 0, time.UTC), nil
	}
	day, err := time.Parse(time.DateOnly, v.Date)
	if err != nil {
		return day, fmt.Errorf("--date: %q isn't a day of the calendar; write it like 2026-11-03", v.Date)
	}
	return day, nil
}

// tanks gives those that are asked for.
func (v *lastsVerb) tanks(j *job.Job) ([]job.Tank, error) {
	if v.Tank != "" {
		t, err := j.Tank(v.Tank)
		if err != nil {
			return nil, err
		}
		return []job.Tank{*t}, nil
	}
	var out []job.Tank
	var names []string
	for _, t := range j.Tanks {
		if len(t.Loads) > 0 {
			out, names = append(out, t), append(names, fmt.Sprintf("%q", t.Name))
		}
	}
	switch {
	case len(out) == 0:
		return nil, fmt.Errorf("no tank of job %s has loads, so nobody knows what uses it; put \"loads\" into the job file (docs/job-file.md), or name a tank with --tank", j.Number)
	case len(out) > 1 && (v.Ohm != "" || v.Litres != "" || v.Kg != ""):
		return nil, fmt.Errorf("--ohm, --litres and --kg are of one tank; say which with --tank: %s", strings.Join(names, ", "))
	}
	return out, nil
}

// warm puts the temperature asked for in the place of the job's.
func (v *lastsVerb) warm(t *job.Tank) error {
	if v.Temp == "" {
		return nil
	}
	kelvin, err := quantity.ParseKelvin(v.Temp)
	if err != nil {
		return fmt.Errorf("--temp: %w", err)
	}
	celsius := quantity.Round(kelvin.Celsius(), 9)
	if celsius < -40 || celsius > 60 {
		return fmt.Errorf("--temp: found %s; expected -40C to 60C", kelvin)
	}
	t.TemperatureC = &celsius
	return nil
}

// level tells how full a tank is from what was given, or as full as it may be.
func (v *lastsVerb) level(t job.Tank) (job.Level, error) {
	given := 0
	for _, text := range []string{v.Level, v.Ohm, v.Litres, v.Kg} {
		if text != "" {
			given++
		}
	}
	if given > 1 {
		return job.Level{}, errors.New("more than one of --level, --ohm, --litres and --kg; keep the one that was read")
	}
	switch {
	case v.Level != "":
		share, err := quantity.ParseShare(v.Level)
		if err != nil {
			return job.Level{}, fmt.Errorf("--level: %w", err)
		}
		return t.AtLevel(share)
	case v.Ohm != "":
		text := v.Ohm
		if signal := t.Signal(); signal != curve.Ohms {
			value, err := quantity.ParseNumber(strings.TrimSuffix(strings.TrimSuffix(text, signal.Symbol()), signal.Column()), true)
			if err != nil || !(value >= 0 && quantity.Ohm(value) <= signal.Limit()) {
				return job.Level{}, fmt.Errorf("--ohm: %q isn't what this sender gives; expected %s, 0 to %g", text, signal.Figures(), float64(signal.Limit()))
			}
			return t.AtOhm(quantity.Ohm(value))
		}
		if _, err := quantity.ParseNumber(text, true); err == nil {
			text += "ohm" // there is no other unit for it on a meter
		}
		ohm, err := quantity.ParseOhm(text)
		if err != nil {
			return job.Level{}, fmt.Errorf("--ohm: %w", err)
		}
		return t.AtOhm(ohm)
	case v.Litres != "":
		volume, err := quantity.ParseCubicMetre(v.Litres)
		if err != nil {
			return job.Level{}, fmt.Errorf("--litres: %w", err)
		}
		return t.AtVolume(volume)
	case v.Kg != "":
		mass, err := quantity.ParseKilogram(v.Kg)
		if err != nil {
			return job.Level{}, fmt.Errorf("--kg: %w", err)
		}
		return t.AtMass(mass)
	case t.Contents == job.Waste:
		return job.Level{}, nil // as empty as it is after emptying
	}
	full, err := t.Full()
	return job.Level{Share: full}, err
}

// print tells an outlook to a person.
func (o tankOutlook) print(w io.Writer, u quantity.Units) {
	l := telling.Outlook(o.of, o.Outlook, u)
	fmt.Fprintln(w, l.Title)
	writeFindings(w, l.Bad)
	for _, r := range l.Rows.Rows {
		writeWrapped(w, fmt.Sprintf("  %-12s  ", r[0]), r[1])
	}
	writeListed(w, telling.UsesHead, "- ", l.Uses)
	if l.Ask != "" {
		writeWrapped(w, "", l.Ask)
	}
	writeFindings(w, l.Others)
	writeListed(w, telling.CautionHead, "! ", l.Cautions)
}
