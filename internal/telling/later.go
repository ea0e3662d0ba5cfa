package telling

import (
	"errors"
	"fmt"
	"math"
	"time"

	"gaugewright/internal/curve"
	"gaugewright/internal/drift"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/span"
)

// Later is a later check of a tank, held against its record.
type Later struct {
	Record         *curve.Curve
	RecordDay, Day time.Time // zero where they aren't stated
	Readings       int
	Result         drift.Result
	// Advice is what to do about what is keyed in; nil where Lacks says why there
	// is none.
	Advice *drift.Advice
	Lacks  string
}

// LaterOf holds later check k of a tank, from 0, against its record, with the
// checks before it to tell how fast the sender moves. Its errors are those of
// the tank's curve and of [drift.Compare].
func LaterOf(t job.Tank, k int) (Later, error) {
	if k < 0 || k >= len(t.Services) {
		return Later{}, fmt.Errorf("tank %q has no later check %d", t.Name, k+1)
	}
	record, err := t.Curve()
	if err != nil {
		return Later{}, err
	}
	l := Later{Record: record, RecordDay: dayOf(t.Bench.Date), Day: dayOf(t.Services[k].Date), Readings: len(t.Services[k].Readings)}
	if l.Result, err = compareAt(t, record, k); err != nil {
		return l, err
	}
	in, err := readoutOf(t, l.RecordDay, l.Day)
	if err != nil {
		l.Lacks = Sentence(err.Error())
		return l, nil
	}
	for i := range k {
		if !dayOf(t.Services[i].Date).After(l.RecordDay) || len(t.Services[i].Readings) == 0 {
			continue
		}
		r, err := compareAt(t, record, i)
		if err != nil {
			continue // it says so on its own page
		}
		before := in
		before.Day = dayOf(t.Services[i].Date)
		if v, ok := r.Visit(before); ok {
			in.Earlier = append(in.Earlier, v)
		}
	}
	advice, err := drift.Advise(l.Result, in)
	if err != nil {
		l.Lacks = Sentence(err.Error())
		return l, nil
	}
	l.Advice = &advice
	return l, nil
}

func compareAt(t job.Tank, record *curve.Curve, k int) (drift.Result, error) {
	own := t
	own.Bench = t.Services[k].Bench
	sheet, err := own.Sheet()
	if err != nil {
		return drift.Result{}, err
	}
	return drift.Compare(record, sheet, t.Services[k].Doubts.Curve(t.Unit()), drift.Options{RecordDay: dayOf(t.Bench.Date)})
}

// readoutOf gives what shows a tank as it is set.
func readoutOf(t job.Tank, record, day time.Time) (drift.Readout, error) {
	if t.Setting == nil {
		return drift.Readout{}, errors.New("nothing is keyed in for this tank, so there is nothing to leave or to key in anew")
	}
	s := *t.Setting
	keyed, err := s.Keyed()
	if err != nil {
		return drift.Readout{}, err
	}
	sc, err := t.Scale()
	if err != nil {
		return drift.Readout{}, err
	}
	in := drift.Readout{Setting: keyed, Scale: sc, Points: s.Points, ShareStep: quantity.Share(s.StepPct / 100), Objective: span.Objective(s.Objective),
		Takes:     span.Readout{Step: quantity.Ohm(s.StepOhm), Lowest: quantity.Ohm(s.LowestOhm), Highest: quantity.Ohm(s.HighestOhm)},
		Overfills: t.Contents == job.LPG || t.Contents == job.Diesel || t.Contents == job.Petrol, RecordDay: record, Day: day}
	if s.MarginOhm > 0 {
		in.Margin = span.Margin{Ohm: quantity.Ohm(s.MarginOhm)}
	}
	for _, c := range t.Checks {
		if c.When == job.AsLeft && c.TolerancePct > 0 {
			in.Tolerance = quantity.Share(c.TolerancePct / 100)
		}
	}
	return in, nil
}

// Large is what to do, in the fewest words.
func (l Later) Large() string {
	if l.Advice == nil {
		return ""
	}
	cause, told := l.Result.Cause()
	switch {
	case l.Advice.Do == drift.Leave:
		return "Leave it"
	case told && cause.Cause == drift.Misread:
		return "Read that mark again"
	case l.Advice.Mend:
		return "Mend it first"
	case l.Advice.Do == drift.ReKey:
		return "Key in anew"
	}
	return "Replace it"
}

// Rates says how often this check errs: how many senders that haven't changed
// would be called changed, and which changes would have been found.
func (l Later) Rates() string {
	r := l.Result
	text := fmt.Sprintf("1 in %s senders that haven't changed would be called changed", quantity.Short(1/r.ErrorRate, 0))
	whole, one := 0.0, 0.0
	for _, d := range r.Power {
		if d.Cause == drift.Misread {
			one = max(one, d.Points)
		} else {
			whole = max(whole, math.Abs(d.Points))
		}
	}
	found := quantity.Short(100*drift.Found, 0)
	if whole > 0 {
		text += fmt.Sprintf("; a change of the whole sender of %s %% of the span would have been found %s times of 100", quantity.Digits(whole, 1), found)
	}
	if one > 0 {
		text += fmt.Sprintf(", one at a single mark of %s %%", quantity.Digits(one, 1))
	}
	return text + "."
}

// Grid is the readings of the check beside the record: what it gives at each mark,
// what was found, the change, and how much of a change may be doubt alone.
func (l Later) Grid() Grid {
	unit, signal := l.Record.Unit(), l.Record.Signal()
	g := Grid{Head: []string{"mark", "then", "now", "change", "doubt, ±", ""}}
	for _, row := range l.Result.Rows {
		mark := unit.Text(unit.FromShown(row.Mark))
		switch row.Sweep {
		case curve.Up.String():
			mark += " ▲"
		case curve.Down.String():
			mark += " ▽"
		}
		change := signal.Text(quantity.Ohm(row.Change))
		if row.Change > 0 {
			change = "+" + change
		}
		said := ""
		if row.Beyond {
			said = "beyond doubt"
		}
		g.Add(mark, signal.Text(quantity.Ohm(row.Expected)), signal.Text(quantity.Ohm(row.Found)), quantity.Minus(change), signal.Text(quantity.Ohm(row.Bound)), said)
	}
	return g
}

// Summary says what the check came to in the words of a card: "5 readings on 2
// May 2027, the sender has changed: key in anew".
func (l Later) Summary() string {
	text := readingsText(l.Readings)
	if !l.Day.IsZero() {
		text += " on " + day(l.Day)
	}
	if l.Result.Changed {
		text += ", the sender has changed"
	} else {
		text += ", no change is seen"
	}
	if large := l.Large(); large != "" {
		text += ": " + lower(large)
	}
	return text
}

// Due is by when the next check is proposed; false where there is no day to count
// from, or the sender is to be replaced.
func (l Later) Due() (time.Time, bool) {
	if l.Day.IsZero() || l.Advice == nil || l.Advice.Do == drift.Replace || l.Advice.Interval.Months == 0 {
		return time.Time{}, false
	}
	return l.Day.AddDate(0, l.Advice.Interval.Months, 0), true
}

// UncheckedWords says of a tank that has no later check since when, and by when
// one is proposed, in the words of a card.
func UncheckedWords(t job.Tank, today time.Time) string {
	since := HandedOver(t)
	if since.IsZero() {
		return "not checked yet; the day of the work isn't stated, so it isn't known when a check is due"
	}
	return "not checked since " + day(since) + "; " + DueWords(since.AddDate(0, drift.UsualMonths, 0), today)
}

// DueWords says by when a check is proposed, or since when it has been due.
func DueWords(due, today time.Time) string {
	if today.After(due) {
		return "a check has been due since " + day(due)
	}
	return "next check proposed by " + day(due)
}

// HandedOver is the last day on which a tank's work was proved, or else set, or
// else read; zero where none of them is dated.
func HandedOver(t job.Tank) time.Time {
	for i := len(t.Checks) - 1; i >= 0; i-- {
		if d := dayOf(t.Checks[i].Date); t.Checks[i].When == job.AsLeft && !d.IsZero() {
			return d
		}
	}
	if t.Setting != nil {
		if d := dayOf(t.Setting.Date); !d.IsZero() {
			return d
		}
	}
	return dayOf(t.Bench.Date)
}

func dayOf(date string) time.Time {
	d, err := time.Parse(time.DateOnly, date)
	if err != nil {
		return time.Time{}
	}
	return d
}

func day(t time.Time) string { return t.Format("2 Jan 2006") }

func readingsText(n int) string {
	if n == 1 {
		return "1 reading"
	}
	return fmt.Sprintf("%d readings", n)
}

// lower begins a text with a small letter.
func lower(s string) string {
	if s == "" || s[0] < 'A' || s[0] > 'Z' {
		return s
	}
	return string(s[0]-'A'+'a') + s[1:]
}

// CauseLines are the causes that were looked at, the most probable first, each
// with its odds; those of less than 1 in 100 are left out.
func (l Later) CauseLines() []string {
	var out []string
	for _, c := range l.Result.Causes {
		if c.Probability < 0.01 {
			continue
		}
		odds := fmt.Sprintf("%s in 100", quantity.Digits(math.Round(100*c.Probability), 0))
		if c.Probability > 0.995 {
			odds = "more than 99 in 100"
		}
		out = append(out, odds+": "+c.Sentence)
	}
	return out
}
