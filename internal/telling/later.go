package telling

import (
	"fmt"
	"math"
	"time"

	"gaugewright/internal/curve"
	"gaugewright/internal/drift"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
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

// LaterOf holds later check k of a tank, from 0, against its record, as
// [CheckService] does, with the tolerance of the last check made as left.
func LaterOf(t job.Tank, k int) (Later, error) {
	if k < 0 || k >= len(t.Services) {
		return Later{}, fmt.Errorf("tank %q has no later check %d", t.Name, k+1)
	}
	l := Later{RecordDay: dateOf(t.Bench.Date), Day: dateOf(t.Services[k].Date), Readings: len(t.Services[k].Readings)}
	var err error
	if l.Record, err = t.Curve(); err != nil {
		return l, err
	}
	sheet, err := t.Service(k)
	if err != nil {
		return l, err
	}
	tolerance := t.Tolerance()
	own := t
	if t.Setting == nil {
		l.Lacks = "Nothing is keyed in for this tank, so there is nothing to leave or to key in anew."
	} else if bad := t.CanAdvise(); bad != nil {
		own.Setting, l.Lacks = nil, Sentence(bad.Error()) // the sender can be judged all the same
	}
	check, err := CheckService(own, sheet, t.ServiceDoubts(k), l.Day, tolerance, drift.Options{})
	if err != nil {
		return l, err
	}
	l.Result, l.Advice = check.Drift, check.Advice
	return l, nil
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

// dull is the change of a whole sender, in percent of the span, from which on a check
// should see it (common practice, no source).
const dull = 5

// Dull says that nothing was found, and that a change worth finding could have gone
// unseen.
func (l Later) Dull() bool {
	if l.Result.Changed {
		return false
	}
	for _, d := range l.Result.Power {
		if d.Cause != drift.Misread && math.Abs(d.Points) > dull {
			return true
		}
	}
	return false
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

// Grid is the readings of the check beside the record, with what the columns are.
func (l Later) Grid() (Grid, []string) {
	return Service(l.Result, l.Record.Unit(), l.Record.Signal())
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
		if d := dateOf(t.Checks[i].Date); t.Checks[i].When == job.AsLeft && !d.IsZero() {
			return d
		}
	}
	if t.Setting != nil {
		if d := dateOf(t.Setting.Date); !d.IsZero() {
			return d
		}
	}
	return dateOf(t.Bench.Date)
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

// dateOf reads a date as a job keeps it; zero where there is none.
func dateOf(text string) time.Time {
	day, err := time.Parse(time.DateOnly, text)
	if err != nil {
		return time.Time{}
	}
	return day
}
