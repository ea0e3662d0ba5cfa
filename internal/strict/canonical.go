package strict

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf16"
	"unicode/utf8"
)

// Canonical gives plain values, as a file's [Form.Values] are, as the one JSON
// text that stands for them by RFC 8785: no blanks, members in the order of their
// names' UTF-16 code units, numbers as ECMAScript writes them. It is an error
// where a number is infinite or none, and where a text isn't UTF-8.
func Canonical(v any) ([]byte, error) { return appendCanonical(nil, v) }

func appendCanonical(out []byte, v any) ([]byte, error) {
	var err error
	switch v := v.(type) {
	case nil:
		return append(out, "null"...), nil
	case bool:
		return strconv.AppendBool(out, v), nil
	case float64:
		return appendNumber(out, v)
	case string:
		return appendText(out, v)
	case []any:
		out = append(out, '[')
		for i, e := range v {
			if i > 0 {
				out = append(out, ',')
			}
			if out, err = appendCanonical(out, e); err != nil {
				return nil, err
			}
		}
		return append(out, ']'), nil
	case map[string]any:
		out = append(out, '{')
		for i, name := range codeUnitOrder(v) {
			if i > 0 {
				out = append(out, ',')
			}
			if out, err = appendText(out, name); err != nil {
				return nil, err
			}
			if out, err = appendCanonical(append(out, ':'), v[name]); err != nil {
				return nil, err
			}
		}
		return append(out, '}'), nil
	}
	return nil, fmt.Errorf("a %T isn't a plain value of JSON", v)
}

// codeUnitOrder gives the names of an object in the order of RFC 8785, section
// 3.2.3. It differs from that of bytes beyond U+FFFF, whose UTF-16 begins lower
// than U+E000.
func codeUnitOrder(object map[string]any) []string {
	names := make([]string, 0, len(object))
	for name := range object {
		names = append(names, name)
	}
	slices.SortFunc(names, func(a, b string) int {
		if ascii(a) && ascii(b) {
			return strings.Compare(a, b)
		}
		return slices.Compare(utf16.Encode([]rune(a)), utf16.Encode([]rune(b)))
	})
	return names
}

func ascii(s string) bool {
	for i := range len(s) {
		if s[i] >= utf8.RuneSelf {
			return false
		}
	}
	return true
}

// appendNumber writes a number as ECMAScript does (ECMA-262, Number::toString):
// the fewest digits that read back as the same value, without an exponent from
// 1e-6 up to below 1e21.
func appendNumber(out []byte, v float64) ([]byte, error) {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil, fmt.Errorf("%v is no number of JSON", v)
	}
	if v == 0 {
		return append(out, '0'), nil // -0 too
	}
	if size := math.Abs(v); size >= 1e-6 && size < 1e21 {
		return strconv.AppendFloat(out, v, 'f', -1, 64), nil
	}
	text := strconv.FormatFloat(v, 'e', -1, 64)
	digits, exponent, _ := strings.Cut(text, "e")
	sign := exponent[:1]
	return append(out, digits+"e"+sign+strings.TrimLeft(exponent[1:], "0")...), nil
}

// appendText writes text with the escapes of RFC 8785, section 3.2.2.2, alone.
func appendText(out []byte, s string) ([]byte, error) {
	if !utf8.ValidString(s) {
		return nil, fmt.Errorf("text that is not UTF-8: %s", Quoted(s))
	}
	out = append(out, '"')
	for i := range len(s) {
		switch c := s[i]; c {
		case '"', '\\':
			out = append(out, '\\', c)
		case '\b':
			out = append(out, `\b`...)
		case '\t':
			out = append(out, `\t`...)
		case '\n':
			out = append(out, `\n`...)
		case '\f':
			out = append(out, `\f`...)
		case '\r':
			out = append(out, `\r`...)
		default:
			if c < 0x20 {
				out = fmt.Appendf(out, `\u%04x`, c)
			} else {
				out = append(out, c)
			}
		}
	}
	return append(out, '"'), nil
}

// Values gives the text of a file of this form, which has been read without an
// error, as plain values: map[string]any, []any, string, float64, bool, nil; just
// as they stand there, whatever the version.
func (f *Form) Values(name string, text []byte) (any, error) {
	text, err := f.plain(name, text)
	if err != nil {
		return nil, err
	}
	if err := f.wellFormed(name, text); err != nil {
		return nil, err
	}
	tree, problems := f.walk(text, nil)
	return tree, f.Report(name, text, problems)
}
