package record

import (
	"slices"
	"time"

	"gaugewright/internal/chart"
)

// Distances in points.
const (
	partSpace = 13.0 // over a part
	underHead = 3.0  // under its heading
	thinLine  = 0.75
	boldLine  = 1.5
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
	slabs = append(slabs, p.titleBlock(d.Facts)...)
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
	frame := &box{draw: func(top, bottom float64, _, _ bool) {
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
		slabs = append(slabs, p.block(b, s.Accent)...)
	}
	return slabs
}

func (p *pdf) block(b Block, _ chart.Accent) []slab {
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
	frame := &box{over: 12, under: 12, draw: func(top, bottom float64, _, _ bool) {
		p.frame(margin, top, p.column(), bottom-top, 1.7, chart.Ink())
		p.frame(margin+3.5, top+3.5, p.column()-7, bottom-top-7, 0.9, chart.Ink())
	}}
	return p.boxed(frame, "Cautions", c.List, func(top float64) {
		p.text(margin+15, top+baseline(bodySize), "–", body())
	})
}

// todo stands in a broken frame, with a square to tick before each.
func (p *pdf) todo(t Todo) []slab {
	frame := &box{over: 9, under: 9, draw: func(top, bottom float64, _, _ bool) {
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

// end is what the record is, where it is signed, and from what it was made.
func (p *pdf) end(d *Document) []slab {
	slabs := []slab{{space: 20, height: 7, draw: func(top float64) {
		p.line(margin, top+boldLine/2, margin+p.column(), top+boldLine/2, boldLine, chart.Ink())
	}}}
	for _, t := range d.Terms {
		slabs = append(slabs, p.paragraph(p.run(t, body()), 2)...)
	}
	if n := len(d.Signatures); n > 0 {
		const gap = 18.0
		shares := make([]float64, n)
		sum := 0.0
		for i := range shares {
			shares[i] = 1.3
			if i == n-1 && n > 1 { // the date
				shares[i] = 1
			}
			sum += shares[i]
		}
		x, high := margin, 0.0
		var cells []cell
		var under [][]row
		for i, s := range d.Signatures {
			w := (p.column() - gap*float64(n-1)) * shares[i] / sum
			cells = append(cells, cell{x: x, width: w, rows: p.lines(s.Name, quiet(), w)})
			under = append(under, p.lines(s.Under, body(), w))
			high = max(high, height(cells[i].rows))
			x += w + gap
		}
		// A name of many lines is one that nobody signs over; it still stands there.
		high = max(high+14, 38)
		slabs = append(slabs, slab{space: 8, height: high + 2 + leading(bodySize), draw: func(top float64) {
			for i, c := range cells {
				p.rows(c.rows, c.x, top+high-2-height(c.rows), c.width, 0)
				p.line(c.x, top+high, c.x+c.width, top+high, 1.1, chart.Ink())
				p.rows(under[i], c.x, top+high+2, c.width, 0)
			}
		}})
	}
	slabs = append(slabs, p.paragraph(p.run("Job file SHA-256: "+d.Checksum, remark()), 12)...)
	slabs = append(slabs, p.paragraph(p.run("Made by Gaugewright on "+stamp(d.Made)+".", remark()), 0)...)
	return holding(slabs, gentle)
}

// stamp is a time as the record says it.
func stamp(t time.Time) string { return t.Format("2 January 2006, 15:04 MST") }
