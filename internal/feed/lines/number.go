package lines

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"gaugewright/internal/quantity"
	"gaugewright/internal/watch"
)

// openCircuit is the resistance that stands for an infinite one: more than any
// meter measures, in Ω.
const openCircuit = 1e9

// Values of SCPI-99 that stand for something else, 7.2.1.4 and 7.2.1.5 (section
// from memory), met to the last digit that is always sent.
const (
	infinity  = 9.9e37
	noNumber  = 9.91e37
	lastDigit = 0.005e37
)

// Words for no value at all, for one beyond the range, and for a fault, in small
// letters (common practice, no source).
var (
	nothings  = []string{"nan", "null", "none", "n/a", "na", "?"}
	overloads = []string{"ol", "0l", "o.l", "0.l", "ofl", "ovl", "ovld", "over", "overload", "overrange", "inf", "infinity", "open"}
	faults    = []string{"err", "error", "fail", "fault"}
)

// number reads one number with or without its unit. why says in few fixed words
// that it can't be read.
func (l *layout) number(text string) (v float64, said watch.Said, why string) {
	text = strings.TrimSpace(text)
	if rest, ok := strings.CutPrefix(text, "\u2212"); ok { // the true minus sign
		text = "-" + rest
	}
	decimal := "."
	if l.comma {
		decimal = ","
	}
	number, unit := quantity.CutNumber(text, decimal)
	if number == "" {
		return l.word(text)
	}
	v, err := strconv.ParseFloat(number, 64)
	factor, ok := unitOf(l.signal, unit)
	switch {
	case !ok && l.overload(text):
		return l.beyond()
	case !ok && strings.ContainsAny(unit, "0123456789.,_="):
		return 0, watch.Unavailable, notNumber
	case !ok:
		return 0, watch.Unavailable, otherUnit
	case err != nil:
		return 0, watch.Unavailable, tooLarge
	case math.Abs(math.Abs(v)-noNumber) <= lastDigit:
		return 0, watch.Unavailable, ""
	case v >= infinity-lastDigit:
		return l.beyond()
	}
	if v *= factor; math.Abs(v) > infinity-lastDigit {
		return 0, watch.Unavailable, tooLarge
	}
	return v, watch.Measured, ""
}

// word reads what is no number.
func (l *layout) word(text string) (v float64, said watch.Said, why string) {
	small := strings.ToLower(text)
	switch {
	case strings.Trim(small, "-") == "", slices.Contains(nothings, strings.TrimLeft(small, "+-")):
		return 0, watch.Unavailable, ""
	case l.overload(text):
		return l.beyond()
	case slices.Contains(faults, small):
		return 0, watch.Broken, ""
	}
	return 0, watch.Unavailable, notNumber
}

// overload says whether a text stands for more than the range, with the unit of
// the signal behind it or none.
func (l *layout) overload(text string) bool {
	small := strings.ToLower(strings.TrimLeft(text, "+>"))
	for _, o := range overloads {
		if rest, ok := strings.CutPrefix(small, o); ok {
			if _, ok := unitOf(l.signal, strings.TrimSpace(rest)); ok {
				return true
			}
		}
	}
	return false
}

// beyond is more than the range: an open circuit in ohms, and else nothing that
// could be a value.
func (l *layout) beyond() (float64, watch.Said, string) {
	if l.signal == watch.Ohm {
		return openCircuit, watch.Measured, ""
	}
	return 0, watch.Unavailable, ""
}

// unitOf gives the factor from a written unit to the signal's own. Without a
// unit it is 1.
func unitOf(s watch.Signal, text string) (factor float64, ok bool) {
	if text == "" {
		return 1, true
	}
	for _, u := range units[s] {
		if strings.EqualFold(text, u.text) && (u.exact == "" || text[:1] == u.exact) {
			return u.factor, true
		}
	}
	return 0, false
}

type unit struct {
	text   string
	factor float64
	exact  string // the first letter, where its case matters
}

// units as devices write them. M before ohms is mega, and m is refused: it may
// be either.
var units = map[watch.Signal][]unit{
	watch.Ohm: {
		{"ohm", 1, ""}, {"ohms", 1, ""}, {"\u03a9", 1, ""}, {"\u2126", 1, ""}, {"r", 1, ""},
		{"k", 1e3, ""}, {"kohm", 1e3, ""}, {"kohms", 1e3, ""}, {"k\u03a9", 1e3, ""}, {"k\u2126", 1e3, ""},
		{"M", 1e6, "M"}, {"Mohm", 1e6, "M"}, {"Mohms", 1e6, "M"}, {"M\u03a9", 1e6, "M"}, {"M\u2126", 1e6, "M"},
	},
	watch.Volt:    {{"V", 1, ""}, {"volt", 1, ""}, {"volts", 1, ""}, {"VDC", 1, ""}, {"mV", 1e-3, "m"}, {"mVDC", 1e-3, "m"}},
	watch.Count:   {{"count", 1, ""}, {"counts", 1, ""}},
	watch.Percent: {{"%", 1, ""}, {"pct", 1, ""}, {"percent", 1, ""}},
}
