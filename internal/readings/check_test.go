package readings

import (
	"strings"
	"testing"
	"unicode/utf8"
)

// eachError gives the errors that were joined, or the one there is.
func eachError(err error) []error {
	if joined, ok := err.(interface{ Unwrap() []error }); ok {
		return joined.Unwrap()
	}
	return []error{err}
}

// checkErrors holds what is said about the content of a file to its form: no
// more than five, each an *Error at a place that is in the file.
func checkErrors(t *testing.T, text string, err error) {
	t.Helper()
	list := eachError(err)
	if len(list) > maxMistakes {
		t.Errorf("%d errors at once", len(list))
	}
	lines := strings.Count(text, "\n") + strings.Count(text, "\r") + 1
	wide := strings.HasPrefix(text, "\xff\xfe") || strings.HasPrefix(text, "\xfe\xff")
	for _, one := range list {
		e, ok := one.(*Error) // not errors.As: it has to be the error itself
		if !ok {
			t.Fatalf("%T is not an *Error: %v", one, one)
		}
		if e.Line < 0 || e.Column < 0 || e.Line == 0 && e.Column > 0 || e.Msg == "" {
			t.Errorf("odd place or message: %#v", e)
		}
		if !wide && (e.Line > lines || e.Column > len(text)+1) {
			t.Errorf("%v is outside the file of %d lines and %d bytes", e, lines, len(text))
		}
		if !utf8.ValidString(e.Msg) || strings.ContainsAny(e.Msg, "\n\r\x00") || len(e.Msg) > 1000 {
			t.Errorf("message can't be shown on one line: %q", e.Msg)
		}
	}
}
