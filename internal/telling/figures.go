package telling

import (
	"math"
	"strings"
	"unicode"
	"unicode/utf8"

	"gaugewright/internal/curve"
	"gaugewright/internal/doubt"
	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
	"gaugewright/internal/span"
)

// Points gives a share as a display figure, to a tenth of a point: "12.5".
func Points(s quantity.Share) string { return quantity.Digits(float64(s)*100, 1) }

// Signed gives a difference in points, to a tenth, with its sign: "+1.3",
// "−0.4"; what rounds to nothing has none: "0.0".
func Signed(s quantity.Share) string {
	text := Points(s)
	if text == "0.0" || strings.HasPrefix(text, "-") {
		return quantity.Minus(text)
	}
	return "+" + text
}

// Doubt gives a ± figure in points, rounded up to a tenth so that it doesn't claim
// more than is known (JCGM 100:2008, 7.2.6); nothing is known to less than the
// last digit.
func Doubt(v float64) string { return quantity.Digits(max(0.1, math.Ceil(v*10-1e-6)/10), 1) }

// DoubtOf is Doubt for a value of a signal, in its unit and to its own last digit.
func DoubtOf(signal curve.Signal, v float64) string {
	last := math.Pow(10, float64(signal.Decimals()))
	return quantity.Digits(max(1, math.Ceil(v*last-1e-6))/last, signal.Decimals())
}

// wide gives a standard uncertainty as a ± figure of about 95 % in points.
func wide(u quantity.Share) string { return Doubt(doubt.UsualFactor * float64(u) * 100) }

// Marks lists marks in words: "40 %, 60 % and 80 %".
func Marks(unit curve.MarkUnit, marks []float64) string {
	texts := make([]string, len(marks))
	for i, m := range marks {
		texts[i] = unit.Text(m)
	}
	if n := len(texts); n > 1 {
		return strings.Join(texts[:n-1], ", ") + " and " + texts[n-1]
	}
	return strings.Join(texts, "")
}

// FineMark gives a mark to a tenth of its unit: "42.7 %".
func FineMark(unit curve.MarkUnit, mark float64) string {
	return quantity.Digits(unit.ToShown(mark), 1) + " " + unit.Symbol()
}

// Litres cuts a volume to a tenth of a litre, without the unit: it must not tell
// more than there is.
func Litres(v quantity.CubicMetre) string {
	return quantity.Digits(math.Floor(float64(v)*1e4+1e-6)/10, 1)
}

// Pair gives end values the way they are asked for: "0:90".
func Pair(e span.Ends) string {
	return quantity.Short(float64(e.Lower), 3) + ":" + quantity.Short(float64(e.Upper), 3)
}

// called gives the name under which a setting stands in a table.
func called(s span.Setting) string {
	if e, ok := s.(span.Ends); ok {
		return Pair(e)
	}
	return s.String()
}

// Sentence makes a sentence of a text: its first letter large, a full stop at its
// end.
func Sentence(text string) string {
	r, size := utf8.DecodeRuneInString(text)
	if size == 0 {
		return ""
	}
	return string(unicode.ToUpper(r)) + strings.TrimSuffix(text[size:], ".") + "."
}

// Finding gives the text of a finding with its weight in words where it matters:
// "Look: …", "BAD: …".
func Finding(f finding.Finding) string {
	switch f.Weight {
	case finding.Doubt:
		return "Look: " + f.Text
	case finding.Bad:
		return "BAD: " + f.Text
	}
	return f.Text
}

// ToLookAt keeps what has to be looked at before a result is relied on, and what
// is bad.
func ToLookAt(list []finding.Finding) []finding.Finding {
	var out []finding.Finding
	for _, f := range list {
		if f.Weight > finding.Note {
			out = append(out, f)
		}
	}
	return out
}
