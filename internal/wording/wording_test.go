package wording_test

import (
	"strings"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/internal/wording"
)

func TestClipAndSeveral(t *testing.T) {
	for _, test := range []struct{ got, want string }{
		{wording.Clip("ohm", 3), "ohm"}, {wording.Clip("ohms", 3), "ohm…"}, {wording.Clip("Ωmega", 1), "Ω…"}, {wording.Clip("", 0), ""},
		{wording.Several(nil, "or"), ""}, {wording.Several([]string{"a"}, "or"), "a"},
		{wording.Several([]string{"a", "b"}, "and"), "a and b"}, {wording.Several([]string{"a", "b", "c"}, "or"), "a, b or c"},
	} {
		if test.got != test.want {
			t.Errorf("%q, want %q", test.got, test.want)
		}
	}
}

// kitten/sitting = 3 is the textbook example of the Levenshtein distance.
func TestSlips(t *testing.T) {
	for _, test := range []struct {
		a, b string
		want int
	}{{"kitten", "sitting", 3}, {"", "ohm", 3}, {"ohm", "ohm", 0}, {"Ω", "o", 1}} {
		if got := wording.Slips(test.a, test.b); got != test.want {
			t.Errorf("%q to %q: %d, want %d", test.a, test.b, got, test.want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		word := rapid.StringMatching(`[a-c]{0,8}`)
		a, b, c := word.Draw(t, "a"), word.Draw(t, "b"), word.Draw(t, "c")
		if wording.Slips(a, b) != wording.Slips(b, a) || wording.Slips(a, c) > wording.Slips(a, b)+wording.Slips(b, c) || (wording.Slips(a, b) == 0) != (a == b) {
			t.Fatalf("not a distance for %q, %q, %q", a, b, c)
		}
	})
}

// A figure stays with its unit, and with nothing else.
func TestTogether(t *testing.T) {
	for text, want := range map[string]string{
		"12 % of 30.5 L":             "12~% of 30.5~L",
		"7.4 US gal, 3 imp gal":      "7.4~US~gal, 3~imp~gal",
		"within 2 points, 1 point":   "within 2~points, 1~point",
		"5 to 7 evenings or 3 days.": "5 to 7~evenings or 3~days.",
		"5 Ω at 20 °C, 6 m":          "5~Ω at 20~°C, 6~m",
		"2 marks, 3 Laps, 4 seats":   "2 marks, 3 Laps, 4 seats",
		"plain":                      "plain",
	} {
		if got := strings.ReplaceAll(wording.Together(text), "\u00a0", "~"); got != want {
			t.Errorf("%q: %q; expected %q", text, got, want)
		}
	}
}
