package chart

import "sort"

// frame is the graph of a curve drawing: where its axes stand and what they
// count.
type frame struct {
	left, right, top, bottom float64 // of the graph
	width, height            float64 // of the drawing
	x, y                     mapping
	marks, ohms              ruler
	notes                    []note // at its right edge
	headings                 []head // over it
	markTitle                string
}

// note is a label at the right edge, for a line that ends there.
type note struct {
	role  Role
	lines []string
	from  float64 // where the line ends
	at    float64 // where the label's middle stands
}

const (
	tickLong   = 8.0
	tickMiddle = 5.5
	tickShort  = 3.5
	noteGap    = 12.0 // from the graph to a label
)

func tickLength(rank int) float64 { return [...]float64{tickLong, tickMiddle, tickShort}[rank] }

// laidOut writes the key at the top and finds the place for everything else.
func (c Curve) laidOut(p *pen, width, height float64, marks, ohms extent) frame {
	f := frame{width: width, height: height, markTitle: c.MarkTitle}
	keyBottom := c.key(p, width)
	f.bottom = height - tickLong - 2*leading - 12
	row := leading + 2
	// The axis of ohms is divided for the least height that there can be; the
	// rows over the graph are known only when its sides are.
	most := keyBottom + 14 + 3*row
	f.ohms = newRuler(ohms.lo, ohms.hi, f.bottom-min(most, f.bottom-60), true)
	f.ohms.lo, f.ohms.hi = f.ohms.rounded()
	figures := 0.0
	for _, t := range f.ohms.ticks() {
		if t.rank == 0 {
			figures = max(figures, textWidth(f.ohms.figure(t.value), usual))
		}
	}
	f.left = 4 + figures + 5 + tickLong
	f.notes = c.notes(f, width)
	side := 8.0
	for _, n := range f.notes {
		side = max(side, noteGap+4+widest(n.lines, usual))
	}
	f.right = min(max(f.left+60, width-side), width-8)

	lo, hi := widened(marks.lo, marks.hi)
	f.marks = newRuler(lo, hi, f.right-f.left, false)
	f.x = mapping{f.marks.lo, f.marks.hi, f.left, f.right}
	rows := f.addHeads(c)
	f.top = min(keyBottom+14+float64(rows)*row, f.bottom-60)
	f.y = mapping{f.ohms.lo, f.ohms.hi, f.bottom, f.top}
	return f
}

// notes gathers the labels at the right edge; where they stand is settled later.
func (c Curve) notes(f frame, width float64) []note {
	room := min(150, 0.3*width)
	var notes []note
	for _, k := range c.Keyed {
		if lines := wrapped(k.Label, usual, room, 2); len(lines) > 0 {
			notes = append(notes, note{role: Strong, lines: lines, from: k.Ohm})
		}
	}
	for _, l := range c.Claims {
		inside := l.FullOhm >= f.ohms.lo && l.FullOhm <= f.ohms.hi
		if lines := wrapped(l.Label, usual, room, 2); inside && len(lines) > 0 {
			notes = append(notes, note{role: Caption, lines: lines, from: l.FullOhm})
		}
	}
	return notes
}

// graph draws the grid, as on graph paper.
func (f frame) graph(p *pen) {
	var grid [][2]Point
	for _, t := range f.marks.ticks() {
		if t.rank == 0 {
			x := f.x.at(t.value)
			grid = append(grid, [2]Point{{x, f.top}, {x, f.bottom}})
		}
	}
	for _, t := range f.ohms.ticks() {
		if t.rank == 0 {
			y := f.y.at(t.value)
			grid = append(grid, [2]Point{{f.left, y}, {f.right, y}})
		}
	}
	p.strokes(Grid, grid)
}

// edge draws the two rulers that bound the graph, with figures and names.
func (f frame) edge(p *pen) {
	var ticks, finest [][2]Point
	add := func(rank int, stroke [2]Point) {
		if rank == 2 {
			finest = append(finest, stroke)
			return
		}
		ticks = append(ticks, stroke)
	}
	for _, t := range f.marks.ticks() {
		x := f.x.at(t.value)
		add(t.rank, [2]Point{{x, f.bottom}, {x, f.bottom + tickLength(t.rank)}})
	}
	for _, t := range f.ohms.ticks() {
		y := f.y.at(t.value)
		add(t.rank, [2]Point{{f.left, y}, {f.left - tickLength(t.rank), y}})
	}
	p.strokes(TickFine, finest)
	p.strokes(Tick, ticks)
	p.poly(Axis, []Point{{f.left, f.top}, {f.left, f.bottom}, {f.right, f.bottom}}, false)

	taken := -1.0 // the right edge of the last figure
	for _, t := range f.marks.ticks() {
		s := f.marks.figure(t.value)
		half := textWidth(s, usual) / 2
		x := min(f.width-half-1, max(half+1, f.x.at(t.value)))
		if t.rank == 0 && x-half > taken {
			p.text(Figure, x, f.bottom+tickLong+leading-1, Middle, s)
			taken = x + half + 4
		}
	}
	for _, t := range f.ohms.ticks() {
		if t.rank == 0 {
			p.text(Figure, f.left-tickLong-4, f.y.at(t.value)+0.36*usual, End, f.ohms.figure(t.value))
		}
	}
	p.text(Caption, f.right, f.height-6, End, fitted(f.markTitle, usual, f.right-4))
}

// spreadOut moves labels apart so that none overlaps, each as near to its line
// as can be, and leaves out the last where they can't all stand.
func spreadOut(notes []note, top, bottom float64) []note {
	sort.SliceStable(notes, func(a, b int) bool { return notes[a].at < notes[b].at })
	high := func(n note) float64 { return leading * float64(len(n.lines)) }
	sum := 0.0
	for i, n := range notes {
		if sum += high(n); sum > bottom-top {
			notes = notes[:i]
			break
		}
	}
	edge := top
	for i := range notes {
		notes[i].at = max(notes[i].at, edge+high(notes[i])/2)
		edge = notes[i].at + high(notes[i])/2
	}
	edge = bottom
	for i := len(notes) - 1; i >= 0; i-- {
		notes[i].at = min(notes[i].at, edge-high(notes[i])/2)
		edge = notes[i].at - high(notes[i])/2
	}
	return notes
}
