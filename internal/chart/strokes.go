package chart

// What stands on the graph of a curve drawing, back to front.

// claims draws the claimed spans as faint rulers.
func (c Curve) claims(p *pen, f frame) {
	var lines [][2]Point
	for _, l := range c.Claims {
		if part, ok := f.within(l); ok {
			lines = append(lines, [2]Point{
				{f.x.at(part[0].mark), f.y.at(part[0].ohm)},
				{f.x.at(part[1].mark), f.y.at(part[1].ohm)},
			})
		}
	}
	p.strokes(Claimed, lines)
}

// band draws the doubt: hatched, between two fine edges.
func (c Curve) band(p *pen, f frame) {
	if c.DoubtOhms == nil || len(c.Marks) < 2 {
		return
	}
	n := len(c.Marks)
	above, below := make([]Point, n), make([]Point, n)
	outline := make([]Point, 2*n)
	for i := range n {
		x := f.x.at(c.Marks[i])
		above[i] = Point{x, f.y.at(c.Ohms[i] + c.DoubtOhms[i])}
		below[i] = Point{x, f.y.at(c.Ohms[i] - c.DoubtOhms[i])}
		outline[i], outline[2*n-1-i] = above[i], below[i]
	}
	p.strokes(Hatch, hatch(outline))
	p.poly(BandEdge, straightened(above), false)
	p.poly(BandEdge, straightened(below), false)
}

// keyed draws the values keyed in, across the graph.
func (c Curve) keyed(p *pen, f frame) {
	var lines [][2]Point
	for _, k := range c.Keyed {
		y := f.y.at(k.Ohm)
		lines = append(lines, [2]Point{{f.left, y}, {f.right, y}})
	}
	p.strokes(Keyed, lines)
}

// limit draws the mark that must not be passed, up to its label over the graph.
func (c Curve) limit(p *pen, f frame) {
	if c.Limit == nil {
		return
	}
	x, above := f.x.at(c.Limit.Mark), f.top
	for _, h := range f.headings {
		if h.role == Strong {
			above = f.top - 5 - float64(h.row)*(leading+2)
		}
	}
	p.line(Permitted, x, f.bottom, x, above)
}

// trace draws the curve.
func (c Curve) trace(p *pen, f frame) {
	points := make([]Point, len(c.Marks))
	for i := range c.Marks {
		points[i] = Point{f.x.at(c.Marks[i]), f.y.at(c.Ohms[i])}
	}
	p.poly(Trace, straightened(points), false)
}

// straightened leaves out points of a polyline that lie within a twentieth of
// a pixel of the straight line between those kept.
func straightened(points []Point) []Point {
	const near = 0.05
	if len(points) < 3 {
		return points
	}
	out := []Point{points[0]}
	from := 0
	for to := 2; to < len(points); to++ {
		a, b := points[from], points[to]
		for k := from + 1; k < to; k++ {
			// Up and down rather than square to the line: the curve is a
			// function of x, and this never asks for less.
			t := 0.0
			if b.X != a.X {
				t = (points[k].X - a.X) / (b.X - a.X)
			}
			if d := points[k].Y - a.Y - t*(b.Y-a.Y); d > near || d < -near || b.X == a.X {
				out = append(out, points[to-1])
				from = to - 1
				break
			}
		}
		if to-from > 64 { // bounds the work on long straight runs
			out = append(out, points[to-1])
			from = to - 1
		}
	}
	return append(out, points[len(points)-1])
}

// symbolSize is half the width of a reading's symbol.
const symbolSize = 4.2

// readings draws the readings, those set aside struck through.
func (c Curve) readings(p *pen, f frame) {
	for _, which := range []Sweep{Neither, Up, Down} {
		for _, r := range c.Readings {
			if r.Sweep == which {
				symbol(p, f.x.at(r.Mark), f.y.at(r.Ohm), r.Sweep)
			}
		}
	}
	for _, r := range c.Readings {
		if r.SetAside {
			strike(p, f.x.at(r.Mark), f.y.at(r.Ohm))
		}
	}
}

// symbol draws one reading: ▲ going up, ▽ going down, + neither.
func symbol(p *pen, x, y float64, s Sweep) {
	const a = symbolSize
	switch s {
	case Up:
		p.poly(Full, []Point{{x, y - a}, {x + a, y + 0.8*a}, {x - a, y + 0.8*a}}, true)
	case Down:
		p.poly(Open, []Point{{x, y + a}, {x + a, y - 0.8*a}, {x - a, y - 0.8*a}}, true)
	default:
		p.strokes(Cross, [][2]Point{{{x - a, y}, {x + a, y}}, {{x, y - a}, {x, y + a}}})
	}
}

func strike(p *pen, x, y float64) {
	const a = 1.7 * symbolSize
	p.line(Strike, x-a, y+a, x+a, y-a)
}

// labels writes the labels at the right edge, with a leader where one had to
// move away from its line.
func (c Curve) labels(p *pen, f frame) {
	for i := range f.notes {
		f.notes[i].from = f.y.at(f.notes[i].from)
		f.notes[i].at = f.notes[i].from
	}
	var leaders [][2]Point
	notes := spreadOut(f.notes, f.top-4, f.bottom+leading)
	for _, n := range notes {
		leaders = append(leaders, [2]Point{{f.right + 2, n.from}, {f.right + noteGap - 2, n.at}})
	}
	p.strokes(Leader, leaders)
	for _, n := range notes {
		y := n.at - leading*float64(len(n.lines)-1)/2 + 0.36*usual
		for _, line := range n.lines {
			p.text(n.role, f.right+noteGap, y, Start, line)
			y += leading
		}
	}
}
