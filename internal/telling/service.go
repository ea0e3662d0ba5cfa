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
	l, err := t.Against(nil, later, doubts, day, tolerance, o)
	if err != nil {
		return ServiceCheck{}, err
	}
	return ServiceCheck{Drift: l.Drift, Advice: l.Advice, Cautions: append([]string{}, t.Cautions()...)}, nil
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
