package telling

import (
	"fmt"
	"strings"
	"time"

	"gaugewright/internal/curve"
	"gaugewright/internal/drift"
	"gaugewright/internal/finding"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/span"
)

// ServiceCheck is a later bench of a tank's sender held against its record.
type ServiceCheck struct {
	Drift drift.Result `json:"drift"`
	// Advice is nil where nothing was keyed in that it could be about.
	Advice   *drift.Advice `json:"advice"`
	Cautions []string      `json:"cautions"`
}

// Bad says that something has to be keyed in or replaced.
func (s ServiceCheck) Bad() bool { return s.Advice != nil && s.Advice.Do != drift.Leave }

// Findings gives what was found, the verdict first, then the advice.
func (s ServiceCheck) Findings() []finding.Finding {
	list := append([]finding.Finding(nil), s.Drift.Findings...)
	if s.Advice != nil {
		list = append(list, s.Advice.Findings...)
	}
	return list
}

// CheckService holds a later bench against the curve of a tank's record. The
// services that the tank has from before that day tell with it how fast the
// sender changes. The tolerance is that of the display, 0 the usual one; a zero
// day stands for an unknown one.
func CheckService(t job.Tank, later curve.Sheet, doubts curve.Doubts, day time.Time, tolerance quantity.Share, o drift.Options) (ServiceCheck, error) {
	record, err := t.Curve()
	if err != nil {
		return ServiceCheck{}, fmt.Errorf("tank %q has no record to compare with: %w", t.Name, err)
	}
	o.RecordDay = dateOf(t.Bench.Date)
	s := ServiceCheck{Cautions: append([]string{}, t.Cautions()...)}
	if s.Drift, err = drift.Compare(record, later, doubts, o); err != nil {
		return ServiceCheck{}, err
	}
	if t.Setting == nil {
		return s, nil
	}
	in, err := serviceReadout(t, tolerance)
	if err != nil {
		return ServiceCheck{}, err
	}
	in.RecordDay, in.Day = o.RecordDay, day
	if !in.RecordDay.IsZero() && !day.IsZero() && day.Before(in.RecordDay) {
		return ServiceCheck{}, fmt.Errorf("the service is dated %s and the record %s; a service can't come before its record", day.Format(time.DateOnly), in.RecordDay.Format(time.DateOnly))
	}
	if in.Earlier, err = earlier(t, record, in, o); err != nil {
		return ServiceCheck{}, err
	}
	advice, err := drift.Advise(s.Drift, in)
	if err != nil {
		return ServiceCheck{}, err
	}
	s.Advice = &advice
	return s, nil
}

// serviceReadout gives what a tank's setting says of its readout.
func serviceReadout(t job.Tank, tolerance quantity.Share) (drift.Readout, error) {
	sc, err := t.Scale()
	if err != nil {
		return drift.Readout{}, err
	}
	keyed, err := t.Setting.Keyed()
	if err != nil {
		return drift.Readout{}, fmt.Errorf("tank %q: %w", t.Name, err)
	}
	objective, err := span.ParseObjective(t.Setting.Objective)
	if err != nil {
		return drift.Readout{}, fmt.Errorf("tank %q: %w", t.Name, err)
	}
	return drift.Readout{
		Setting: keyed, Scale: sc, Tolerance: tolerance,
		Margin:    span.Margin{Ohm: quantity.Ohm(t.Setting.MarginOhm)},
		Takes:     span.Readout{Step: quantity.Ohm(t.Setting.StepOhm), Lowest: quantity.Ohm(t.Setting.LowestOhm), Highest: quantity.Ohm(t.Setting.HighestOhm)},
		Points:    t.Setting.Points,
		ShareStep: quantity.Share(t.Setting.StepPct / 100),
		Objective: objective,
		Overfills: len(t.Cautions()) > 0,
	}, nil
}

// earlier gives what the services of a tank before a day found of its display.
// Those without a date, or dated no later than the record, say nothing of how
// fast.
func earlier(t job.Tank, record *curve.Curve, in drift.Readout, o drift.Options) ([]drift.Visit, error) {
	if in.RecordDay.IsZero() {
		return nil, nil
	}
	var visits []drift.Visit
	for i, s := range t.Services {
		day := dateOf(s.Date)
		if !day.After(in.RecordDay) || !day.Before(in.Day) {
			continue
		}
		sheet, err := t.Service(i)
		if err != nil {
			return nil, err
		}
		r, err := drift.Compare(record, sheet, t.ServiceDoubts(i), o)
		if err != nil {
			return nil, fmt.Errorf("the service of %s: %w", s.Date, err)
		}
		at := in
		at.Day = day
		if v, ok := r.Visit(at); ok {
			visits = append(visits, v)
		}
	}
	return visits, nil
}

// dateOf reads a date as a job keeps it; zero where there is none.
func dateOf(text string) time.Time {
	day, err := time.Parse(time.DateOnly, text)
	if err != nil {
		return time.Time{}
	}
	return day
}

// Service lays the marks of a service check out, and says what the columns are.
func Service(r drift.Result, unit curve.MarkUnit, signal curve.Signal) (g Grid, lines []string) {
	g.Head = []string{"mark", "sweep", "record", "now", "change", "±", "of span", "beyond doubt"}
	for _, row := range r.Rows {
		beyond := "no"
		if row.Beyond {
			beyond = "YES"
		}
		g.Add(unit.Text(unit.FromShown(row.Mark)), row.Sweep, signal.Text(quantity.Ohm(row.Expected)), signal.Text(quantity.Ohm(row.Found)),
			plus(signal.Text(quantity.Ohm(row.Change)), row.Change), signal.Text(quantity.Ohm(2*row.U)), plus(quantity.Digits(row.Points, 1)+" %", row.Points), beyond)
	}
	return g, []string{
		"± is the doubt of the change, about 95 %. A mark is beyond doubt where its change is beyond what " +
			fmt.Sprintf("chance gives at any of these marks in %s of 100 senders that haven't changed.", quantity.Short(r.ErrorRate*100, 2)),
		fmt.Sprintf("The verdict goes by all marks together: a sender that hasn't changed is said to have in %s of 100 cases.", quantity.Short(r.ErrorRate*100, 2)),
	}
}

// plus puts a sign before a printed number, none before one that rounds to zero.
func plus(text string, v float64) string {
	if v > 0 && strings.ContainsAny(text, "123456789") {
		return "+" + text
	}
	return quantity.Minus(text)
}
