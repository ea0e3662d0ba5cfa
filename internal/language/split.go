package language

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// between divides a text at a mark that stands between parts of equal rank.
func between(mark string) func(string) ([]string, string) {
	return func(text string) ([]string, string) {
		list := strings.Split(text, mark)
		if len(list) < 2 {
			return nil, ""
		}
		return list, mark
	}
}

// sentences divides a text where one sentence ends and another begins: after a
// full stop, question mark or colon's end, before a capital, a figure or a mark.
func sentences(text string) ([]string, string) {
	var list []string
	from := 0
	for i := 0; i+2 < len(text); i++ {
		if c := text[i]; c != '.' && c != '?' && c != '!' || text[i+1] != ' ' {
			continue
		}
		r, _ := utf8.DecodeRuneInString(text[i+2:])
		if !unicode.IsUpper(r) && !unicode.IsDigit(r) && !private(r) {
			continue
		}
		list = append(list, text[from:i+1])
		from = i + 2
	}
	if list == nil {
		return nil, ""
	}
	return append(list, text[from:]), " "
}

// ended takes off what a label or a sentence ends with.
func ended(text string) ([]string, string) {
	if n := len(text) - 1; n > 0 && (text[n] == ':' || text[n] == '.') {
		return []string{text[:n], text[n:]}, ""
	}
	return nil, ""
}

// bracketed takes brackets off.
func bracketed(text string) ([]string, string) {
	if n := len(text) - 1; n > 1 && text[0] == '(' && text[n] == ')' && !strings.ContainsAny(text[1:n], "()") {
		return []string{"(", text[1:n], ")"}, ""
	}
	return nil, ""
}

// lowered gives a text that begins with one capital with a small letter there.
func lowered(text string) (string, bool) {
	r, n := utf8.DecodeRuneInString(text)
	next, _ := utf8.DecodeRuneInString(text[n:])
	if !unicode.IsUpper(r) || unicode.IsUpper(next) {
		return "", false
	}
	return string(unicode.ToLower(r)) + text[n:], true
}

func capital(text string) string {
	r, n := utf8.DecodeRuneInString(text)
	return string(unicode.ToUpper(r)) + text[n:]
}
