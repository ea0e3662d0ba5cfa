package web

import "math"

// Nearer to the ends than that a part is called almost empty or almost full; the
// tenths next to them are as far again (common practice, no source).
const nearEmpty, nearFull = 0.05, 0.95

// parts are the fractions that people say, each with its words.
var parts = []struct {
	of    float64
	words string
}{
	{0.1, "about a tenth"}, {0.2, "about a fifth"}, {0.25, "about a quarter"}, {1.0 / 3, "about a third"},
	{0.4, "about two fifths"}, {0.5, "about half"}, {0.6, "about three fifths"}, {2.0 / 3, "about two thirds"},
	{0.75, "about three quarters"}, {0.8, "about four fifths"}, {0.9, "about nine tenths"},
}

const almostEmpty, almostFull = "almost empty", "almost full"

// leftPart says a part, 0..1, in words: "about a fifth".
func leftPart(v float64) string {
	switch {
	case v < nearEmpty:
		return almostEmpty
	case v > nearFull:
		return almostFull
	}
	best := parts[0]
	for _, p := range parts {
		if math.Abs(p.of-v) < math.Abs(best.of-v) {
			best = p
		}
	}
	return best.words
}

// Of gas the part is that of the permitted fill, and is said so; nothing calls a
// gas tank empty or to be filled. Of waste it is how full the tank is.
var gasParts, wasteParts = func() (map[string]string, map[string]string) {
	gas := map[string]string{almostEmpty: almostEmpty, almostFull: "about as full as is permitted"}
	waste := map[string]string{almostEmpty: almostEmpty, almostFull: almostFull}
	for _, p := range parts {
		gas[p.words] = p.words + " of the permitted fill"
		waste[p.words] = p.words + " full"
	}
	return gas, waste
}()
