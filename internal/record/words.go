package record

import (
	"math"
	"strings"
	"time"
	"unicode"

	"gaugewright/internal/curve"
	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
)

const notStated = "not stated"

// clean takes out control characters and runs of white space, which do nothing
// on paper, and the two code points that XML doesn't have.
func clean(s string) string {
	s = strings.Map(func(r rune) rune {
		switch {
		case unicode.IsControl(r):
			return ' '
		case r == 0xFFFE || r == 0xFFFF:
			return unicode.ReplacementChar
		}
		return r
	}, strings.ToValidUTF8(s, "\uFFFD"))
	return strings.Join(strings.Fields(s), " ")
}

func orElse(s, other string) string {
	if s == "" {
		return other
	}
	return s
}

func orNot(s string) string { return orElse(clean(s), notStated) }

// fact is a fact that says where it is missing.
func fact(name, value string) Fact {
	return Fact{name, orNot(value), clean(value) == ""}
}

// day gives "3 November 2025" for a date in a file; what isn't one stays.
func day(date string) string {
	d, err := time.Parse(time.DateOnly, date)
	if err != nil {
		return clean(date)
	}
	return d.Format("2 January 2006")
}

// byOn gives "by R. Moor on 3 November 2025", as far as it is known.
func byOn(by, date string) string {
	s := ""
	if by = clean(by); by != "" {
		s = "by " + by
	}
	if date = day(date); date != "" {
		s = strings.TrimSpace(s + " on " + date)
	}
	return s
}

// points prints a share in points, "12.5".
func points(s quantity.Share) string { return quantity.Minus(quantity.Digits(float64(s)*100, 1)) }

// signed prints a share in points with its sign, "+1.3", "−0.4", "0.0".
func signed(s quantity.Share) string {
	text := points(s)
	if s > 0 && text != "0.0" {
		return "+" + text
	}
	return text
}

// short prints what is keyed in or claimed, without needless noughts.
func short(signal curve.Signal, v quantity.Ohm) string {
	decimals := signal.Decimals()
	if signal == curve.Ohms {
		decimals = 2
	}
	return quantity.Short(float64(v), decimals)
}

// ohmHead names a column of what the sender gives: "Ohms", "mA".
func ohmHead(signal curve.Signal) string {
	if signal == curve.Milliamps {
		return signal.Head()
	}
	return capital(signal.Head())
}

// capital begins a sentence.
func capital(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

// upward rounds up to a tenth, so that a doubt doesn't say more than is known
// (JCGM 100:2008, 7.2.6).
func upward(v float64) string { return quantity.Digits(math.Ceil(v*10-1e-6)/10, 1) }

// SentenceOf puts a finding into words with its weight.
func SentenceOf(f finding.Finding) Sentence {
	return weighed(f.Weight, f.Text)
}

func weighed(w finding.Weight, text string) Sentence {
	word := "Note"
	switch w {
	case finding.Doubt:
		word = "Look at this"
	case finding.Bad:
		word = "Not fit"
	}
	return Sentence{w.String(), word, clean(text)}
}

func plain(text string) Sentence { return Sentence{Weight: finding.Note.String(), Text: text} }

// listed joins with commas and an "and".
func listed(list []string) string {
	if len(list) < 2 {
		return strings.Join(list, "")
	}
	return strings.Join(list[:len(list)-1], ", ") + " and " + list[len(list)-1]
}
