package job

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"
)

// kinds names the types of JSON.
var kinds = map[string]string{
	"number": "a number", "string": "text in double quotes", "array": "a list in [ ]", "object": "an object in { }",
}

// found describes a value.
func found(value any) string {
	switch v := value.(type) {
	case string:
		return "text " + quoted(v)
	case float64:
		return figure(v)
	case bool:
		return strconv.FormatBool(v)
	case []any:
		return "a list"
	case map[string]any:
		return "an object"
	}
	return "null"
}

// figure prints a number in the fewest digits, without an exponent unless it
// is very large or very small.
func figure(v float64) string {
	if size := math.Abs(v); v != 0 && (size < 1e-6 || size >= 1e15) {
		return strconv.FormatFloat(v, 'g', -1, 64)
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

// unquoted adds what to do about a number in quotes.
func unquoted(value any, want string) string {
	text, ok := value.(string)
	if _, err := strconv.ParseFloat(text, 64); !ok || err != nil || want != "number" {
		return ""
	}
	return "; write it without quotes"
}

// numberRange says which numbers a part of the schema allows.
func numberRange(part map[string]any) string {
	low, between := "", " to "
	if v, ok := number(part, "minimum"); ok {
		low = figure(v)
	} else if v, ok := number(part, "exclusiveMinimum"); ok {
		low, between = "above "+figure(v), " and up to "
	}
	if v, ok := number(part, "exclusiveMaximum"); ok {
		return low + " and below " + figure(v)
	}
	high, _ := number(part, "maximum")
	return low + between + figure(high)
}

func entryRange(part map[string]any) string {
	low, _ := number(part, "minItems")
	high, _ := number(part, "maxItems")
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
	most, _ := number(part, "maxLength")
	return most > 300
}

// why adds for what a missing field is needed, where that isn't plain.
func why(schemaURL string, value any) string {
	if !strings.Contains(schemaURL, "/then") {
		return ""
	}
	return fmt.Sprintf(", which a %s readout has", readoutOf(value))
}

func readoutOf(setting any) string {
	object, _ := setting.(map[string]any)
	text, _ := object["readout"].(string)
	return text
}

func last(path []string) string {
	if len(path) == 0 {
		return ""
	}
	return path[len(path)-1]
}

// lpgFillTooHigh refuses a permitted fill that leaves a gas tank too little
// room.
func lpgFillTooHigh(value any) string {
	return fmt.Sprintf("found %s; for lpg no permitted fill above %d is accepted, so that the liquid has room to expand; "+
		"80 is common practice, and the local code governs", found(value), MaxLPGFillPct)
}

// count writes a number with its noun.
func count(n int, one, more string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + more
}
