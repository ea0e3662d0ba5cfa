package record

import (
	"slices"

	"gaugewright/internal/chart"
)

// document is the whole record in slabs.
func (p *pdf) document(d *Document) []slab {
	var tanks []slab
	for i, s := range d.Sections {
		tanks = append(tanks, p.section(s, i)...)
	}
	end := p.end(d)
	front := p.front(d)
	if p.lacks { // known when all else is set
		front = append(front, p.paragraph(p.run("Some characters can't be printed here and stand as "+string(lacking)+". The record as a page for a browser shows them.", remark()), 6)...)
	}
	return slices.Concat(front, p.glances(d), tanks, end)
}

// front is the title block and the fitter's own words.
func (p *pdf) front(d *Document) []slab {
	title := p.lines(d.Title, style{titleSize, true, chart.Ink()}, p.column())
	slabs := []slab{{height: height(title) + 6, hold: firm, draw: func(top float64) { p.rows(title, margin, top, p.column(), 0) }}}
	for _, s := range d.Findings {
		slabs = append(slabs, p.sentence(s, p.column())...)
	}
	facts := p.titleBlock(d.Facts)
	if len(facts) > 0 && len(d.Findings) > 0 {
		facts[0].space += 8
	}
	slabs = append(slabs, facts...)
	if d.Note != "" {
		slabs = append(slabs, p.paragraph(p.run(d.Note, body()), 8)...)
	}
	return slabs
}

// titleBlock is a frame, its cells divided by thin lines, as on a drawing: two
// in the first row, three in the others.
func (p *pdf) titleBlock(facts []Fact) []slab {
	if len(facts) == 0 {
		return nil
	}
	frame := &box{draw: func(top, bottom float64) {
		p.frame(margin, top, p.column(), bottom-top, boldLine, chart.Ink())
	}}
	var slabs []slab
	for i := 0; i < len(facts); {
		n := 3
		if i == 0 {
			n = 2
		}
		// The last row is as wide as the others, whatever it holds.
		n = min(n, len(facts)-i)
		width := p.column() / float64(n)
		var cells []cell
		for k, f := range facts[i : i+n] {
			value := style{9.4, true, chart.Ink()}
			if f.Missing {
				value = quiet().sized(9.4)
			}
			inner := width - 12
			rows := append(p.lines(f.Name, quiet().sized(7.2), inner), p.lines(f.Value, value, inner)...)
			cells = append(cells, cell{x: margin + float64(k)*width + 6, width: inner, rows: rows})
		}
		first := i == 0
		slabs = append(slabs, p.side(cells, 3, 4.5, func(top, bottom float64, begins, _ bool) {
			if begins && !first {
				p.line(margin, top, margin+p.column(), top, thinLine, chart.Ink())
			}
			for k := 1; k < n; k++ {
				x := margin + float64(k)*width
				p.line(x, top, x, bottom, thinLine, chart.Ink())
			}
		})...)
		i += n
	}
	for i := range slabs {
		slabs[i].box = frame
	}
	return holding(slabs, gentle)
}

// glances is the list of tanks, each with its numbers and its check.
func (p *pdf) glances(d *Document) []slab {
	if len(d.Sections) == 0 {
		return p.paragraph(p.run("No tank has been entered in this job yet.", body()), partSpace)
	}
	slabs := p.heading("The tanks at a glance", partSpace, headSize)
	for i, s := range d.Sections {
		if _, ok := p.links[s.ID]; !ok {
			p.links[s.ID] = p.out.AddLink()
		}
		link := p.links[s.ID]
		const gap = 8
		inner := p.column() - 12 - 2*gap
		parts := []float64{inner * 1 / 3.9, inner * 1.15 / 3.9, inner * 1.75 / 3.9}
		x := margin + 12
		var cells []cell
		for k, runs := range [][]run{
			{p.run(s.Heading, strong())},
			{p.run("Key in: ", quiet()), p.run(s.Glance.KeyIn, strong())},
			{p.run("Check: ", quiet()), p.run(s.Glance.Proof, strong())},
		} {
			cells = append(cells, cell{x: x, width: parts[k], rows: wrap(runs, parts[k])})
			x += parts[k] + gap
		}
		last := i == len(d.Sections)-1
		slabs = append(slabs, p.side(cells, 4, 4, func(top, bottom float64, begins, ends bool) {
			if begins {
				p.line(margin, top, margin+p.column(), top, thinLine, chart.Faint())
			}
			if last && ends {
				p.line(margin, bottom, margin+p.column(), bottom, thinLine, chart.Faint())
			}
			p.bar(margin, top, 4.5, bottom-top, s.Accent.Colour())
			p.out.Link(margin, top, p.column(), bottom-top, link)
		})...)
	}
	return slabs
}
