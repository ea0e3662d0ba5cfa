package meter

import (
	"math"
	"strconv"
	"strings"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
	"gaugewright/internal/sitting"
)

// answer is what one reply or one line says. Words are the rest of a sentence
// that begins with the meter's name: "answers volts; set it to ohms".
type answer struct {
	state sitting.State
	value quantity.Ohm // in the shown unit of the signal; where the state is Reading
	words string
}

// Values that say something else than a value: SCPI-99, 7.2.1.4 and 7.2.1.5
// (section from memory). They are met to 0.005E37, the last digit that is
// always sent.
const (
	infinity  = 9.9e37
	notNumber = 9.91e37
	lastDigit = 0.005e37
)

// below is how far a meter's answer may lie below zero and still be zero: with
// shorted leads the last digits wander (common practice, no source).
func below(s curve.Signal) float64 {
	return [...]float64{curve.Ohms: 0.5, curve.Volts: 0.05, curve.Milliamps: 0.05, curve.Ratio: 0.5}[s]
}

// judge makes an answer of a number as sent and of the unit behind it. A bare
// number is in the signal's unit times scale.
func judge(v float64, unit string, signal curve.Signal, scale float64) answer {
	k, factor := unitOf(unit)
	want := kindOf(signal)
	switch {
	case math.Abs(math.Abs(v)-notNumber) <= lastDigit && k != unknown:
		return answer{state: sitting.Garbled, words: "says that it has no value (9.91E37, which stands for not a number); measure again"}
	case k == unknown:
		return garbled(strconv.FormatFloat(v, 'g', 6, 64) + " " + unit)
	case k == unclear:
		return answer{state: sitting.Unfit, words: "answers in " + unit + ", which may be thousandths or millions of an ohm; set it to a fixed range"}
	case k == other:
		return answer{state: sitting.Unfit, words: "answers in " + unit + "; set it to " + want.String()}
	case k != bare && k != want:
		return answer{state: sitting.Unfit, words: "answers " + k.String() + "; set it to " + want.String()}
	case math.Abs(v) >= infinity-lastDigit:
		return overload(signal)
	}
	switch {
	case k == bare:
		v *= scale
	case signal == curve.Milliamps:
		v *= factor * 1000
	default:
		v *= factor
	}
	switch limit := float64(signal.Limit()); {
	case v > limit:
		return answer{state: sitting.Unfit, words: "reads more than " + signal.Text(signal.Limit()) + ", which no sender gives; look at what is connected, and at the unit that the meter sends"}
	case v < -below(signal):
		return answer{state: sitting.Unfit, words: "reads less than nothing (" + signal.Text(quantity.Ohm(max(v, -1e9))) + "); " + backwards(signal)}
	case v <= 0: // and no negative zero
		v = 0
	}
	return answer{state: sitting.Reading, value: quantity.Ohm(v)}
}

func backwards(s curve.Signal) string {
	if s == curve.Ohms {
		return "something else feeds the sender, so take it off its wiring"
	}
	return "swap the leads"
}

func overload(s curve.Signal) answer {
	if s == curve.Ohms {
		return answer{state: sitting.Overload, words: "reads an open circuit: a lead is off, the sender is broken there, or the range is too small"}
	}
	return answer{state: sitting.Overload, words: "reads more than its range; choose a larger one"}
}

// garbled quotes what came, for whoever looks for the reason.
func garbled(text string) answer {
	return answer{state: sitting.Garbled, words: "sends what is no number: " + clip(text)}
}

// clip quotes a text at a length that can be read.
func clip(text string) string {
	const most = 24
	if len(text) > most {
		return strconv.QuoteToGraphic(text[:most]) + "…"
	}
	return strconv.QuoteToGraphic(text)
}

// scan reads the number that a text begins with: NR1, NR2 or NR3 of IEEE 488.2,
// a leading point allowed, and with comma a decimal comma for the point. It
// gives what is behind it, trimmed; whether a decimal sign was there; and ok
// false if the text begins with no number.
func scan(text string, comma bool) (v float64, rest string, point, ok bool) {
	decimals := "."
	if comma {
		decimals = ".,"
	}
	number, rest := quantity.CutNumber(text, decimals)
	if number == "" {
		return 0, text, false, false
	}
	v, _ = strconv.ParseFloat(number, 64) // only its range can be wrong, and then v is infinite
	return v, rest, strings.Contains(number, "."), true
}

// overloads are the texts, without signs and blanks and in capitals, by which
// devices say that a value is beyond their range (common practice, no source).
var overloads = [...]string{"OL", "O.L", "O.L.", ".OL", "OL.", "0L", "0.L", ".0L", "OVLD", "OVER", "OVERLOAD", "OVERRANGE", "OVERFLOW", "OFL", "OFLOW", "INF", "INFINITY"}

// overloadText says whether a text stands for an overload, and the unit behind
// it.
func overloadText(text string) (unit string, ok bool) {
	if dashes := strings.TrimLeft(text, "-"); len(text)-len(dashes) >= 2 {
		if rest := strings.TrimSpace(dashes); rest == "" || unitKnown(rest) {
			return rest, true
		}
	}
	text = strings.TrimSpace(strings.TrimLeft(text, "+->"))
	for _, o := range overloads {
		if len(text) < len(o) || !strings.EqualFold(text[:len(o)], o) {
			continue
		}
		if rest := strings.TrimSpace(text[len(o):]); rest == "" || unitKnown(rest) {
			return rest, true
		}
	}
	return "", false
}

func unitKnown(text string) bool {
	k, _ := unitOf(text)
	return k != unknown
}

// overloaded is the answer to a text that stands for an overload.
func overloaded(unit string, signal curve.Signal) answer {
	if k, _ := unitOf(unit); k == unclear || k == kindOf(signal) {
		return overload(signal)
	}
	return judge(infinity, unit, signal, 1)
}
