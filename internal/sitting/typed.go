package sitting

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
)

// unitSpelling is a way to write a unit, in small letters, and what one of it is
// in the shown unit of its signal.
type unitSpelling struct {
	text  string
	worth float64
}

// spellings are what may stand behind a value. No two signals share one but
// "%", which is of a supply where it is of anything.
var spellings = [...][]unitSpelling{
	curve.Ohms:      {{"ohms", 1}, {"ohm", 1}, {"ω", 1}, {"r", 1}, {"kohms", 1000}, {"kohm", 1000}, {"kω", 1000}, {"k", 1000}, {"mohm", 0.001}, {"mω", 0.001}},
	curve.Volts:     {{"volts", 1}, {"volt", 1}, {"v", 1}, {"mv", 0.001}},
	curve.Milliamps: {{"milliamps", 1}, {"milliamp", 1}, {"ma", 1}, {"a", 1000}, {"µa", 0.001}, {"ua", 0.001}},
	curve.Ratio:     {{"% of supply", 1}, {"of_supply_pct", 1}, {"%", 1}},
}

// typedLike are values as a person would type them, for messages.
var typedLike = [...]string{curve.Ohms: "12.4", curve.Volts: "1.32", curve.Milliamps: "7.18", curve.Ratio: "26.2"}

// overloads are what meters show, and people write, for a circuit that is open.
// Common practice, no source.
var overloads = []string{"ol", "o.l", ".ol", "0l", "0.l", "over", "overload", "open", "inf", "infinite", "∞", "-ol", "--", "---", "----"}

// resistorCode is a resistance with its multiplier in the place of the decimal
// point: 4R7, 1k2, R47 (IEC 60062, "RKM code"; from memory).
var resistorCode = regexp.MustCompile(`^([0-9]*)[ ]?([rk])([0-9]+)$`)

// mostTyped is how much of a text is looked at: more than any value needs.
const mostTyped = 40

// ParseValue reads what a person typed as the value of a reading, in the shown
// unit of the signal: "12.4", "12,4", "12.4 Ω", "12.4ohm", "1.2k", "118R"; for
// volts "0.5 V" and "500mV", and so on. Ohms may be written with the multiplier
// in the place of the point, as resistors are marked: "1k2" is 1200 and "4R7" is
// 4.7 (IEC 60062). Capitals and small letters are the same, so that "1M" isn't
// read at all: it may be a million or a thousandth.
//
// A comma is a decimal comma; a number with a comma and a point is refused,
// since one of them groups the thousands and nobody knows which. Refused as well
// are nothing, another quantity's unit, the words of an overload, and values
// outside 0 to [curve.Signal.Limit].
func ParseValue(signal curve.Signal, text string) (quantity.Ohm, error) {
	t := plain(text)
	like := "; type the " + signal.Figures() + " like " + typedLike[signal]
	if t == "" {
		return 0, fmt.Errorf("nothing was typed%s", like)
	}
	if slices.Contains(overloads, strings.ReplaceAll(t, " ", "")) {
		if signal == curve.Ohms {
			return 0, fmt.Errorf("%s is an overload: an open circuit, and no reading; look at the leads and at the sender's wires", quoted(text))
		}
		return 0, fmt.Errorf("%s is an overload of the meter, and no reading; choose a larger range, and look at the leads", quoted(text))
	}
	v, err := valueIn(signal, t)
	if err != nil {
		return 0, fmt.Errorf("%w%s", err, like)
	}
	if limit := signal.Limit(); !(v >= 0 && v <= limit) {
		return 0, fmt.Errorf("%s can't come from a level sender; expected 0 to %s %s", quoted(text), quantity.Short(float64(limit), 0), signal.Unit())
	}
	return v + 0, nil // never -0
}

// valueIn reads a value in plain letters; it isn't held to any limits.
func valueIn(signal curve.Signal, t string) (quantity.Ohm, error) {
	if signal == curve.Ohms {
		if m := resistorCode.FindStringSubmatch(t); m != nil {
			v, err := quantity.ParseNumber("0"+m[1]+"."+m[3], false)
			if m[2] == "k" {
				v *= 1000
			}
			return quantity.Ohm(quantity.Round(v, 9)), err
		}
	}
	number, worth := t, 1.0
	if s, ok := endsIn(t, spellings[signal]); ok {
		number, worth = strings.TrimSuffix(t, s.text), s.worth
	} else {
		for _, other := range curve.Signals {
			if s, ok := endsIn(t, spellings[other]); ok && other != signal {
				if _, err := quantity.ParseNumber(strings.TrimSuffix(t, s.text), true); err == nil {
					return 0, fmt.Errorf("found %s, and the bench reads %s; set the meter to that", other.Figures(), signal.Figures())
				}
			}
		}
	}
	v, err := quantity.ParseNumber(number, true)
	if err != nil {
		return 0, err
	}
	if worth != 1 {
		v = quantity.Round(v*worth, 9)
	}
	return quantity.Ohm(v), nil
}

// ParseMark reads what a person typed as a mark, and gives it as it is inside:
// a share, m, m³ or kg. Without a unit it is in the one that is shown: "40",
// "12,5". With one it may be in any of the quantity's: "40 %", "12 cm", "5in",
// "3 USgal", "2lb"; a gallon has to say which it is. On a dial "1/2" is 50 %,
// as many are printed.
//
// Refused are nothing, another quantity's unit, a number with a comma and a
// point, and marks outside 0 to [curve.MarkUnit.Limit].
func ParseMark(unit curve.MarkUnit, text string) (float64, error) {
	t := plain(text)
	if t == "" {
		return 0, fmt.Errorf("no mark was typed; type it like %s", markLike[unit])
	}
	mark, err := markIn(unit, t, strings.TrimSpace(clipped(text)))
	if err != nil {
		return 0, err
	}
	if !(mark >= 0 && mark <= unit.FromShown(unit.Limit())) {
		return 0, fmt.Errorf("the mark %s lies outside 0 to %s %s", quoted(text), quantity.Short(unit.Limit(), 0), unit.Symbol())
	}
	return mark + 0, nil
}

var markLike = [...]string{curve.Dial: "40 or 40 %", curve.Height: "120 or 12 cm", curve.Volume: "12.5 or 12.5 L", curve.Mass: "3 or 3 kg"}

// fraction is a mark as it is printed on a dial.
var fraction = regexp.MustCompile(`^([0-9]{1,2})/([0-9]{1,2})$`)

// markIn reads a mark, from its plain letters or as it was typed; it isn't held
// to any limits.
func markIn(unit curve.MarkUnit, t, typed string) (float64, error) {
	if v, err := quantity.ParseNumber(t, true); err == nil {
		return unit.FromShown(v), nil
	} else if strings.Contains(err.Error(), "separator") {
		return 0, fmt.Errorf("the mark %w", err)
	}
	if m := fraction.FindStringSubmatch(t); m != nil && unit == curve.Dial {
		part, _ := quantity.ParseNumber(m[1], false)
		of, _ := quantity.ParseNumber(m[2], false)
		if of == 0 || part > of {
			return 0, fmt.Errorf("the mark %s is no part of a whole; type it like 1/2, or in percent", quoted(typed))
		}
		return part / of, nil
	}
	in := func(unit curve.MarkUnit, text string) (float64, error) {
		switch unit {
		case curve.Height:
			v, err := quantity.ParseMetre(text)
			return float64(v), err
		case curve.Volume:
			v, err := quantity.ParseCubicMetre(text)
			return float64(v), err
		case curve.Mass:
			v, err := quantity.ParseKilogram(text)
			return float64(v), err
		}
		v, err := quantity.ParseShare(strings.Replace(text, "pct", "%", 1))
		return float64(v), err
	}
	// As it was typed, and then in small letters: "12 CM", "3 KG".
	v, err := in(unit, typed)
	if err != nil {
		if lower, own := in(unit, t); own == nil {
			v, err = lower, nil
		}
	}
	if err == nil {
		// Through the shown unit, so that 40 and 40 % are the same to the last bit.
		return unit.FromShown(unit.ToShown(v)), nil
	}
	for _, other := range curve.MarkUnits {
		if _, own := in(other, typed); own == nil && other != unit {
			return 0, fmt.Errorf("the mark %s isn't in %s, as the marks of this bench are; type it like %s", quoted(typed), unit.Symbol(), markLike[unit])
		}
	}
	return 0, fmt.Errorf("the mark %s can't be read (%w); type it like %s", quoted(typed), err, markLike[unit])
}

// plain gives a text in small letters, without blanks around it.
func plain(text string) string {
	t := strings.ToLower(clipped(text))
	t = strings.ReplaceAll(t, "μ", "µ") // the Greek letter and the micro sign
	return strings.TrimSpace(t)
}

// clipped cuts a text that is too long to be typed, with an ellipsis, which is in
// no number.
func clipped(text string) string {
	text = legible(text)
	if len(text) > mostTyped {
		return strings.ToValidUTF8(text[:mostTyped], "") + "…"
	}
	return text
}

// legible puts one sign for all that stand together of what can't be seen: bytes
// that are no UTF-8, and control characters, of which a message would otherwise
// be full. A blank is a blank, whichever it is.
func legible(text string) string {
	var b strings.Builder
	unseen := false
	for _, r := range text {
		switch {
		case unicode.IsSpace(r):
			r = ' '
		case r == utf8.RuneError || !unicode.IsPrint(r):
			if !unseen {
				b.WriteRune(utf8.RuneError)
			}
			unseen = true
			continue
		}
		unseen = false
		b.WriteRune(r)
	}
	return b.String()
}

// endsIn gives the longest unit that a text ends in.
func endsIn(t string, units []unitSpelling) (best unitSpelling, ok bool) {
	for _, u := range units {
		if strings.HasSuffix(t, u.text) && len(u.text) > len(best.text) {
			best, ok = u, true
		}
	}
	return best, ok
}

// quoted puts a typed text into a message, cut where it is long.
func quoted(text string) string {
	text = strings.TrimSpace(legible(text))
	if r := []rune(text); len(r) > 30 {
		text = string(r[:30]) + "…"
	}
	return fmt.Sprintf("%q", text)
}
