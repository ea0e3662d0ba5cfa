// Package wording has what messages to people are put together with: text cut
// to a length that can be read, lists in a sentence, and how far a word is from
// the one that was probably meant.
package wording

import (
	"regexp"
	"strings"
)

// Clip shortens text that stands in a message to at most so many characters
// and a dot-dot-dot.
func Clip(text string, most int) string {
	count := 0
	for i := range text {
		if count == most {
			return text[:i] + "…"
		}
		count++
	}
	return text
}

// Several joins names for a sentence: "a, b or c", with the last word given.
func Several(names []string, last string) string {
	if len(names) < 2 {
		return strings.Join(names, "")
	}
	return strings.Join(names[:len(names)-1], ", ") + " " + last + " " + names[len(names)-1]
}

// Slips counts the letters to put in, take out or change to get from a to b
// (the Levenshtein distance). Its work grows with the product of their lengths.
func Slips(a, b string) int {
	from, to := []rune(a), []rune(b)
	line := make([]int, len(to)+1)
	for j := range line {
		line[j] = j
	}
	for i := range from {
		diagonal := line[0]
		line[0] = i + 1
		for j := range to {
			change := diagonal
			if from[i] != to[j] {
				change++
			}
			diagonal = line[j+1]
			line[j+1] = min(change, line[j]+1, line[j+1]+1)
		}
	}
	return line[len(to)]
}

// Units are the words that stay on one line with the figure before them.
var Units = []string{"%", "Ω", "°C", "°F", "mm", "m", "V", "mA", "L", "US gal", "imp gal", "kg", "lb", "kWh", "MJ", "bar", "ohm", "point", "points",
	"day", "days", "hour", "hours", "minute", "minutes", "h", "min", "s", "evenings", "mornings", "middays", "afternoons", "nights"}

// AfterFigure matches a figure's last digit, the space behind it, and one of the units.
func AfterFigure(units []string) *regexp.Regexp {
	alts := make([]string, len(units))
	for i, u := range units {
		alts[i] = regexp.QuoteMeta(u)
		if end := u[len(u)-1]; end >= 'A' && end <= 'z' && !strings.HasPrefix(u, "°") {
			alts[i] += `\b`
		}
	}
	return regexp.MustCompile(`([0-9]) (` + strings.Join(alts, "|") + `)`)
}

var (
	beforeUnit = AfterFigure(Units)
	gallons    = strings.NewReplacer("\u00a0US gal", "\u00a0US\u00a0gal", "\u00a0imp gal", "\u00a0imp\u00a0gal")
)

// Together keeps each figure and its unit on one line.
func Together(text string) string {
	if !strings.Contains(text, " ") {
		return text // most cells of tables
	}
	return gallons.Replace(beforeUnit.ReplaceAllString(text, "$1\u00a0$2"))
}
