package language

import (
	"bytes"
	"slices"
	"strings"

	"golang.org/x/net/html"
	"golang.org/x/text/language"
)

// Figures gives the figures of a text in a language, sorted, each with its
// decimals after a point: what a text and its translation must have alike. A
// figure's sign isn't told from a dash; what has several points is the same in every
// language.
func Figures(text, code string) []string {
	sign := "."
	if tag, err := language.Parse(code); err == nil {
		sign = decimalOf(tag)
	}
	var out []string
	names := designations(text)
	for i := 0; i < len(text); {
		if !digit(text[i]) {
			i++
			continue
		}
		if n := named(names, i); n > 0 {
			out = append(out, text[i:n])
			i = n
			continue
		}
		if n := chapter(text[i:]); n > 0 {
			out = append(out, text[i:i+n])
			i += n
			continue
		}
		k := i
		for k < len(text) && digit(text[k]) {
			k++
		}
		figure := text[i:k]
		if rest := text[k:]; strings.HasPrefix(rest, sign) && len(rest) > len(sign) && digit(rest[len(sign)]) {
			n := k + len(sign)
			for n < len(text) && digit(text[n]) {
				n++
			}
			figure += "." + text[k+len(sign):n]
			k = n
		}
		out = append(out, figure)
		i = k
	}
	slices.Sort(out)
	return out
}

// chapter gives how long the run of figures with two points or more is that a text
// begins with, as clauses and addresses have it; 0 where it is none.
func chapter(text string) int {
	n, points := 0, 0
	for n < len(text) && (digit(text[n]) || text[n] == '.' && n+1 < len(text) && digit(text[n+1])) {
		if text[n] == '.' {
			points++
		}
		n++
	}
	if points < 2 {
		return 0
	}
	return n
}

// TextOf gives what people read on a page, without scripts, rules, code and what
// stands in fields.
func TextOf(page []byte) string {
	var out strings.Builder
	z := html.NewTokenizer(bytes.NewReader(page))
	skip, depth := "", 0
	for {
		switch kind := z.Next(); kind {
		case html.ErrorToken:
			return out.String()
		case html.TextToken:
			if skip == "" {
				out.Write(z.Text())
				out.WriteByte('\n')
			}
		case html.StartTagToken, html.EndTagToken:
			b, _ := z.TagName()
			name := string(b)
			if name == "noscript" && kind == html.StartTagToken {
				z.NextIsNotRawText()
			}
			if skip == "" && kind == html.StartTagToken && (silent[name] || kept[name]) {
				skip = name
			}
			if name == skip {
				if kind == html.StartTagToken {
					depth++
				} else if depth--; depth == 0 {
					skip = ""
				}
			}
		}
	}
}
