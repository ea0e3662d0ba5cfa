package record

import "gaugewright/internal/chart"

// section is one tank. Every tank but the first begins a page.
func (p *pdf) section(s Section, index int) []slab {
	over := p.lines(s.Over, quiet().sized(9), p.column())
	name := p.lines(s.Heading, style{tankSize, true, chart.Ink()}, p.column())
	mark, _ := settable(s.Heading)
	if _, ok := p.links[s.ID]; !ok {
		p.links[s.ID] = p.out.AddLink()
	}
	slabs := []slab{{space: 20, height: 10.5 + height(over) + height(name) + 7, hold: firm, newPage: index > 0, draw: func(top float64) {
		p.bar(margin, top, p.column(), 4.5, s.Accent.Colour())
		p.rows(over, margin, top+9, p.column(), 0)
		p.rows(name, margin, top+9+height(over), p.column(), 0)
		p.out.Bookmark(mark, 0, top)
		p.out.SetLink(p.links[s.ID], top, p.out.PageNo())
	}}}
	for _, b := range s.Blocks {
		slabs = append(slabs, p.block(b)...)
	}
	return slabs
}

// block is one part of a tank.
func (p *pdf) block(b Block) []slab {
	switch b := b.(type) {
	case Facts:
		return p.facts(b)
	case Cautions:
		return p.cautions(b)
	case Todo:
		return p.todo(b)
	case KeyIn:
		return p.keyIn(b)
	case Figure:
		return p.figure(b)
	case Table:
		return p.table(b)
	case Findings:
		return p.findings(b)
	case Strip:
		return p.strip(b)
	case Code:
		return p.code(b)
	}
	return nil
}

// facts stand in two columns, each with its name before it.
func (p *pdf) facts(f Facts) []slab {
	var slabs []slab
	if f.Heading != "" {
		slabs = p.heading(f.Heading, partSpace, headSize)
	}
	const gap, name = 18.0, 76.0
	width := (p.column() - gap) / 2
	for i := 0; i < len(f.List); i += 2 {
		pair := f.List[i:min(i+2, len(f.List))]
		var cells []cell
		for k, fact := range pair {
			x := margin + float64(k)*(width+gap)
			value := body()
			if fact.Missing {
				value = quiet()
			}
			cells = append(cells,
				cell{x: x, width: name, rows: p.lines(fact.Name, quiet(), name)},
				cell{x: x + name + 6, width: width - name - 6, rows: p.lines(fact.Value, value, width-name-6)})
		}
		slabs = append(slabs, p.side(cells, 2, 2, func(top, _ float64, begins, _ bool) {
			for k := range pair {
				if x := margin + float64(k)*(width+gap); begins {
					p.line(x, top, x+width, top, thinLine, chart.Faint())
				}
			}
		})...)
	}
	return slabs
}

// cautions stand in a double frame.
func (p *pdf) cautions(c Cautions) []slab {
	frame := &box{over: 12, under: 12, draw: func(top, bottom float64) {
		p.frame(margin, top, p.column(), bottom-top, 1.7, chart.Ink())
		p.frame(margin+3.5, top+3.5, p.column()-7, bottom-top-7, 0.9, chart.Ink())
	}}
	return p.boxed(frame, "Cautions", c.List, func(top float64) {
		p.text(margin+15, top+baseline(bodySize), "–", body())
	})
}

// todo stands in a broken frame, with a square to tick before each.
func (p *pdf) todo(t Todo) []slab {
	frame := &box{over: 9, under: 9, draw: func(top, bottom float64) {
		p.pen(stroke{width: boldLine, colour: chart.Ink()}, 6, 4)
		p.out.Rect(margin+boldLine/2, top+boldLine/2, p.column()-boldLine, bottom-top-boldLine, "D")
	}}
	return p.boxed(frame, "Still to do", t.List, func(top float64) {
		p.pen(stroke{width: 1.1, colour: chart.Ink()})
		p.out.Rect(margin+14, top+baseline(bodySize)-6.6, 7, 7, "D")
	})
}

// boxed is a heading and a list in a box, with a sign before each entry.
func (p *pdf) boxed(b *box, heading string, list []string, sign func(top float64)) []slab {
	slabs := p.headingAt(heading, 0, headSize, margin+13)
	const indent = 27.0
	for _, text := range list {
		item := p.paragraphAt(p.lines(text, body(), p.column()-indent-14), 2.5, margin+indent, nil)
		first := item[0].draw
		item[0].draw = func(top float64) {
			sign(top)
			first(top)
		}
		slabs = append(slabs, item...)
	}
	slabs[0].space = partSpace + 2
	for i := range slabs {
		slabs[i].box = b
	}
	return holding(slabs, gentle)
}

// findings are sentences under a heading.
func (p *pdf) findings(f Findings) []slab {
	slabs := p.heading(f.Heading, partSpace, headSize)
	for i, s := range f.List {
		said := p.sentence(s, p.column())
		if i == 0 && len(f.List) > 1 {
			said[len(said)-1].hold = firm // a heading takes two with it
		}
		slabs = append(slabs, said...)
	}
	return slabs
}

// sentence has a line at its side that repeats its weight: fine, double, heavy.
func (p *pdf) sentence(s Sentence, width float64) []slab {
	var runs []run
	if s.Word != "" {
		runs = append(runs, p.run(s.Word+": ", strong()))
	}
	runs = append(runs, p.run(s.Text, body()))
	return p.paragraphAt(wrap(runs, width-9), 4, margin+9, func(top, bottom float64) {
		switch s.Weight {
		case "doubt":
			p.line(margin+0.5, top, margin+0.5, bottom, 1, chart.Ink())
			p.line(margin+2.75, top, margin+2.75, bottom, 1, chart.Ink())
		case "bad":
			p.line(margin+1.9, top, margin+1.9, bottom, 3.8, chart.Ink())
		default:
			p.line(margin+0.4, top, margin+0.4, bottom, thinLine, chart.Faint())
		}
	})
}

// figure is a drawing over the whole width, with its heading and caption.
func (p *pdf) figure(f Figure) []slab {
	slabs := p.heading(f.Heading, partSpace, headSize)
	p.readable(f.Wide)
	scale := p.column() / f.Wide.Width
	if most := (p.height - margin - atFoot) * 0.8; scale*f.Wide.Height > most {
		scale = most / f.Wide.Height
	}
	slabs = append(slabs, slab{height: scale * f.Wide.Height, draw: func(top float64) {
		p.drawing(f.Wide, margin+(p.column()-scale*f.Wide.Width)/2, top, scale)
	}})
	if f.Caption != "" {
		slabs = append(slabs, p.paragraph(p.run(f.Caption, remark()), 3)...)
	}
	return holding(slabs, gentle)
}
