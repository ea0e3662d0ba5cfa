package sitting

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode"

	"gaugewright/internal/curve"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
)

// Take puts a reading behind those of the bench. It is refused where its mark or
// its signal isn't in what the bench has, a number isn't one that is believed,
// the sweep or the time can't be read, or the bench is full. The lists of the
// bench are new ones; what was there before isn't touched, here and below.
func Take(t *job.Tank, r job.Reading) error {
	if err := fits(*t, r); err != nil {
		return err
	}
	t.Bench.Readings = append(slices.Clip(slices.Clone(t.Bench.Readings)), r)
	return nil
}

// Strike strikes out the reading that a reference names: it stays in the job,
// with the reason and the time. The zero time isn't written down.
func Strike(t *job.Tank, ref, reason string, at time.Time) error {
	i, err := Find(*t, ref)
	if err != nil {
		return err
	}
	return strike(t, i, reason, at)
}

// Undo strikes out the last reading of the bench, and gives it.
func Undo(t *job.Tank, at time.Time) (job.Reading, error) {
	n := len(t.Bench.Readings)
	if n == 0 {
		return job.Reading{}, errors.New("there is no reading to take back")
	}
	last := t.Bench.Readings[n-1]
	return last, strike(t, n-1, "undone", at)
}

// Restore puts a struck reading back at its place. The reference is that by
// which it was struck, or that of [StruckRef].
func Restore(t *job.Tank, ref string) error {
	i, err := FindStruck(*t, ref)
	if err != nil {
		return err
	}
	if len(t.Bench.Readings) >= job.MaxReadings {
		return errFull
	}
	strip := stripOf(t.Bench)
	for k := range strip {
		if l := &strip[k]; l.struck && l.index == i {
			l.struck = false
		}
	}
	strip.onto(&t.Bench)
	return nil
}

// Correction is what a reading should have said; nil stays as it is.
type Correction struct {
	Mark  *float64      // share, m, m³ or kg, as the bench has it
	Value *quantity.Ohm // in the shown unit of the bench's signal
	Sweep *curve.Sweep
	Note  *string
}

// Correct puts a corrected reading in the place of the one that a reference
// names, which is struck out with what it was corrected to. Its time stays: that
// is when it was taken.
func Correct(t *job.Tank, ref string, c Correction, at time.Time) error {
	i, err := Find(*t, ref)
	if err != nil {
		return err
	}
	old := t.Bench.Readings[i]
	unit, r := t.Unit(), old
	if c.Mark != nil {
		r.SetMark(quantity.Round(unit.ToShown(*c.Mark), 9), unit)
	}
	if c.Value != nil {
		r.Ohm = quantity.Round(float64(*c.Value), 9)
	}
	if c.Sweep != nil {
		r.Sweep = c.Sweep.String()
	}
	if c.Note != nil {
		r.Note = *c.Note
	}
	if hashOf(r) == hashOf(old) {
		return errors.New("nothing is corrected: it says so already")
	}
	if err := fits(*t, r); err != nil {
		return err
	}
	if len(t.Bench.Struck) >= job.MaxStruck {
		return errStruckFull
	}
	strip := stripOf(t.Bench)
	k := strip.standing(i)
	strip[k].strike("corrected to "+Words(r), at)
	slices.Insert(strip, k+1, line{reading: r}).onto(&t.Bench)
	return nil
}

// Figure writes a value as it was read, without its unit: to the signal's usual
// last digit at least, and further where there is more, to a thousandth.
func Figure(signal curve.Signal, v quantity.Ohm) string {
	text := quantity.Short(float64(v), 3)
	_, decimals, _ := strings.Cut(text, ".")
	return quantity.Digits(float64(v), max(len(decimals), signal.Decimals()))
}

// Words says what a reading is: "40 %, 36.2 Ω, going up".
func Words(r job.Reading) string {
	text := Figure(r.Signal, quantity.Ohm(r.Ohm)) + " " + r.Signal.Unit()
	if mark, unit, ok := r.Mark(); ok {
		text = unit.Text(unit.FromShown(mark)) + ", " + text
	}
	if r.Sweep != "" {
		text += ", going " + r.Sweep
	}
	return text
}

var (
	errFull       = fmt.Errorf("the bench is full: %d readings; go on in another job", job.MaxReadings)
	errStruckFull = fmt.Errorf("%d readings were struck out on this bench, and no more are kept; go on in another job", job.MaxStruck)
)

// fits says why a reading can't stand on a tank's bench.
func fits(t job.Tank, r job.Reading) error {
	mark, unit, ok := r.Mark()
	if !ok {
		return errors.New("the reading has no mark, or more than one; give it one")
	}
	if own, known := t.KnownUnit(); known && unit != own {
		return fmt.Errorf("a mark in %s, and the marks of this bench are in %s", unit.Symbol(), own.Symbol())
	}
	if own, known := t.KnownSignal(); known && r.Signal != own {
		return fmt.Errorf("a reading in %s, and the bench reads %s; set the meter to that", r.Signal.Figures(), own.Figures())
	}
	if !(mark >= 0 && mark <= unit.Limit()) {
		return fmt.Errorf("the mark %g lies outside 0 to %s %s", mark, quantity.Short(unit.Limit(), 0), unit.Symbol())
	}
	if limit := r.Signal.Limit(); !(r.Ohm >= 0 && quantity.Ohm(r.Ohm) <= limit) {
		return fmt.Errorf("%g %s can't come from a level sender; expected 0 to %s", r.Ohm, r.Signal.Unit(), quantity.Short(float64(limit), 0))
	}
	if _, err := curve.ParseSweep(r.Sweep); err != nil {
		return err
	}
	if _, err := time.Parse(time.RFC3339, r.Time); err != nil && r.Time != "" {
		return fmt.Errorf("the time %s is not as in RFC 3339", quoted(r.Time))
	}
	if len(t.Bench.Readings) >= job.MaxReadings {
		return errFull
	}
	return nil
}

func strike(t *job.Tank, i int, reason string, at time.Time) error {
	if len(t.Bench.Struck) >= job.MaxStruck {
		return errStruckFull
	}
	strip := stripOf(t.Bench)
	strip[strip.standing(i)].strike(reason, at)
	strip.onto(&t.Bench)
	return nil
}

// strip is all readings of a bench in the order taken.
type strip []line

type line struct {
	reading      job.Reading
	index        int // in its list, as it was
	struck       bool
	reason, when string
}

func stripOf(b job.Bench) strip {
	taken := b.Strip()
	out := make(strip, len(taken), len(taken)+1)
	for i, l := range taken {
		out[i] = line{reading: l.Reading, index: l.Index, struck: l.Struck}
		if l.Struck {
			out[i].reason, out[i].when = b.Struck[l.Index].Reason, b.Struck[l.Index].When
		}
	}
	return out
}

// standing gives the place of reading i of the bench.
func (s strip) standing(i int) int {
	return slices.IndexFunc(s, func(l line) bool { return !l.struck && l.index == i })
}

func (l *line) strike(reason string, at time.Time) {
	l.struck, l.reason, l.when = true, oneLine(reason), ""
	if !at.IsZero() {
		l.when = at.Format(time.RFC3339)
	}
}

// onto puts the strip onto a bench, with everybody's place.
func (s strip) onto(b *job.Bench) {
	readings := make([]job.Reading, 0, len(s))
	var struck []job.Struck
	for i, l := range s {
		if !l.struck {
			readings = append(readings, l.reading)
			continue
		}
		struck = append(struck, job.Struck{Reading: l.reading, Reason: l.reason, When: l.when, At: &i})
	}
	b.Readings, b.Struck = readings, struck
}

// mostReason is as long as the job file takes a line.
const mostReason = 300

// oneLine makes a text fit for one line of a job file.
func oneLine(text string) string {
	text = strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || r == '\u2028' || r == '\u2029' {
			return ' '
		}
		return r
	}, strings.ToValidUTF8(text, "\ufffd"))
	text = strings.TrimSpace(text)
	if r := []rune(text); len(r) > mostReason {
		text = string(r[:mostReason-1]) + "…"
	}
	return text
}
