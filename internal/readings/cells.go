package readings

import (
	"errors"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
)

// overloads is what meters show, and people write down, for an open circuit.
var overloads = []string{"ol", "0l", "o.l", "0.l", ".ol", ".0l", "ofl", "inf", "+inf", "infinity", "∞", "overload", "over", "overflow", "open"}

// missings is what programs and people write for no value.
var missings = []string{"nan", "na", "n/a", "null", "nil", "none", "-", "--", "?"}

// ownUnits is how the unit of a column is written behind a number. Another unit
// isn't here: to take it off would change the value.
var ownUnits = map[string][]string{
	ohmColumn:                {"ohms", "ohm", "Ohm", "Ω", "Ω"},
	curve.Volts.Column():     {"volts", "volt", "V"},
	curve.Milliamps.Column(): {"milliamps", "milliamp", "mA"},
	curve.Ratio.Column():     {"%"},
	shownColumn:              {"%"},
	curve.Dial.Column():      {"%"},
	curve.Height.Column():    {"mm"},
	curve.Volume.Column():    {"L", "l"},
	curve.Mass.Column():      {"kg"},
}

// maxDigits is longer than any number that is written. It keeps a cell that
// fills the file from being searched again and again.
const maxDigits = 400

// number reads the number in field i, or says what is wrong with it.
func (r *row) number(i int) (float64, bool) {
	name, text := r.names[i], strings.TrimSpace(r.fields[i])
	if len(text) > maxDigits {
		r.fail(i, "%s %q is not a number; expected a plain number such as 42.5", name, clip(text))
		return 0, false
	}
	v, err := quantity.ParseNumber(text, true)
	if err == nil {
		return unsigned(v), true
	}
	lower := strings.ToLower(text)
	switch beyond, e := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64); {
	case text == "":
		r.fail(i, "%s is empty; expected a plain number such as 42.5, or no row at all", name)
	case name == ohmColumn && slices.Contains(overloads, lower):
		r.fail(i, "ohm %q is the meter's overload, which means an open circuit; leave the row out or write it as a # comment", text)
	case slices.Contains(signalColumns(), name) && slices.Contains(overloads, lower):
		r.fail(i, "%s %q is the meter's overload, more than its range holds; read it in a higher range, or leave the row out or write it as a # comment", name, text)
	case slices.Contains(missings, lower):
		r.fail(i, "%s %q stands for a missing value; leave the row out or write it as a # comment", name, text)
	case errors.Is(e, strconv.ErrRange):
		return beyond, true // infinite, so outside every range
	case hasUnit(text, ownUnits[name]):
		r.fail(i, "%s %q has its unit with it; write the number alone, the unit is in the column name", name, clip(text))
	case strings.HasSuffix(err.Error(), "is not a number"):
		r.fail(i, "%s %q is not a number; expected a plain number such as 42.5", name, clip(text))
	default:
		r.fail(i, "%s %v", name, err)
	}
	return 0, false
}

// hasUnit says whether text is a number with one of these units behind it.
func hasUnit(text string, units []string) bool {
	for _, unit := range units {
		if number, found := strings.CutSuffix(text, unit); found {
			_, err := quantity.ParseNumber(number, true)
			return err == nil
		}
	}
	return false
}

// within reads a number and holds it to 0..limit.
func (r *row) within(i int, limit float64) (float64, bool) {
	v, ok := r.number(i)
	if !ok || v >= 0 && v <= limit {
		return v, ok
	}
	r.fail(i, "%s %s is outside 0 to %s; mend the number or leave the row out", r.names[i], clip(strings.TrimSpace(r.fields[i])), figure(limit))
	return 0, false
}

// value reads what the sender gave in field i.
func (r *row) value(i int) (quantity.Ohm, bool) {
	v, ok := r.number(i)
	text := clip(strings.TrimSpace(r.fields[i]))
	limit := float64(r.signal.Limit())
	switch {
	case !ok:
		return 0, false
	case r.signal != curve.Ohms && !(v >= 0 && v <= limit):
		r.fail(i, "%s %s is outside 0 to %s, what is believed of a level sender; mend the number or leave the row out", r.names[i], text, figure(limit))
		return 0, false
	case v < 0:
		r.fail(i, "ohm %s is negative, which no resistance is; mend the number or leave the row out", text)
		return 0, false
	case v > float64(curve.MaxOhm):
		r.fail(i, "ohm %s is above %s, more than any level sender has; mend the number, or leave the row out if the circuit was open", text, figure(float64(curve.MaxOhm)))
		return 0, false
	}
	return quantity.Ohm(v), true
}

// sweep reads the direction in field i, in any case.
func (r *row) sweep(i int) (curve.Sweep, bool) {
	s, err := curve.ParseSweep(strings.ToLower(strings.TrimSpace(r.fields[i])))
	if err != nil {
		r.fail(i, "sweep %q is not known; expected up, down or nothing", clip(strings.TrimSpace(r.fields[i])))
	}
	return s, err == nil
}

// rfc3339 is the form of RFC 3339, section 5.6. time.Parse lets more pass: one
// digit for the hour, a comma before the fraction, an offset of 24:60.
var rfc3339 = regexp.MustCompile(`^[0-9]{4}-[0-9]{2}-[0-9]{2}[Tt][0-9]{2}:[0-9]{2}:[0-9]{2}(\.[0-9]+)?([Zz]|[+-]([01][0-9]|2[0-3]):[0-5][0-9])$`)

// moment reads the time in field i. RFC 3339, section 5.6, lets T and Z be
// written small. A leap second is refused, since time.Time has none.
func (r *row) moment(i int) (time.Time, bool) {
	text := strings.TrimSpace(r.fields[i])
	if text == "" {
		return time.Time{}, true
	}
	t, err := time.Parse(time.RFC3339, strings.ToUpper(text))
	if err != nil || !rfc3339.MatchString(text) {
		r.fail(i, "time %q can't be read; expected RFC 3339 with the offset from UTC, such as 2026-11-03T09:30:00+01:00", clip(text))
		return time.Time{}, false
	}
	return settled(t), true
}

// settled gives the same time in a zone that depends on the offset alone, not
// on where the program runs.
func settled(t time.Time) time.Time {
	_, offset := t.Zone()
	switch {
	case t.IsZero():
		return time.Time{}
	case offset == 0 || offset%60 != 0 || offset <= -86400 || offset >= 86400:
		return t.UTC() // RFC 3339 has no seconds and no days in an offset
	}
	return t.In(time.FixedZone("", offset))
}

// figure prints a number in the fewest digits that read back as the same, and
// without an exponent where people would write none.
func figure(v float64) string {
	if a := math.Abs(v); a != 0 && (a < 1e-6 || a >= 1e15) {
		return strconv.FormatFloat(v, 'e', -1, 64)
	}
	return strconv.FormatFloat(unsigned(v), 'f', -1, 64)
}

// unsigned takes the sign off a negative zero.
func unsigned(v float64) float64 {
	if v == 0 {
		return 0
	}
	return v
}
