package strict

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"gaugewright/internal/wording"
)

// typeWords names the types of JSON.
var typeWords = map[string]string{
	"number": "a number", "integer": "a whole number", "string": "text in double quotes", "array": "a list in [ ]",
	"object": "an object in { }", "boolean": "true or false", "null": "null",
}

// types names the types of which one is wanted.
func types(want []string) string {
	named := make([]string, len(want))
	for i, w := range want {
		named[i] = typeWords[w]
	}
	return wording.Several(named, "or")
}

// Found describes a value that was found: `text "54"`, 54, a list.
func Found(value any) string {
	switch v := value.(type) {
	case string:
		return "text " + Quoted(v)
	case float64:
		return Figure(v)
	case bool:
		return strconv.FormatBool(v)
	case []any:
		return "a list"
	case map[string]any:
		return "an object"
	}
	return "null"
}

// Figure prints a number in the fewest digits, without an exponent unless it
// is very large or very small.
func Figure(v float64) string {
	if size := math.Abs(v); v != 0 && (size < 1e-6 || size >= 1e15) {
		return strconv.FormatFloat(v, 'g', -1, 64)
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

// unquoted adds what to do about a number in quotes.
func unquoted(value any, want []string) string {
	text, ok := value.(string)
	if _, err := strconv.ParseFloat(text, 64); !ok || err != nil || !slices.Contains(want, "number") {
		return ""
	}
	return "; write it without quotes"
}

// numberRange says which numbers a part of the schema allows.
func numberRange(part map[string]any) string {
	low, between := "", " to "
	if v, ok := Number(part, "minimum"); ok {
		low = Figure(v)
	} else if v, ok := Number(part, "exclusiveMinimum"); ok {
		low, between = "above "+Figure(v), " and up to "
	}
	if v, ok := Number(part, "exclusiveMaximum"); ok {
		return low + " and below " + Figure(v)
	}
	high, _ := Number(part, "maximum")
	return low + between + Figure(high)
}

func entryRange(part map[string]any) string {
	low, _ := Number(part, "minItems")
	high, _ := Number(part, "maxItems")
	return fmt.Sprintf("%g to %g", low, high)
}

// lines says what text a part of the schema allows.
func lines(part map[string]any) string {
	if severalLines(part) {
		return "plain text"
	}
	return "one line of plain text"
}

// banned gives the signs that text may not hold.
func banned(part map[string]any) func(rune) bool {
	return func(r rune) bool {
		return unicode.IsControl(r) && !(severalLines(part) && strings.ContainsRune("\t\r\n", r))
	}
}

// severalLines recognises the text of notes by its length.
func severalLines(part map[string]any) bool {
	most, _ := Number(part, "maxLength")
	return most > 300
}

// count writes a number with its noun.
func count(n int, one, more string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + more
}
