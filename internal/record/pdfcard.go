package record

import (
	"errors"
	"fmt"
	"io"

	"gaugewright/internal/chart"
)

// A card is as large as A6 lying (ISO 216), in points.
const (
	mm       = 72 / 25.4
	cardWide = 148 * mm
	cardHigh = 105 * mm
	cardEdge = 5 * mm // kept white within it
	cutMark  = 4 * mm // how long the marks are at which it is cut
)

// codeDown is where the code begins: under the line of the job, beside the name.
const codeDown = 17.0

// leastLettering is the smallest lettering on a card, in points, to which texts
// shrink that are too long for their place. What is longer still is cut short,
// and says so; cautions never are: they go on over what is below them first.
const leastLettering = 4.6

// PDF writes the cards, two on a sheet, with marks to cut them out at. The file is
// as that of a record ([Document.PDF]).
func (c *Cards) PDF(w io.Writer, paper Paper) error {
	if _, err := ParsePaper(string(paper)); err != nil {
		return err
	}
	p := newPDF(paper)
	p.voice = c.about.voice
	about := describe(c.about)
	p.described(about)
	p.newPage()
	// Two stand over one another in the middle of the sheet.
	left, gap := (p.width-cardWide)/2, 10*mm
	top := (p.height - 2*cardHigh - gap) / 2
	for i := range c.List {
		if i > 0 && i%2 == 0 {
			p.newPage()
		}
		if err := p.card(&c.List[i], left, top+float64(i%2)*(cardHigh+gap)); err != nil {
			return err
		}
	}
	if len(c.List) == 0 {
		p.inOneLine("No tank has been entered in this job yet.", body(), margin, margin+20, p.column(), 0)
	}
	p.feet(c.about.Foot)
	if p.lacks {
		words := fmt.Sprintf("Some characters can't be printed here and stand as %c. The cards as a page for a browser show them.", lacking)
		for i := 1; i <= p.out.PageCount(); i++ {
			p.out.SetPage(i)
			p.font, p.fill = style{}, nil
			p.inOneLine(words, remark(), margin, margin, p.column(), 0)
		}
	}
	return p.write(w, about)
}

// place is a part of a card.
type place struct{ left, top, width, height float64 }

// card draws one card with its corners at a place.
func (p *pdf) card(c *Card, left, top float64) error {
	p.cutMarks(left, top)
	in := place{left + cardEdge, top + cardEdge, cardWide - 2*cardEdge, cardHigh - 2*cardEdge}
	p.bar(in.left, in.top, in.width, 4, c.Accent.Colour())
	foot := style{5.6, false, chart.Muted()}
	p.inOneLine(c.Foot, foot, in.left, in.top+in.height-1.5, in.width, 0)

	// The head: what is in the tank, its name; the job at the right.
	aside := style{6.6, false, chart.Muted()}
	p.inOneLine(c.Aside, aside, in.left+in.width*0.6, in.top+13, in.width*0.4, 1)
	p.inOneLine(c.Over, aside, in.left, in.top+13, in.width*0.58, 0)
	name := in.width
	if c.Code != nil {
		name -= toPoints*c.Code.Drawing.Width + 4
	}
	p.inOneLine(c.Heading, style{13, true, chart.Ink()}, in.left, in.top+26, name, 0)

	// What can't be done without is at the foot, and takes what it needs.
	room := in
	room.top += 31
	room.height -= 31 + 9
	needs := p.cautionsHeight(c, in.width)
	cautions := place{in.left, room.top + room.height - needs, in.width, needs}
	p.cardCautions(c, cautions)
	room.height -= needs
	if c.Row != nil {
		const rowHigh = 25
		if room.height > 110 {
			p.cardRow(c.Row, place{room.left, room.top + room.height - rowHigh, room.width, rowHigh})
			room.height -= rowHigh + 2
		}
	}
	if room.height < 40 {
		return errors.New("the cautions leave no room on a card")
	}

	// The code, the scale, and what to key in.
	text := room
	if c.Code != nil {
		p.readable(c.Code.Drawing)
		side := toPoints * c.Code.Drawing.Width
		p.drawing(c.Code.Drawing, in.left+in.width-side, in.top+codeDown, toPoints)
		text.width -= side + 4
	}
	if c.Column != nil {
		p.readable(c.Column.Wide)
		scale := min(112/c.Column.Wide.Width, room.height/c.Column.Wide.Height)
		text.width -= scale * c.Column.Wide.Width
		p.drawing(c.Column.Wide, text.left+text.width, room.top, scale)
		text.width -= 6
	}
	p.cardKeyIn(c, text)
	return nil
}

// cutMarks are at the corners of a card, outside it.
func (p *pdf) cutMarks(left, top float64) {
	const off = 1 * mm
	for _, x := range []float64{left, left + cardWide} {
		for _, y := range []float64{top, top + cardHigh} {
			outX, outY := -1.0, -1.0
			if x > left {
				outX = 1
			}
			if y > top {
				outY = 1
			}
			p.line(x+outX*off, y, x+outX*(off+cutMark), y, 0.4, chart.Ink())
			p.line(x, y+outY*off, x, y+outY*(off+cutMark), 0.4, chart.Ink())
		}
	}
}

// inOneLine writes a text in one line, cut short where it is longer; align 1 puts
// it to the right of the width.
func (p *pdf) inOneLine(text string, s style, left, base, width, align float64) {
	words := p.run(text, s).text
	if s.width(words) > width {
		r := run{words, s}
		words = words[:r.fitting(width-s.width("…"))] + "…"
	}
	p.text(left+align*(width-s.width(words)), base, words, s)
}

// shrunk sets texts in a width and a height, one under the other, in the largest
// lettering up to a size in which they have the room. What isn't to be had in the
// least is cut.
func (p *pdf) shrunk(texts []Sentence, s style, width, high float64) []row {
	for {
		var rows []row
		for _, t := range texts {
			runs := []run{p.run(t.Text, s)}
			if t.Word != "" {
				bold := s
				bold.bold = true
				runs = []run{p.run(t.Word+": ", bold), runs[0]}
			}
			rows = append(rows, wrap(runs, width)...)
		}
		if height(rows) <= high {
			return rows
		}
		if s.size <= leastLettering {
			n := max(1, int(high/leading(s.size)))
			rows = rows[:min(n, len(rows))]
			more := p.lines("… the rest stands in the record.", s, width)
			if len(more) > 0 {
				rows[len(rows)-1] = more[0]
			}
			return rows
		}
		s.size = max(leastLettering, s.size-0.2)
	}
}

// cardKeyIn is what to key in, large, and what it means.
func (p *pdf) cardKeyIn(c *Card, at place) {
	y := at.top
	p.inOneLine("Key in", style{7.4, true, chart.Ink()}, at.left, y+7, at.width, 0)
	y += 10
	if c.Numbers != "" {
		s := style{40, true, chart.Ink()}
		if len(c.Entries) > 0 {
			s.size = 26
		}
		words := p.run(c.Numbers, s).text
		if w := s.width(words); w > at.width {
			s.size = max(9, s.size*at.width/w*0.999)
		}
		p.inOneLine(c.Numbers, s, at.left-0.03*s.size, y+0.8*s.size, at.width+1, 0)
		y += 0.92*s.size + 2
	}
	if n := len(c.Entries); n > 0 {
		// As many beside one another as leave room for words below.
		s, across := style{9, true, chart.Ink()}, 2
		switch {
		case c.Numbers != "": // large already
			s.size, across = 6.8, 3
		case n <= 3:
			s.size, across = 17, 1
		case n > 12:
			s.size, across = 6.4, 3
		}
		wide := at.width / float64(across)
		for _, e := range c.Entries {
			if w := s.width(p.run(e, s).text); w > wide-9 {
				s.size = max(leastLettering, s.size*(wide-9)/w*0.999)
			}
		}
		down := (n + across - 1) / across
		for i, e := range c.Entries {
			p.inOneLine(e, s, at.left+float64(i/down)*wide, y+baseline(s.size)+float64(i%down)*leading(s.size), wide-9, 0)
		}
		y += float64(down)*leading(s.size) + 3
	}
	p.rows(p.shrunk(c.Words, style{7.2, false, chart.Ink()}, at.width, at.top+at.height-y), at.left, y, at.width, 0)
}

// cardRow is marks, and under them what is shown.
func (p *pdf) cardRow(t *Table, at place) {
	const name = 50.0
	n := len(t.Rows[0].Cells) - 1
	wide := (at.width - name) / float64(n)
	for i, r := range t.Rows {
		base := at.top + 9 + 10.5*float64(i)
		p.inOneLine(r.Cells[0], style{6.6, false, chart.Muted()}, at.left, base, name-2, 0)
		for k, cell := range r.Cells[1:] {
			p.inOneLine(cell, style{7.6, r.Strong, chart.Ink()}, at.left+name+float64(k)*wide, base, wide-1, 1)
		}
	}
	for _, y := range []float64{at.top, at.top + 11.5, at.top + 23} {
		p.line(at.left, y, at.left+at.width, y, 0.5, chart.Faint())
	}
}

// Cautions stand in a frame, with a sign before each.
const cautionPad, cautionSign = 4.0, 7.0

// cautionRows sets the cautions, in lettering that leaves what else is on the card
// its room; each has a sign before it.
func (p *pdf) cautionRows(c *Card, width float64) (rows [][]row, high float64) {
	const most = 84.0
	for s := (style{6.8, false, chart.Ink()}); ; s.size = max(leastLettering, s.size-0.2) {
		rows, high = nil, 0
		for _, t := range c.Cautions {
			lines := p.lines(t, s, width-2*cautionPad-1-cautionSign)
			rows, high = append(rows, lines), high+height(lines)
		}
		if high <= most || s.size <= leastLettering {
			return rows, high
		}
	}
}

func (p *pdf) cautionsHeight(c *Card, width float64) float64 {
	if len(c.Cautions) == 0 {
		return 0
	}
	_, high := p.cautionRows(c, width)
	return high + 2*cautionPad + 2
}

func (p *pdf) cardCautions(c *Card, at place) {
	if len(c.Cautions) == 0 {
		return
	}
	p.frame(at.left, at.top+2, at.width, at.height-2, 1.4, chart.Ink())
	rows, _ := p.cautionRows(c, at.width)
	y := at.top + 2 + cautionPad
	for _, lines := range rows {
		if len(lines) > 0 {
			p.text(at.left+cautionPad+1, y+baseline(lines[0].size), "–", style{lines[0].size, false, chart.Ink()})
		}
		p.rows(lines, at.left+cautionPad+1+cautionSign, y, at.width, 0)
		y += height(lines)
	}
}
