package meter

import (
	"strings"

	"gaugewright/internal/curve"
)

// kind is the quantity that a unit belongs to.
type kind int

const (
	bare      kind = iota // no unit
	ohms                  // in ohms times the factor
	volts                 // in volts times the factor
	amps                  // in amperes times the factor
	percent               // of the supply
	alternate             // volts or amperes, but of alternating current
	other                 // a known unit of something else
	unclear               // may be milli as well as mega
	unknown               // no unit at all
)

// String names the quantity as a meter's front does.
func (k kind) String() string {
	return [...]string{"a bare number", "ohms", "volts", "amps", "percent", "alternating current", "another quantity", "an unclear unit", "an unknown unit"}[k]
}

// kindOf is what a meter has to be set to for a signal.
func kindOf(s curve.Signal) kind {
	return [...]kind{curve.Ohms: ohms, curve.Volts: volts, curve.Milliamps: amps, curve.Ratio: percent}[s]
}

// unitOf reads the text behind a number: a unit with or without a prefix, the
// suffixes of IEEE 488.2 (OHM, KOHM, and MOHM, which is mega) as well as what
// fronts of meters show (kΩ, mV, VDC). A prefix alone is of ohms, as meters
// with short displays have it. Before volts and amperes M is milli, as in IEEE
// 488.2; mohm, all small, may be either and is unclear.
func unitOf(text string) (kind, float64) {
	if text == "" {
		return bare, 1
	}
	if strings.ContainsAny(text, " \t") {
		text = strings.Join(strings.Fields(text), "")
	}
	switch text {
	case "k", "K":
		return ohms, 1e3
	case "M":
		return ohms, 1e6
	}
	if k := baseOf(text); k != unknown {
		return k, 1
	}
	for _, p := range prefixes {
		rest, ok := strings.CutPrefix(text, p.text)
		if !ok {
			continue
		}
		switch k := baseOf(rest); {
		case k != ohms && k != volts && k != amps && k != alternate:
			return unknown, 1
		case p.text == "M" && k != ohms:
			return k, 1e-3
		case p.text == "m" && (rest == "ohm" || rest == "ohms"):
			return unclear, 1
		default:
			return k, p.factor
		}
	}
	return unknown, 1
}

var prefixes = [...]struct {
	text   string
	factor float64
}{{"k", 1e3}, {"K", 1e3}, {"M", 1e6}, {"G", 1e9}, {"m", 1e-3}, {"u", 1e-6}, {"U", 1e-6}, {"\u00b5", 1e-6}, {"\u03bc", 1e-6}, {"n", 1e-9}, {"N", 1e-9}}

// baseOf knows a unit without a prefix, whatever the case of its letters.
func baseOf(text string) kind {
	if text == "\u03a9" || text == "\u2126" { // the Greek letter, and the ohm sign of its own
		return ohms
	}
	for _, b := range bases {
		if strings.EqualFold(text, b.text) {
			return b.kind
		}
	}
	return unknown
}

var bases = [...]struct {
	text string
	kind kind
}{
	{"ohm", ohms}, {"ohms", ohms}, {"V", volts}, {"VDC", volts}, {"volt", volts}, {"volts", volts}, {"A", amps}, {"ADC", amps}, {"amp", amps}, {"amps", amps},
	{"VAC", alternate}, {"V~", alternate}, {"AAC", alternate}, {"A~", alternate}, {"VRMS", alternate},
	{"%", percent}, {"pct", percent},
	{"Hz", other}, {"F", other}, {"nF", other}, {"uF", other}, {"µF", other}, {"H", other}, {"W", other}, {"S", other}, {"sec", other}, {"secs", other},
	{"C", other}, {"°C", other}, {"°F", other}, {"CEL", other}, {"FAR", other}, {"dB", other}, {"dBm", other}, {"rdng#", other},
}
