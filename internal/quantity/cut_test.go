package quantity

import (
	"errors"
	"strconv"
	"testing"

	"pgregory.net/rapid"
)

func TestCutNumber(t *testing.T) {
	for _, c := range []struct{ text, decimals, number, rest string }{
		{"118.4", ".", "118.4", ""},
		{"+1.184E+02 ohm", ".", "+1.184E+02", "ohm"},
		{"-.5k", ".", "-.5", "k"},
		{"5.", ".", "5.", ""},
		{"1,184e2 ohm", ",", "1.184e2", "ohm"},
		{"1,184", ".", "1", ",184"},
		{"1.184", ",", "1", ".184"},
		{"1,184", ".,", "1.184", ""},
		{"1.184,5", ".,", "1.184", ",5"},
		{"1e", ".", "1", "e"},
		{"1E+ohm", ".", "1", "E+ohm"},
		{"12 34", ".", "12", "34"},
		{"", ".", "", ""},
		{"+", ".", "", "+"},
		{".", ".", "", "."},
		{".e5", ".", "", ".e5"},
		{"OL", ".", "", "OL"},
		{" 1", ".", "", " 1"},
	} {
		if number, rest := CutNumber(c.text, c.decimals); number != c.number || rest != c.rest {
			t.Errorf("%q: %q and %q, expected %q and %q", c.text, number, rest, c.number, c.rest)
		}
	}
}

// Of signs, digits, points and exponents the standard library's ParseFloat takes
// the same texts for numbers.
func TestCutNumberAsTheLibrary(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringMatching(`[+-]?[0-9]{0,3}[.]?[0-9]{0,3}([eE][+-]?[0-9]{0,3})?[0-9.eE+-]?`).Draw(t, "text")
		_, err := strconv.ParseFloat(text, 64)
		number, rest := CutNumber(text, ".")
		if whole := number != "" && rest == ""; whole == errors.Is(err, strconv.ErrSyntax) {
			t.Fatalf("%q: %q, rest %q; the library: %v", text, number, rest, err)
		}
		if _, err := strconv.ParseFloat(number, 64); number != "" && errors.Is(err, strconv.ErrSyntax) {
			t.Fatalf("%q: %v", text, err)
		}
	})
}
