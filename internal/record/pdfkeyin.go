package record

import "gaugewright/internal/chart"

// numbersSize is how large the numbers to key in are, where they have the room.
const numbersSize = 54.0

// keyIn is what to key in at the left and the sight column at the right,
// between two lines.
func (p *pdf) keyIn(k KeyIn) []slab {
	const gap = 16.0
	left, beside, scale := p.column(), 0.0, 0.75
	if k.Column != nil {
		p.readable(k.Column.Wide)
		left -= scale*k.Column.Wide.Width + gap
		beside = scale * k.Column.Wide.Height
	}
	slabs := p.headingAt("Key in", 0, headSize, margin)
	if k.Numbers != "" {
		slabs = append(slabs, p.numbers(k.Numbers, left)...)
	}
	if k.Under != "" {
		slabs = append(slabs, p.paragraphAt(p.lines(k.Under, quiet(), left), 2, margin, nil)...)
	}
	if k.Table != nil {
		slabs = append(slabs, p.paragraphAt(p.lines(k.Table.Heading, quiet(), left), 0, margin, nil)...)
		slabs[len(slabs)-1].hold = firm
		slabs = append(slabs, p.grid(*k.Table, min(left, 190), style{12.5, false, chart.Ink()})...)
		slabs = append(slabs, slab{height: 4})
	}
	for _, s := range k.Sentences {
		slabs = append(slabs, p.sentence(s, left)...)
	}
	if k.By != "" {
		slabs = append(slabs, p.paragraphAt(p.lines(k.By, quiet(), left), 5, margin, nil)...)
	}
	return p.beside(slabs, k.Column, beside, scale)
}

// beside puts a drawing at the right of the first of some slabs and lines over
// and under them all.
func (p *pdf) beside(slabs []slab, column *Figure, high, scale float64) []slab {
	frame := &box{over: 9, under: 10, draw: func(top, bottom float64) {
		for _, y := range []float64{top, bottom} {
			p.line(margin, y, margin+p.column(), y, boldLine, chart.Ink())
		}
	}}
	sum := 0.0
	for i := range slabs {
		if sum += slabs[i].height; i > 0 {
			sum += slabs[i].space
		}
		if sum < high {
			slabs[i].hold = firm // beside the drawing
		}
	}
	if rest := high - sum; rest > 0 {
		slabs = append(slabs, slab{height: rest})
	}
	if column != nil {
		first := slabs[0].draw
		slabs[0].draw = func(top float64) {
			first(top)
			p.drawing(column.Wide, margin+p.column()-scale*column.Wide.Width, top, scale)
		}
	}
	slabs[0].space = partSpace
	for i := range slabs {
		slabs[i].box = frame
	}
	return holding(slabs, gentle)
}

// numbers sets the numbers as large as the width takes them in one line, and
// small enough to be read as figures still in more.
func (p *pdf) numbers(text string, width float64) []slab {
	s := style{numbersSize, true, chart.Ink()}
	r := p.run(text, s)
	if w := s.width(r.text); w > width {
		s.size = max(20, s.size*width/w*0.999)
	}
	r.style = s
	// Between the figures and what they stand on there is more room in the
	// font than they need.
	rows := wrap([]run{r}, width)
	var slabs []slab
	for _, line := range rows {
		high := 0.98 * s.size
		slabs = append(slabs, slab{height: high, hold: firm, draw: func(top float64) {
			p.text(margin-0.03*s.size, top+0.83*s.size, line.runs[0].text, s)
		}})
	}
	return slabs
}
