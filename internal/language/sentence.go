package language

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/net/html"
)

// continuing says whether a sentence goes on from one piece of a run to the next,
// so that it has to be said as a whole.
func continuing(run []node) bool {
	before := ":"
	for _, n := range run {
		text := strings.TrimSpace(n.text)
		if !n.isText || text == "" {
			continue
		}
		first, _ := utf8.DecodeRuneInString(text)
		if !unicode.IsUpper(first) && !strings.ContainsAny(before[len(before)-1:], ":.") && !strings.HasSuffix(before, "·") && first != '·' {
			return true
		}
		before = text
	}
	return false
}

// sentence writes a run as one text with marks for its mark-up, and gives what the
// marks stand for; false where its mark-up isn't whole.
func (p *pager) sentence(from, to int) (string, map[rune]string, bool) {
	var b strings.Builder
	marks := map[rune]string{}
	tag, keep := 0, rune(keptBase)
	names := map[int]rune{}
	for i := from; i < to; i++ {
		n := p.run[i]
		switch {
		case n.isText:
			if strings.ContainsFunc(n.text, private) {
				return "", nil, false
			}
			b.WriteString(n.text)
		case n.opens != "":
			if n.end == 0 || n.end >= to {
				return "", nil, false
			}
			if tag++; tag > 99 {
				return "", nil, false
			}
			r := rune(tagBase + 2*tag)
			names[n.end] = r + 1
			marks[r] = n.raw
			b.WriteRune(r)
		case n.closes != "":
			r, ok := names[i]
			if !ok {
				return "", nil, false
			}
			marks[r] = n.raw
			b.WriteRune(r)
		default:
			marks[keep] = n.raw
			b.WriteRune(keep)
			keep++
		}
	}
	return b.String(), marks, true
}

// together says a run as one sentence, where the catalogue has it whole.
func (p *pager) together(from, to int) bool {
	text, marks, ok := p.sentence(from, to)
	if !ok || len(marks) == 0 {
		return false
	}
	lead, text, trail := trimmed(text)
	s, all := p.v.sentence(text)
	if !all {
		return false
	}
	p.out = append(p.out, lead...)
	at := 0
	for i, r := range s {
		if raw, ok := marks[r]; ok {
			p.out = append(p.out, html.EscapeString(s[at:i])...)
			p.out = append(p.out, raw...)
			at = i + len(string(r))
		}
	}
	p.out = append(p.out, html.EscapeString(s[at:])...)
	p.out = append(p.out, trail...)
	return true
}

// sentence says a text with mark-up only by what the catalogue has with that
// mark-up.
func (v *Voice) sentence(text string) (string, bool) {
	plain := squeeze(text)
	if strings.IndexFunc(plain, func(r rune) bool { return r >= tagBase && r < tagBase+200 }) >= 0 && !v.b.tagged {
		return "", false
	}
	s, all := v.Say(text)
	if !all || !nested(s) || !sameMarks(plain, s) {
		return "", false
	}
	return s, true
}

// sameMarks says whether two texts have the same marks, each as often.
func sameMarks(a, b string) bool {
	count := map[rune]int{}
	for _, r := range a {
		if private(r) {
			count[r]++
		}
	}
	for _, r := range b {
		if private(r) {
			count[r]--
		}
	}
	for _, n := range count {
		if n != 0 {
			return false
		}
	}
	return true
}

// written gives a text with its mark-up as a catalogue has it.
func written(text string) string {
	var b strings.Builder
	for _, r := range squeeze(strings.TrimSpace(text)) {
		switch {
		case r >= tagBase && r < tagBase+200:
			b.WriteString([...]string{"<", "</"}[(r-tagBase)%2])
			b.WriteString(itoa(int(r-tagBase) / 2))
			b.WriteByte('>')
		case private(r):
			b.WriteString("{own}")
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}

// trimmed takes white space off the ends of a text, and gives it as well. A space
// that doesn't break a line is a part of the text.
func trimmed(s string) (lead, text, trail string) {
	space := func(r rune) bool { return r != '\u00a0' && unicode.IsSpace(r) }
	text = strings.TrimLeftFunc(s, space)
	lead = s[:len(s)-len(text)]
	s = text
	text = strings.TrimRightFunc(s, space)
	return lead, text, s[len(text):]
}
