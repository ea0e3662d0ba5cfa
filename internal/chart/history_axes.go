package chart

// scales draws the rulers of percent and of litres beside the graph.
func (h History) scales(p *pen, f historyFrame) {
	upright(p, f.marks, f.y.at, f.left, -1)
	p.poly(Axis, []Point{{f.left, f.top}, {f.left, f.bottom}, {f.right, f.bottom}}, false)
	over := f.flagTop - 7
	p.text(Caption, 4, over, Start, fitted(h.MarkTitle, usual, (f.right-f.left)/2))
	if len(h.Values) == 0 {
		return
	}
	column := Column{Marks: h.Marks, Values: h.Values}
	upright(p, f.values, func(v float64) float64 { return f.y.at(column.valueAt(v)) }, f.right, 1)
	p.line(Axis, f.right, f.top, f.right, f.bottom)
	p.text(Caption, f.right+tickLong+5+f.values.widest(), over, End, fitted(h.ValueTitle, usual, (f.right-f.left)/2))
}

// upright draws the divisions and figures of a ruler at the left (side −1) or at
// the right of a line.
func upright(p *pen, r ruler, at func(float64) float64, x, side float64) {
	anchor := End
	if side > 0 {
		anchor = Start
	}
	var ticks, finest [][2]Point
	last := 1e9
	for _, t := range r.ticks() {
		y := at(t.value)
		stroke := [2]Point{{x, y}, {x + side*tickLength(t.rank), y}}
		if t.rank == 2 {
			finest = append(finest, stroke)
			continue
		}
		ticks = append(ticks, stroke)
		// Where a tank narrows its litres come close.
		if t.rank == 0 && last-y >= leading-1 {
			p.text(Figure, x+side*(tickLong+4), y+0.36*usual, anchor, r.figure(t.value))
			last = y
		}
	}
	p.strokes(TickFine, finest)
	p.strokes(Tick, ticks)
}

// lineRoles are how the lines of a panel are told apart.
var lineRoles = []Role{Detail, Hidden, Ghost, Claimed}

// panel draws what was read.
func (h History) panel(p *pen, f historyFrame, i int) {
	panel, g := h.Panels[i], f.panels[i]
	x := 4.0
	title := fitted(panel.Title, usual, f.right-f.left)
	p.text(Caption, x, g.head, Start, title)
	x += textWidth(title, usual) + 14
	if g.flat {
		p.text(Caption, (f.left+f.right)/2, (g.top+g.bottom)/2+0.36*usual, Middle, fitted("nothing was read in this time", usual, f.right-f.left-8))
		p.poly(Axis, []Point{{f.left, g.top}, {f.left, g.bottom}, {f.right, g.bottom}}, false)
		return
	}
	for k, l := range panel.Lines {
		role := lineRoles[min(k, len(lineRoles)-1)]
		within := keep(l.Spans, func(s ReadSpan) bool { return panel.side(s.Mean) == 0 })
		beyond := keep(l.Spans, panel.passes)
		runs := h.runs(len(within), func(i int) (TimeSpan, float64, float64, float64) {
			s := within[i]
			return s.TimeSpan, s.Most, s.Mean, s.Least
		}, f.x, g.y, func(before, after TimeSpan) bool {
			return after.From-before.To <= h.Bridge && !panel.between(beyond, before, after)
		})
		for _, b := range runs {
			p.poly(Wet, b.outline(), true)
		}
		for _, b := range runs {
			p.poly(role, straightened(b.middle), false)
		}
		p.strokes(Level, panel.edgeMarks(beyond, f.x, g))
		if label := fitted(l.Label, usual, f.right-x-26); label != "" && f.right-x > 60 {
			p.line(role, x, g.head-0.36*usual, x+22, g.head-0.36*usual)
			p.text(Label, x+26, g.head, Start, label)
			x += 26 + textWidth(label, usual) + 14
		}
	}
	upright(p, g.ohms, g.y.at, f.left, -1)
	p.poly(Axis, []Point{{f.left, g.top}, {f.left, g.bottom}, {f.right, g.bottom}}, false)
}

// times draws the axis of time under everything: hours, under them the days where
// both are marked, and its title.
func (h History) times(p *pen, f historyFrame) {
	var ticks [][2]Point
	hours := len(keep(h.Times, func(m TimeMark) bool { return !m.Day })) > 0
	foot := f.height - belowAxis - tickLong
	rows := [2]float64{foot + tickLong + leading - 2, foot + tickLong + 2*leading - 1}
	taken := [2]float64{-1, -1}
	for _, m := range h.Times {
		x, row, long := f.x.at(m.At), 0, tickMiddle
		if m.Day {
			long = tickLong
			if hours {
				row = 1
			}
		}
		ticks = append(ticks, [2]Point{{x, foot}, {x, foot + long}})
		label := fitted(m.Label, usual, f.right-4)
		half := textWidth(label, usual) / 2
		at := min(f.right+8-half, max(half+1, x))
		if label == "" || at-half <= taken[row] || at-half < 0 {
			continue
		}
		p.text(Figure, at, rows[row], Middle, label)
		taken[row] = at + half + 7
	}
	p.strokes(Tick, ticks)
	p.text(Caption, f.right, f.height-5, End, fitted(h.TimeTitle, usual, f.right-4))
}
