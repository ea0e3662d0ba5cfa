package readings

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"gaugewright/internal/curve"
)

// Write writes readings in the plain form: UTF-8, commas, decimal points, LF,
// and of the optional columns those that hold anything. Nothing is written
// unless all of it can be.
//
// What was written reads back as the same sheet, Line apart, for every mark
// that [curve.MarkUnit.FromShown] can give; other marks come back within one
// unit in the last place. The offset of a time is kept, its zone's name is not.
// A sheet that [Read] would refuse is refused here: no readings, a value
// outside its range, a note with control characters.
func Write(w io.Writer, s curve.Sheet) error {
	if !slices.Contains(curve.MarkUnits, s.Unit) {
		return fmt.Errorf("mark unit %d is not known", int(s.Unit))
	}
	if !slices.Contains(curve.Signals, s.Signal) {
		return fmt.Errorf("signal %d is not known", int(s.Signal))
	}
	if len(s.Readings) == 0 {
		return fmt.Errorf("no readings to write")
	}
	if len(s.Readings) > curve.MaxReadings {
		return fmt.Errorf("%d readings are too many to write; the most is %d", len(s.Readings), curve.MaxReadings)
	}
	h := header{unit: s.Unit, signal: s.Signal, names: []string{s.Unit.Column(), s.Signal.Column()}}
	for _, name := range benchLayout.optional {
		if slices.ContainsFunc(s.Readings, func(r curve.Reading) bool { return holds(r, name) }) {
			h.names = append(h.names, name)
		}
	}
	out := append([]byte(strings.Join(h.names, ",")), '\n')
	for i, r := range s.Readings {
		line, err := h.line(r)
		if err != nil {
			return fmt.Errorf("reading %d of %d: %w", i+1, len(s.Readings), err)
		}
		out = append(append(out, line...), '\n')
	}
	if len(out) > MaxBytes {
		return fmt.Errorf("readings of %d bytes are too large to write; the most is %d MiB; shorten the notes", len(out), MaxBytes>>20)
	}
	_, err := w.Write(out)
	return err
}

// holds says whether a reading has something for an optional column.
func holds(r curve.Reading, name string) bool {
	switch name {
	case sweepColumn:
		return r.Sweep != curve.Unstated
	case timeColumn:
		return !r.Time.IsZero()
	}
	return r.Note != ""
}

// line gives a reading as a row for these columns, without its line end.
func (h header) line(r curve.Reading) (string, error) {
	if err := h.check(r); err != nil {
		return "", err
	}
	cells := make([]string, len(h.names))
	for i, name := range h.names {
		switch name {
		case "":
		case h.signal.Column():
			cells[i] = figure(float64(r.Ohm))
		case sweepColumn:
			cells[i] = r.Sweep.String()
		case timeColumn:
			if !r.Time.IsZero() {
				cells[i] = settled(r.Time).Format(time.RFC3339Nano)
			}
		case noteColumn:
			cells[i] = quoted(r.Note)
		default:
			cells[i] = markText(h.unit, r.Mark)
		}
	}
	return strings.Join(cells, ","), nil
}

// check says what about a reading can't be written.
func (h header) check(r curve.Reading) error {
	limit := h.unit.FromShown(h.unit.Limit())
	switch year := settled(r.Time).Year(); {
	case !(r.Mark >= 0 && r.Mark <= limit):
		return fmt.Errorf("mark %g is outside 0 to %g (%s)", r.Mark, limit, h.unit.Text(limit))
	case !(r.Ohm >= 0 && r.Ohm <= h.signal.Limit()):
		return fmt.Errorf("%g %s is outside 0 to %s", float64(r.Ohm), h.signal.Figures(), figure(float64(h.signal.Limit())))
	case r.Sweep < curve.Unstated || r.Sweep > curve.Down:
		return fmt.Errorf("sweep %d is not known; expected unstated, up or down", int(r.Sweep))
	case !r.Time.IsZero() && (year < 0 || year > 9999):
		return fmt.Errorf("the year %d can't be written; RFC 3339 has 0 to 9999", year)
	case !utf8.ValidString(r.Note):
		return fmt.Errorf("note %q is not valid UTF-8", clip(r.Note))
	}
	if i := strings.IndexFunc(r.Note, unreadable); i >= 0 {
		c, _ := utf8.DecodeRuneInString(r.Note[i:])
		return fmt.Errorf("note %q holds the control character U+%04X; take it out", clip(r.Note), c)
	}
	return nil
}

// unreadable says whether a character could not be read back. A CR is read as
// a line end.
func unreadable(r rune) bool { return unicode.IsControl(r) && r != '\n' && r != '\t' }

// quoted puts a cell in quotes where it has to be (RFC 4180, section 2, rules 6
// and 7), where it has blanks at its ends, and where it would look like a
// comment at the start of a row.
func quoted(text string) string {
	if text == "" || !strings.ContainsAny(text, ",\"\n") && text[0] != '#' && strings.TrimSpace(text) == text {
		return text
	}
	return `"` + strings.ReplaceAll(text, `"`, `""`) + `"`
}

// markText gives a mark in its shown unit, in as few digits as read back as the
// same mark.
func markText(u curve.MarkUnit, mark float64) string {
	if v := u.ToShown(mark); u.FromShown(v) == mark {
		return figure(v) // nearly always
	}
	exact := mark / u.FromShown(1)
	for digits := 1; digits < 17; digits++ {
		v, _ := strconv.ParseFloat(strconv.FormatFloat(exact, 'e', digits, 64), 64)
		if u.FromShown(v) == mark {
			return figure(v)
		}
	}
	// The division may have rounded past the one number that would do.
	for _, v := range []float64{math.Nextafter(exact, 0), math.Nextafter(exact, math.Inf(1))} {
		if u.FromShown(v) == mark {
			return figure(v)
		}
	}
	return figure(min(exact, u.Limit()))
}
