package record

import "gaugewright/internal/chart"

// Distances in points.
const (
	partSpace = 13.0 // over a part
	underHead = 3.0  // under its heading
	thinLine  = 0.75
	boldLine  = 1.5
)

// cell is lines of text at a place across the page; align 0 is left, 1 right.
type cell struct {
	x, width float64
	rows     []row
	align    float64
}

// most is how many lines of text are kept in one slab; more are cut, so that no
// text is higher than a page.
const most = 12

// side puts cells side by side, with room over and under them. The lines that
// frame them are drawn by rule, which is told whether the cells begin
// and end there: cells of very many lines are cut, and hold firmly together.
func (p *pdf) side(cells []cell, over, under float64, rule func(top, bottom float64, begins, ends bool)) []slab {
	n := 0
	for _, c := range cells {
		n = max(n, len(c.rows))
	}
	var slabs []slab
	for from := 0; from == 0 || from < n; from += most {
		part := make([]cell, len(cells))
		high := 0.0
		for i, c := range cells {
			part[i] = c
			part[i].rows = c.rows[min(from, len(c.rows)):min(from+most, len(c.rows))]
			high = max(high, height(part[i].rows))
		}
		begins, ends, above := from == 0, from+most >= n, 0.0
		if begins {
			above = over
		}
		high += above
		if ends {
			high += under
		}
		slabs = append(slabs, slab{height: high, draw: func(top float64) {
			rule(top, top+high, begins, ends)
			for _, c := range part {
				p.rows(c.rows, c.x, top+above, c.width, c.align)
			}
		}})
	}
	return holding(slabs, firm)
}

// paragraph is text over the whole width.
func (p *pdf) paragraph(r run, space float64) []slab {
	return p.paragraphAt(wrap([]run{r}, p.column()), space, margin, nil)
}

// paragraphAt is lines of text at a place. A short one is kept whole; of a long
// one three lines stay together at either end. What stands at its side may be
// drawn, over its whole height.
func (p *pdf) paragraphAt(rows []row, space, x float64, aside func(top, bottom float64)) []slab {
	var slabs []slab
	for len(rows) > 0 || slabs == nil {
		n := len(rows)
		if n > 6 {
			n = 1
			if slabs == nil || len(rows) <= 3 {
				n = 3
			}
		}
		part := rows[:n]
		rows = rows[n:]
		high := height(part)
		if len(part) == 0 {
			high = leading(bodySize) // an empty entry still has its sign
		}
		slabs = append(slabs, slab{height: high, draw: func(top float64) {
			if aside != nil {
				aside(top, top+high)
			}
			p.rows(part, x, top, 0, 0)
		}})
	}
	slabs[0].space = space
	return slabs
}

// heading is a heading within a tank; it holds on to what follows.
func (p *pdf) heading(text string, space, size float64) []slab {
	return p.headingAt(text, space, size, margin)
}

func (p *pdf) headingAt(text string, space, size, x float64) []slab {
	slabs := p.paragraphAt(p.lines(text, style{size, true, chart.Ink()}, p.column()-2*(x-margin)), space, x, nil)
	slabs[len(slabs)-1].height += underHead
	for i := range slabs {
		slabs[i].hold = firm
	}
	return slabs
}

// holding makes each slab but the last hold on to the next.
func holding(slabs []slab, h hold) []slab {
	for i := range len(slabs) - 1 {
		slabs[i].hold = max(slabs[i].hold, h)
	}
	return slabs
}

// frame draws a rectangle whose line lies within it.
func (p *pdf) frame(x, y, width, height, line float64, c chart.Colour) {
	p.pen(stroke{width: line, colour: c})
	p.out.Rect(x+line/2, y+line/2, width-line, height-line, "D")
}
