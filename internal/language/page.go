package language

import (
	"bytes"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/net/html"
)

// inline are the elements that stand inside sentences; any other ends one.
var inline = setOf("a abbr b bdi cite del dfn em i ins mark output q s small span strong sub sup time u var code kbd samp")

// silent are the elements whose text isn't for people, or is somebody's own.
var silent = setOf("script style textarea pre template")

// kept are the elements that stay as they are, and may stand in a sentence.
var kept = setOf("code kbd samp")

// void are the elements without an end (WHATWG HTML, 13.1.2).
var void = setOf("area base br col embed hr img input link meta source track wbr")

func setOf(names string) map[string]bool {
	set := map[string]bool{}
	for _, n := range strings.Fields(names) {
		set[n] = true
	}
	return set
}

// keptBase numbers the elements of a sentence that stay as they are.
const keptBase = 0xE800

// Page says a finished page of HTML, or a piece of one: its texts, the attributes
// that people read or hear, and the language that it names. Elements with
// translate="no", scripts, rules, code and what stands in fields stay as they are.
// Everything else is the same, byte for byte.
func (v *Voice) Page(page []byte) []byte {
	p := pager{v: v, out: make([]byte, 0, len(page)+len(page)/4)}
	z := html.NewTokenizer(bytes.NewReader(page))
	z.SetMaxBuf(0)
	skip, depth := "", 0 // an element that is left alone, and how often it is open
	for {
		kind := z.Next()
		if kind == html.ErrorToken {
			p.flush()
			p.flushLines()
			return append(p.out, z.Raw()...)
		}
		raw := z.Raw()
		switch kind {
		case html.TextToken:
			if p.lettering {
				p.lines[len(p.lines)-1].text += html.UnescapeString(string(raw))
				continue
			}
			p.flushLines()
			if skip != "" {
				p.add(node{raw: string(raw)})
				continue
			}
			p.add(node{raw: string(raw), text: html.UnescapeString(string(raw)), isText: true})
		case html.StartTagToken, html.SelfClosingTagToken:
			b, _ := z.TagName()
			name := string(b)
			if skip != "" {
				if name == skip && kind == html.StartTagToken {
					depth++
				}
				p.add(node{raw: string(raw)})
				continue
			}
			tag, no := v.tag(string(raw), name)
			if name == "text" && kind == html.StartTagToken {
				p.flush()
				p.letter(tag)
				continue
			}
			p.flushLines()
			alone := kind == html.SelfClosingTagToken || void[name]
			if !alone && (no || silent[name] || kept[name]) {
				skip, depth = name, 1
				p.keepFrom(inline[name])
				p.add(node{raw: tag})
				continue
			}
			if inline[name] && !alone {
				p.add(node{raw: tag, opens: name})
				continue
			}
			p.flush()
			p.out = append(p.out, tag...)
		case html.EndTagToken:
			b, _ := z.TagName()
			name := string(b)
			if p.lettering && name == "text" {
				p.lines[len(p.lines)-1].end = string(raw)
				p.lettering = false
				continue
			}
			p.flushLines()
			if skip != "" {
				p.add(node{raw: string(raw)})
				if name == skip {
					if depth--; depth == 0 {
						skip = ""
						p.keepTo()
					}
				}
				continue
			}
			if inline[name] {
				p.add(node{raw: string(raw), closes: name})
				continue
			}
			p.flush()
			p.out = append(p.out, raw...)
		default:
			if skip != "" {
				p.add(node{raw: string(raw)})
				continue
			}
			p.flush()
			p.flushLines()
			p.out = append(p.out, raw...)
		}
	}
}

// line is a line of lettering in a drawing (SVG's text element).
type line struct{ tag, text, end string }

// letter begins a line of lettering. Those that stand under one another, one
// after the other, are said together.
func (p *pager) letter(tag string) {
	at := ""
	for _, a := range attributes(tag) {
		if a.name == "x" || a.name == "text-anchor" {
			at += tag[a.begin:a.end] + " "
		}
	}
	if p.lettering || at != p.under {
		p.flushLines()
	}
	p.under, p.lettering = at, true
	p.lines = append(p.lines, line{tag: tag})
}

func (p *pager) flushLines() {
	if len(p.lines) == 0 {
		return
	}
	texts := make([]string, len(p.lines))
	for i, l := range p.lines {
		texts[i] = l.text
	}
	for i, said := range p.v.Lines(texts) {
		l := p.lines[i]
		p.out = append(p.out, l.tag+html.EscapeString(said)+l.end...)
	}
	p.lines, p.lettering, p.under = p.lines[:0], false, ""
}

// node is a piece of a run of text and inline mark-up.
type node struct {
	raw           string
	text          string
	isText        bool
	opens, closes string
	end           int // of what opens: where it closes; 0 where it doesn't
}

type pager struct {
	v    *Voice
	out  []byte
	run  []node
	kept *strings.Builder // what is left alone, while it is read

	lines     []line // of lettering, under one another
	under     string // where they stand
	lettering bool   // the last one isn't at its end
}

func (p *pager) add(n node) {
	if p.kept != nil {
		p.kept.WriteString(n.raw)
		return
	}
	p.run = append(p.run, n)
}

// keepFrom begins a piece that stays; inside a sentence it is a part of it.
func (p *pager) keepFrom(inside bool) {
	if !inside {
		p.flush()
	}
	p.kept = &strings.Builder{}
}

func (p *pager) keepTo() {
	raw := p.kept.String()
	p.kept = nil
	p.run = append(p.run, node{raw: raw})
}

// flush says the run that was read.
func (p *pager) flush() {
	if p.kept != nil { // it never ended
		p.keepTo()
	}
	if len(p.run) == 0 {
		return
	}
	var open []int
	for i := range p.run {
		switch n := &p.run[i]; {
		case n.opens != "":
			open = append(open, i)
		case n.closes != "":
			if k := len(open) - 1; k >= 0 && p.run[open[k]].opens == n.closes {
				p.run[open[k]].end = i
				open = open[:k]
			} else {
				open = nil
			}
		}
	}
	p.say(0, len(p.run))
	p.run = p.run[:0]
}

// Longer runs than these are no sentences.
const (
	sentencePieces = 16
	sentenceBytes  = 1500
)

// say writes the nodes from a place to another in the language: as one sentence
// where the catalogue has it so, else piece by piece. It says whether nothing was
// left out.
func (p *pager) say(from, to int) bool {
	run := p.run[from:to]
	speaking, size := 0, 0
	for _, n := range run {
		size += len(n.text)
		if n.isText && strings.TrimSpace(n.text) != "" {
			speaking++
		}
	}
	if speaking == 0 {
		for _, n := range run {
			p.out = append(p.out, n.raw...)
		}
		return true
	}
	whole := len(run) > 1 && len(run) <= 3*sentencePieces && speaking <= sentencePieces && size <= sentenceBytes
	if whole && p.together(from, to) {
		return true
	}
	missed := []string{}
	all := true
	for i := from; i < to; i++ {
		n := p.run[i]
		if n.opens != "" && n.end > 0 && n.end < to {
			p.out = append(p.out, n.raw...)
			all = p.say(i+1, n.end) && all
			p.out = append(p.out, p.run[n.end].raw...)
			i = n.end
			continue
		}
		if !n.isText || strings.TrimSpace(n.text) == "" {
			p.out = append(p.out, n.raw...)
			continue
		}
		lead, text, trail := trimmed(n.text)
		said, ok := p.v.Say(text)
		if !ok {
			missed, all = append(missed, text), false
		}
		if said == text {
			p.out = append(p.out, n.raw...)
		} else {
			p.out = append(p.out, lead+html.EscapeString(said)+trail...)
		}
	}
	if len(missed) == 0 || p.v.Missed == nil {
		return all
	}
	if whole && speaking > 1 && continuing(p.run[from:to]) {
		if text, _, ok := p.sentence(from, to); ok {
			missed = []string{written(text)}
		}
	}
	for _, m := range missed {
		p.v.Missed(squeeze(m))
	}
	return all
}

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
