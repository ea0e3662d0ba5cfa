package strict

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"unicode/utf8"
)

// plain refuses bytes that are no text, and takes off a byte order mark (RFC
// 8259, section 8.1, lets a reader pass it over).
func (f *Form) plain(name string, raw []byte) ([]byte, error) {
	if len(raw) > f.MaxBytes {
		return nil, &FileError{Name: name, Msg: fmt.Sprintf("more than %d MiB; a %s is not so large, so this is another file", f.MaxBytes>>20, f.File)}
	}
	if bytes.HasPrefix(raw, []byte{0xFF, 0xFE}) || bytes.HasPrefix(raw, []byte{0xFE, 0xFF}) {
		return nil, &FileError{Name: name, Msg: "the text is UTF-16; save the file again in UTF-8"}
	}
	text := bytes.TrimPrefix(raw, []byte{0xEF, 0xBB, 0xBF})
	if len(bytes.TrimSpace(text)) == 0 {
		return nil, &FileError{Name: name, Msg: fmt.Sprintf("the file is empty; expected a %s in JSON", f.Content)}
	}
	for i := 0; i < len(text); {
		r, size := utf8.DecodeRune(text[i:])
		if r == 0 || r == utf8.RuneError && size == 1 {
			e := &FileError{Name: name, Msg: fmt.Sprintf("byte 0x%02X is not UTF-8; save the file again in UTF-8, or take a copy that is whole", text[i])}
			if r == 0 {
				e.Msg = fmt.Sprintf("byte 0x00, so this is not a text file; expected a %s in JSON; if it was one, take a copy that is whole", f.Content)
			}
			e.Line, e.Column = Position(text, i)
			return nil, e
		}
		i += size
	}
	return text, nil
}

// wellFormed refuses what is no JSON, and says where it stops being it.
func (f *Form) wellFormed(name string, text []byte) error {
	var whole json.RawMessage
	err := json.Unmarshal(text, &whole)
	if err == nil {
		return nil
	}
	e := &FileError{Name: name, Msg: err.Error(), Cause: err}
	var syntax *json.SyntaxError
	if !errors.As(err, &syntax) {
		return e
	}
	// At the end of the text the library feeds its scanner one blank, and
	// blames that where a number, a word or an escape was cut through.
	fedBlank := syntax.Offset == int64(len(text)) && strings.HasPrefix(e.Msg, "invalid character ' '") && text[len(text)-1] != ' '
	if fedBlank || strings.HasPrefix(e.Msg, "unexpected end") {
		e.Msg = fmt.Sprintf("the file ends here, in the middle of the %s; it was cut short, take a copy that is whole", f.Content)
		e.Line, e.Column = Position(text, len(text))
		return e
	}
	at := max(0, min(int(syntax.Offset), len(text))-1)
	e.Line, e.Column = Position(text, at)
	r, _ := utf8.DecodeRune(text[at:])
	e.Msg = f.notJSON(e.Msg, r, text, at)
	return e
}

// content stands for what the form calls what is in its files.
const content = "{content}"

// expectations says what JSON (RFC 8259) wants at a place, by the words with
// which the standard library names that place.
var expectations = []struct{ place, text string }{
	{"looking for beginning of object key string", "found %s, expected a field's name in double quotes"},
	{"looking for beginning of value", "found %s, expected a value: a number, text in double quotes, a list or an object"},
	{"after object key:value pair", "found %s, expected a comma before the next field, or } after the last"},
	{"after object key", "found %s, expected a colon after the field's name"},
	{"after array element", "found %s, expected a comma before the next entry, or ] after the last"},
	{"after top-level value", "found %s after the end of the " + content + "; delete what follows it"},
	{"in string literal", "found %s inside text; a line break is written \\n, a tab \\t"},
	{"in string escape code", "found %s after a backslash inside text; a backslash itself is written \\\\"},
	{`in \u hexadecimal character escape`, "found %s, expected four hexadecimal digits after \\u"},
	{"after decimal point in numeric literal", "found %s, expected a digit after the decimal point"},
	{"in exponent of numeric literal", "found %s, expected a digit in the exponent"},
	{"in numeric literal", "found %s, expected a digit after the minus sign"},
	{"in literal ", "found %s in a word; the only words without quotes are true, false and null"},
}

// notJSON puts the standard library's message into a sentence of ours. What it
// doesn't know goes through as it is.
func (f *Form) notJSON(msg string, r rune, text []byte, at int) string {
	if strings.Contains(msg, "exceeded max depth") {
		return fmt.Sprintf("nested more than %d deep; a %s is not", f.MaxDepth, f.File)
	}
	before := bytes.TrimRight(text[:at], " \t\r\n")
	for _, e := range expectations {
		if !strings.Contains(msg, e.place) {
			continue
		}
		said := fmt.Sprintf(strings.ReplaceAll(e.text, content, f.Content), sign(r))
		switch {
		case (r == '}' || r == ']') && bytes.HasSuffix(before, []byte{','}):
			said += "; a comma stands too many before it"
		case r == '\'' || r == '“' || r == '„':
			said += "; JSON has no other quotes than \""
		case r == '/' || r == '#':
			said += "; JSON has no comments: use a note field"
		case r == '.':
			said += "; a number has a digit before its point"
		case r >= '0' && r <= '9' && bytes.HasSuffix(before, []byte{','}):
			said += "; a number has a decimal point, not a comma"
		case r >= '0' && r <= '9' && bytes.HasSuffix(before, []byte{'0'}):
			said += "; a number has no zeros before it"
		}
		return said
	}
	return msg
}

// sign names a character in a message.
func sign(r rune) string {
	if !strconv.IsPrint(r) {
		switch r {
		case '\n', '\r':
			return "a line break"
		case '\t':
			return "a tab"
		}
		return fmt.Sprintf("the sign U+%04X", r)
	}
	return string(r)
}
