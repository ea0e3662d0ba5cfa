package meter

import (
	"strings"

	"gaugewright/internal/curve"
	"gaugewright/internal/sitting"
)

// replyTo reads one whole reply of a SCPI meter to a question for a value: one
// number, or several between commas, of which the first is meant and the others
// have to be numbers too (some meters add a time and a count). It is in ohms,
// volts or amperes unless it brings its unit.
//
// IEEE 488.2 knows no decimal comma, but some devices send one. So where a
// whole number is followed by a comma and a run of digits it can't be told
// which is meant, and the reply is Garbled.
func replyTo(text string, signal curve.Signal) answer {
	text = strings.TrimSpace(text)
	scale := 1.0
	if signal == curve.Milliamps {
		scale = 1000
	}
	first, more, several := strings.Cut(text, ",")
	first = strings.TrimSpace(first)
	v, unit, point, ok := scan(first, false)
	if unit != "" || !ok {
		if u, over := overloadText(first); over && !several {
			return overloaded(u, signal)
		}
	}
	if !ok {
		return garbled(text)
	}
	whole := unit == "" && !point && !strings.ContainsAny(first, "eE")
	for n := 0; several; n++ {
		var field string
		field, more, several = strings.Cut(more, ",")
		field = strings.TrimSpace(field)
		_, u, p, ok := scan(field, false)
		if !ok || !unitKnown(u) {
			return garbled(text)
		}
		if n == 0 && !several && whole && !p && field[0] != '+' && field[0] != '-' {
			return answer{state: sitting.Garbled, words: "sends " + clip(text) + ", which may be one number with a decimal comma or two; set it to send a decimal point"}
		}
	}
	return judge(v, unit, signal, scale)
}
