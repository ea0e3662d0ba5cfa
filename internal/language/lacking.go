package language

import (
	"fmt"
	"regexp"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Lacking gives what has to be added to the catalogue so that a text is said
// whole, as messages with holes: for each of its sentences and parts that aren't.
// A text that is said whole lacks nothing.
func (v *Voice) Lacking(text string) []string {
	text = squeeze(strings.TrimSpace(text))
	if _, all := v.Say(text); all {
		return nil
	}
	for _, split := range []func(string) ([]string, string){sentences, between(" · "), between(" – ")} {
		if list, _ := split(v.hidden(text)); list != nil {
			var out []string
			for _, part := range list {
				out = append(out, v.Lacking(v.shown(part))...)
			}
			if len(out) > 0 {
				return out
			}
		}
	}
	return []string{v.message(text)}
}

// hidden puts marks in the place of a person's words, so that those aren't
// divided; shown puts them back.
func (v *Voice) hidden(text string) string {
	for i, o := range v.inside(text) {
		if i < keepMost {
			text = replaceWhole(text, o, fmt.Sprintf("\uE000%s\uE001", strings.NewReplacer(". ", ".\uE002", " · ", "\uE003", " – ", "\uE004").Replace(o)))
		}
	}
	return text
}

func (v *Voice) shown(text string) string {
	return strings.NewReplacer("\uE000", "", "\uE001", "", ".\uE002", ". ", "\uE003", " · ", "\uE004", " – ").Replace(text)
}

var aHole = regexp.MustCompile(`\{own\}|</?[1-9][0-9]?>`)

// message makes a message of a text: a person's words, dates and figures become
// holes.
func (v *Voice) message(text string) string {
	own := v.inside(text)
	for i, o := range own {
		if i < keepMost {
			text = replaceWhole(text, o, string(rune(keepBase+i)))
		}
	}
	var out strings.Builder
	n := 0
	hole := func(kind string) {
		n++
		fmt.Fprintf(&out, "{%d:%s}", n, kind)
	}
	for i := 0; i < len(text); {
		rest := text[i:]
		if m := aHole.FindStringIndex(rest); m != nil && m[0] == 0 {
			if rest[0] == '{' {
				hole("own")
			} else {
				out.WriteString(rest[:m[1]])
			}
			i += m[1]
			continue
		}
		r, size := utf8.DecodeRuneInString(rest)
		before, _ := utf8.DecodeLastRuneInString(text[:i])
		apart := i == 0 || !unicode.IsLetter(before) && !unicode.IsDigit(before)
		switch {
		case private(r):
			hole("own")
			i += size
		case apart && dateAt(rest) > 0:
			hole("date")
			i += dateAt(rest)
		case apart && numberAt(rest) > 0 && !(i+numberAt(rest) < len(text) && letterAt(text[i+numberAt(rest):])):
			hole("number")
			i += numberAt(rest)
		default:
			out.WriteString(rest[:size])
			i += size
		}
	}
	return regexp.MustCompile(`(\{[0-9]+:own\})(?:[ ,]*\{[0-9]+:own\})+`).ReplaceAllString(out.String(), "$1")
}

func letterAt(s string) bool {
	r, _ := utf8.DecodeRuneInString(s)
	return unicode.IsLetter(r) && r != 'Ω'
}

// Covers says whether texts of a message's form are said whole. Its holes are
// taken to hold a figure, a date, or words of a person.
func (b *Book) Covers(context, id string) bool {
	b.ready()
	n := 0
	const somebody = "Qwx"
	text := holes.ReplaceAllStringFunc(id, func(h string) string {
		if h[0] == '<' {
			for _, p := range parts(h) {
				return p.text
			}
		}
		n++
		switch p := parts(h)[0]; p.kind {
		case number:
			return fmt.Sprint(6 + n)
		case dated:
			return "3 November 2025"
		}
		return somebody + string(rune('A'+n%26))
	})
	var own []string
	for i := range 26 {
		own = append(own, somebody+string(rune('A'+i)))
	}
	s, all := b.Voice(own).SayIn(context, text)
	return all && (!strings.ContainsFunc(text, private) || sameMarks(squeeze(text), s))
}
