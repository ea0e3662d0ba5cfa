package language

import (
	"strings"

	"golang.org/x/net/html"
)

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
