package record

import "gaugewright/internal/chart"

// table is figures in rows under a heading, with its notes.
func (p *pdf) table(t Table) []slab {
	slabs := p.heading(t.Heading, partSpace, headSize)
	slabs = append(slabs, p.grid(t, p.column(), body())...)
	for i, n := range t.Notes {
		slabs[len(slabs)-1].hold = firm // notes don't stand alone
		space := 1.0
		if i == 0 {
			space = 4
		}
		slabs = append(slabs, p.paragraph(p.run(n, remark()), space)...)
	}
	return holding(slabs, gentle)
}

// grid is the rows of a table and its head, which is repeated on each page.
func (p *pdf) grid(t Table, width float64, s style) []slab {
	const pad = 4.0
	lefts, wide := columnsOf(t, width)
	cells := func(texts []string, s style) []cell {
		var list []cell
		for i, c := range t.Columns {
			text := ""
			if i < len(texts) {
				text = texts[i]
			}
			cl := cell{x: margin + lefts[i] + pad, width: wide[i] - 2*pad, align: 1}
			if !c.Numeric {
				cl.align = 0
				if i > 0 { // figures before it end at its edge
					cl.x, cl.width = cl.x+pad, cl.width-pad
				}
			}
			cl.rows = p.lines(text, s, cl.width)
			list = append(list, cl)
		}
		return list
	}
	names := make([]string, len(t.Columns))
	for i, c := range t.Columns {
		names[i] = c.Name
	}
	// Heads stand on their line.
	heads := cells(names, quiet().sized(min(s.size, 7.9)))
	high := 0.0
	for _, c := range heads {
		high = max(high, height(c.rows))
	}
	head := slab{height: high + 4, hold: firm, draw: func(top float64) {
		for _, c := range heads {
			p.rows(c.rows, c.x, top+high-height(c.rows), c.width, c.align)
		}
		p.line(margin, top+high+3, margin+width, top+high+3, 1.1, chart.Ink())
	}}
	slabs := []slab{head}
	for i, r := range t.Rows {
		st := s
		st.bold = r.Strong
		row := p.side(cells(r.Cells, st), 1.9, 2.1, func(_, bottom float64, _, ends bool) {
			if ends {
				p.line(margin, bottom, margin+width, bottom, thinLine, chart.Faint())
			}
		})
		// Neither the first row nor the last stands alone.
		if i == 0 || i == len(t.Rows)-2 {
			row[len(row)-1].hold = firm
		}
		for k := range row {
			row[k].head = &head
		}
		slabs = append(slabs, row...)
	}
	return slabs
}

// columnsOf gives where columns begin and how wide they are: as the table has it,
// or else words take a part of the width and figures share the rest.
func columnsOf(t Table, width float64) (lefts, widths []float64) {
	columns := t.Columns
	if len(t.Parts) == len(columns) {
		x := 0.0
		for _, part := range t.Parts {
			lefts, widths = append(lefts, x), append(widths, part*width)
			x += part * width
		}
		return lefts, widths
	}
	words := 0
	for _, c := range columns {
		if !c.Numeric {
			words++
		}
	}
	share := 0.27
	if figures := len(columns) - words; figures == 0 {
		share = 1 / float64(max(1, words))
	} else {
		share = min(share, 0.7/float64(max(1, words)))
	}
	x := 0.0
	for _, c := range columns {
		w := share * width
		if c.Numeric {
			w = width * (1 - share*float64(words)) / float64(len(columns)-words)
		}
		lefts, widths = append(lefts, x), append(widths, w)
		x += w
	}
	return lefts, widths
}
