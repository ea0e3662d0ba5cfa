package record

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"gaugewright/internal/curve"
	"gaugewright/internal/drift"
	"gaugewright/internal/finding"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
)

// mostLater is how many later checks of a sender are judged in a record, the last
// ones: each takes about as long as a curve.
const mostLater = 20

// laterCheck is one check of the sender itself, held against the record.
type laterCheck struct {
	index  int // in the tank's services
	bench  job.Service
	found  job.Later
	err    error // why it can't be held against the record
	advise error // why nothing can be advised
	empty  bool  // without readings
}

// judgeLater holds the tank's later checks against its curve, by the tolerance of
// the last check as left, as the pages do.
func (b *tank) judgeLater() {
	b.later, b.laterLeft = nil, max(0, len(b.Services)-mostLater)
	own := b.Tank
	bad := own.CanAdvise()
	if bad != nil {
		own.Setting = nil // the sender can be judged all the same
	}
	b.later = sideBySide(len(b.Services)-b.laterLeft, func(k int) laterCheck {
		i := b.laterLeft + k
		c := laterCheck{index: i, bench: b.Services[i], advise: bad}
		switch {
		case len(c.bench.Readings) == 0:
			c.empty = true
		case b.curve == nil:
			c.err = b.curveErr
		default:
			c.found, c.err = own.Later(i, b.curve, own.Tolerance(), drift.Options{})
		}
		return c
	})
}

// handedOver is the day on which the display was first checked as left, else the
// day it was set, else that of the bench; zero where none is stated.
func (b tank) handedOver() time.Time {
	for _, c := range b.Checks {
		if d := dateIn(c.Date); c.When == job.AsLeft && !d.IsZero() {
			return d
		}
	}
	if b.Setting != nil {
		if d := dateIn(b.Setting.Date); !d.IsZero() {
			return d
		}
	}
	return dateIn(b.Bench.Date)
}

// comesLater says of each check of the display whether it belongs to a later visit:
// it was made as found after the tank was handed over, or as left after such a
// check or a check of the sender itself.
func (b tank) comesLater() []bool {
	over := b.handedOver()
	out := make([]bool, len(b.Checks))
	if over.IsZero() {
		return out
	}
	var visit time.Time // the first one after
	see := func(d time.Time) {
		if d.After(over) && (visit.IsZero() || d.Before(visit)) {
			visit = d
		}
	}
	for _, s := range b.Services {
		see(dateIn(s.Date))
	}
	for _, c := range b.Checks {
		if c.When == job.AsFound {
			see(dateIn(c.Date))
		}
	}
	for i, c := range b.Checks {
		out[i] = !visit.IsZero() && !dateIn(c.Date).Before(visit)
	}
	return out
}

// laterBlocks is what was found at later visits, in the order of time.
func (b tank) laterBlocks() []Block {
	type event struct {
		day    time.Time
		turn   int // within the day: as found, the sender, as left
		blocks []Block
	}
	var events []event
	for _, c := range b.later {
		events = append(events, event{dateIn(c.bench.Date), 1, b.laterCheck(c)})
	}
	for i, later := range b.comesLater() {
		if later && i < len(b.proofs) {
			turn := 0
			if b.Checks[i].When == job.AsLeft {
				turn = 2
			}
			events = append(events, event{dateIn(b.Checks[i].Date), turn, []Block{b.laterDisplay(i)}})
		}
	}
	slices.SortStableFunc(events, func(p, q event) int {
		return cmp.Or(p.day.Compare(q.day), cmp.Compare(p.turn, q.turn))
	})
	var out []Block
	if b.laterLeft > 0 {
		out = append(out, Findings{Heading: "Later checks", List: []Sentence{plain(fmt.Sprintf("The job file holds %d later checks of this sender; the last %d of them follow.", len(b.Services), mostLater))}})
	}
	for _, e := range events {
		out = append(out, e.blocks...)
	}
	return out
}

// laterDisplay is a check of the display at a later visit, with what has changed
// since the one made as left.
func (b tank) laterDisplay(i int) Table {
	t := b.checkTable(i, b.proofs[i])
	if b.proofs[i].Check.When != job.AsFound {
		return t
	}
	switch since, err := b.SinceLeft(b.proofs, i, drift.Options{}); {
	case err != nil:
		t.Notes = append(t.Notes, "It can't be held against the check as left: "+clean(err.Error())+".")
	case since != nil:
		for _, f := range since.Findings {
			s := SentenceOf(f)
			t.Notes = append(t.Notes, s.Word+": "+s.Text)
		}
	}
	return t
}

// laterCheck is one later check of the sender: what it came to, and mark by mark.
func (b tank) laterCheck(c laterCheck) []Block {
	on := day(c.bench.Date)
	heading := "Later check"
	if on != "" {
		heading += " of " + on
	}
	f := Findings{Heading: heading + ": " + c.verdict(), List: []Sentence{plain(b.laterBench(c))}}
	switch {
	case c.empty:
		return []Block{f}
	case c.err != nil:
		f.List = append(f.List, weighed(finding.Doubt, "It can't be held against the record: "+c.err.Error()+"."))
		return []Block{f}
	}
	for _, found := range c.found.Drift.Findings {
		f.List = append(f.List, SentenceOf(found))
	}
	f.List = append(f.List, b.advice(c)...)
	if note := clean(c.bench.Note); note != "" {
		f.List = append(f.List, plain(note))
	}
	return []Block{f, b.laterTable(c, heading)}
}

// verdict is a later check in the fewest words.
func (c laterCheck) verdict() string {
	switch {
	case c.empty:
		return "no readings"
	case c.err != nil:
		return "not judged"
	}
	words := "no change is seen"
	if c.found.Drift.Changed {
		words = "the sender has changed"
	}
	if todo := c.todo(); todo != "" {
		words += ", " + todo
	}
	return words
}

// todo is what is to be done after a later check; "" where nothing is.
func (c laterCheck) todo() string {
	if c.empty || c.err != nil || c.found.Advice == nil || c.found.Advice.Do == drift.Leave {
		return ""
	}
	cause, told := c.found.Drift.Cause()
	switch {
	case told && cause.Cause == drift.Misread:
		return "read that mark again"
	case c.found.Advice.Mend:
		return "mend first"
	case c.found.Advice.Do == drift.ReKey:
		return "key in anew"
	}
	return "replace the sender"
}

// setAfter says that what is keyed in was keyed in after a later check.
func (b tank) setAfter(c laterCheck) bool {
	return b.Setting != nil && dateIn(b.Setting.Date).After(dateIn(c.bench.Date))
}

// leftWell says that what a later check asked to be mended was, as far as the
// display tells: it was checked as left since, and passed.
func (b tank) leftWell(c laterCheck) bool {
	if c.found.Advice == nil || !c.found.Advice.Mend {
		return false
	}
	on := dateIn(c.bench.Date)
	return slices.ContainsFunc(b.proofs, func(p job.Proved) bool {
		d := dateIn(p.Check.Date)
		return p.Check.When == job.AsLeft && p.Proof.Pass && !on.IsZero() && !d.Before(on)
	})
}

// advice is what is advised after a later check.
func (b tank) advice(c laterCheck) []Sentence {
	var list []Sentence
	switch {
	case c.found.Advice != nil:
		if b.setAfter(c) {
			list = append(list, plain(fmt.Sprintf("What follows is of what is keyed in now, which was keyed in after this check, on %s.", day(b.Setting.Date))))
		}
		for _, f := range c.found.Advice.Findings {
			list = append(list, SentenceOf(f))
		}
	case c.advise != nil:
		list = append(list, weighed(finding.Doubt, "Nothing can be advised about what is keyed in: "+c.advise.Error()+"."))
	default:
		list = append(list, plain("Nothing is keyed in for this tank, so nothing is advised about it."))
	}
	return list
}

// laterBench is who read what at a later check, and with what.
func (b tank) laterBench(c laterCheck) string {
	words := fmt.Sprintf("%d readings of the sender itself", len(c.bench.Readings))
	switch len(c.bench.Readings) {
	case 0:
		words = "No readings of the sender"
	case 1:
		words = "One reading of the sender itself"
	}
	if by := byOn(c.bench.By, c.bench.Date); by != "" {
		words += ", " + by
	}
	if with := clean(c.bench.Meter); with != "" {
		words += ", with: " + with
	}
	if c.bench.TemperatureC != nil {
		words += fmt.Sprintf(", at %s °C", quantity.Minus(quantity.Short(*c.bench.TemperatureC, 1)))
	}
	return strings.TrimSuffix(words, ".") + "."
}

// laterTable is the record beside a later check.
func (b tank) laterTable(c laterCheck, heading string) Table {
	r, signal := c.found.Drift, b.Signal()
	in := ", " + signal.Unit()
	t := Table{ID: fmt.Sprintf("%s-later-%d", b.id, c.index+1), Heading: heading + ", mark by mark",
		Columns: []Column{{markHead(b.unit), true}, {"Record" + in, true}, {"Then" + in, true}, {"Change" + in, true}, {"Doubt" + in, true}, {"Of the span, %", true}, {"Beyond doubt", false}}}
	for _, row := range r.Rows {
		mark := b.unit.Figure(b.unit.FromShown(row.Mark))
		switch row.Sweep {
		case curve.Up.String():
			mark = "▲ " + mark
		case curve.Down.String():
			mark = "▽ " + mark
		}
		beyond := "no"
		if row.Beyond {
			beyond = "yes"
		}
		t.Rows = append(t.Rows, Row{Strong: row.Beyond, Cells: []string{mark,
			signal.Figure(quantity.Ohm(row.Expected)), signal.Figure(quantity.Ohm(row.Found)),
			withSign(signal.Figure(quantity.Ohm(row.Change)), row.Change), "±" + signal.Figure(quantity.Ohm(2*row.U)),
			withSign(quantity.Digits(row.Points, 1), row.Points), beyond}})
	}
	rate := quantity.Short(r.ErrorRate*100, 2)
	t.Notes = []string{
		"Record: what the curve in this record gives; then: what was read at the check. Doubt: of the change, about 95 %. A mark is beyond doubt where its change is more than chance gives at any of these marks in " + rate + " of 100 senders that haven't changed.",
		"The verdict goes by all marks together: a sender that hasn't changed is said to have in " + rate + " of 100 cases.",
	}
	return t
}

// withSign puts a plus before a printed number that is above zero as printed.
func withSign(text string, v float64) string {
	if v > 0 && strings.ContainsAny(text, "123456789") {
		return "+" + text
	}
	return quantity.Minus(text)
}

// dateIn reads a date as a job keeps it; zero where there is none.
func dateIn(text string) time.Time {
	d, err := time.Parse(time.DateOnly, text)
	if err != nil {
		return time.Time{}
	}
	return d
}
