package record

import (
	"fmt"

	"gaugewright/internal/chart"
)

// strip is the readings as they were taken, in columns.
func (p *pdf) strip(s Strip) []slab {
	slabs := p.heading(s.Heading, partSpace, headSize)
	if len(s.Entries) > 0 {
		slabs = append(slabs, p.entries(s.Entries))
	}
	for _, n := range s.Notes {
		if len(s.Entries) > 0 {
			slabs[len(slabs)-1].hold = firm
		}
		slabs = append(slabs, p.paragraph(p.run(n, remark()), 4)...)
	}
	return slabs
}

// tape is how the entries of a strip stand: the number, then the mark, the sweep
// and the ohms in columns of their own.
type tape struct {
	number, mark, sweep, ohm float64 // widths
	column, gap              float64
}

// Between the parts of an entry, and between entries.
const (
	tapeGap  = 8.0
	tapeLead = 2.4
)

// entries sets readings. As many columns stand side by side as there is room
// for, up to four; without room even for one, the parts follow one another as
// text.
func (p *pdf) entries(list []Entry) slab {
	t := tape{gap: 18, number: remark().width(fmt.Sprint(len(list)))}
	for _, e := range list {
		t.mark = max(t.mark, body().width(p.run(e.Mark, body()).text))
		t.sweep = max(t.sweep, body().width(p.run(e.Sweep, body()).text))
		t.ohm = max(t.ohm, body().width(p.run(e.Ohm, body()).text))
	}
	count := int((p.column() + t.gap) / (t.needs() + t.gap))
	count = min(4, max(1, count))
	t.column = (p.column() - t.gap*float64(count-1)) / float64(count)
	loose := t.needs() > p.column()

	c := &columns{count: count, pad: 3}
	var draws []func(x, top float64)
	for i, e := range list {
		for _, piece := range p.entry(t, i+1, e, loose) {
			c.heights = append(c.heights, piece.height)
			draws = append(draws, piece.draw)
		}
	}
	c.draw = func(entry, column int, top float64) {
		draws[entry](margin+float64(column)*(t.column+t.gap), top)
	}
	c.ruled = func(top, bottom float64) {
		for _, y := range []float64{top, bottom} {
			p.line(margin, y, margin+p.column(), y, 1.1, chart.Ink())
		}
	}
	least := 2 * c.pad
	for _, h := range c.heights[:min(5, len(c.heights))] {
		least += h
	}
	return slab{height: least, columns: c}
}

// needs is the width of an entry.
func (t tape) needs() float64 {
	w := t.number + t.mark + t.ohm + 2*tapeGap
	if t.sweep > 0 {
		w += t.sweep + tapeGap
	}
	return w
}

// piece is a part of an entry that isn't cut.
type piece struct {
	height float64
	draw   func(x, top float64)
}

// entry is one reading, in one piece unless its note is long.
func (p *pdf) entry(t tape, n int, e Entry, loose bool) []piece {
	indent := t.number + tapeGap
	room := t.column - indent
	mark, sweep, ohm := p.run(e.Mark, body()), p.run(e.Sweep, body()), p.run(e.Ohm, body())
	var lines []row
	if loose {
		lines = wrap([]run{mark, {" ", body()}, sweep, {" ", body()}, ohm}, room)
	} else {
		line := row{size: bodySize, width: t.needs() - indent}
		x := t.mark
		line.runs = append(line.runs, placed{x - mark.width(mark.text), mark})
		if t.sweep > 0 {
			x += tapeGap
			if sweep.text != "" {
				line.runs = append(line.runs, placed{x, sweep})
			}
			x += t.sweep
		}
		x += tapeGap + t.ohm
		line.runs = append(line.runs, placed{x - ohm.width(ohm.text), ohm})
		lines = []row{line}
	}
	struck := 0
	if e.Out != "" {
		struck = len(lines)
		lines = append(lines, p.lines(e.Out, body().sized(noteSize), room)...)
	}
	if e.Note != "" {
		lines = append(lines, p.lines(e.Note, remark(), room)...)
	}
	var pieces []piece
	for from := 0; from < len(lines); from += most {
		part := lines[from:min(from+most, len(lines))]
		first := from == 0
		crossed := part[:max(0, min(struck-from, len(part)))]
		pieces = append(pieces, piece{height(part) + tapeLead, func(x, top float64) {
			top += tapeLead / 2
			if first {
				words := fmt.Sprint(n)
				p.text(x+t.number-remark().width(words), top+baseline(bodySize), words, remark())
			}
			p.rows(part, x+indent, top, 0, 0)
			y := top
			for _, r := range crossed {
				left := 0.0
				if len(r.runs) > 0 {
					left = r.runs[0].x
				}
				middle := y + baseline(r.size) - 0.28*r.size
				p.line(x+indent+left-1.5, middle, x+indent+r.width+1.5, middle, 1.1, chart.Ink())
				y += leading(r.size)
			}
		}})
	}
	return pieces
}
