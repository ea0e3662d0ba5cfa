package record

// toPoints is a pixel of a drawing at its own size: 96 to the inch on paper.
const toPoints = 72.0 / 96

// code is a drawing that a telephone reads, at its own size, with words beside it.
func (p *pdf) code(c Code) []slab {
	const gap = 14.0
	side := toPoints * c.Drawing.Width
	var rows []row
	for _, s := range c.Captions {
		rows = append(rows, p.lines(s, remark(), p.column()-side-gap)...)
	}
	// The white around the code is its own, so it stands close to the heading.
	high := max(toPoints*c.Drawing.Height, height(rows)+6)
	slabs := p.heading(c.Heading, partSpace, headSize)
	return append(slabs, slab{height: high, draw: func(top float64) {
		p.drawing(c.Drawing, margin, top, toPoints)
		p.rows(rows, margin+side+gap, top+6, 0, 0)
	}})
}
