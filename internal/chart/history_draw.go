package chart

import "sort"

// What stands on the drawing of a past, back to front.

// grid draws the divisions of level and time across the graph and the panels.
func (h History) grid(p *pen, f historyFrame) {
	var grid, days [][2]Point
	upright := func(x float64, add func([2]Point)) {
		add([2]Point{{x, f.top}, {x, f.bottom}})
		for _, g := range f.panels {
			add([2]Point{{x, g.top}, {x, g.bottom}})
		}
	}
	for _, m := range h.Times {
		if x := f.x.at(m.At); m.Day {
			upright(x, func(s [2]Point) { days = append(days, s) })
		} else {
			upright(x, func(s [2]Point) { grid = append(grid, s) })
		}
	}
	across := func(r ruler, y mapping) {
		for _, t := range r.ticks() {
			if t.rank == 0 {
				grid = append(grid, [2]Point{{f.left, y.at(t.value)}, {f.right, y.at(t.value)}})
			}
		}
	}
	across(f.marks, f.y)
	for _, g := range f.panels {
		if !g.flat {
			across(g.ohms, g.y)
		}
	}
	p.strokes(Grid, grid)
	p.strokes(TickFine, days)
}

// band is a run of spans of time that are joined: its edges from left to right.
type band struct{ upper, lower, middle []Point }

// joined says whether two stretches of time are joined.
func (h History) joined(before, after TimeSpan) bool {
	if after.From-before.To > h.Bridge {
		return false
	}
	i := sort.Search(len(h.Without), func(i int) bool { return h.Without[i].From >= before.To })
	return i == len(h.Without) || h.Without[i].To > after.From
}

// runs lays spans of time onto the drawing, broken wherever they aren't joined. The
// figures of each are those at its middle, and go on to the edges of a run.
func (h History) runs(n int, at func(i int) (span TimeSpan, upper, middle, lower float64), x, y mapping, joined func(before, after TimeSpan) bool) []band {
	var list []band
	var last TimeSpan
	var end [3]float64
	finish := func() {
		if len(list) == 0 {
			return
		}
		b := &list[len(list)-1]
		right := max(x.at(last.To), min(x.b, b.middle[0].X+2))
		b.add(right, end)
	}
	for i := range n {
		span, upper, middle, lower := at(i)
		now := [3]float64{y.at(upper), y.at(middle), y.at(lower)}
		if len(list) == 0 || !joined(last, span) {
			finish()
			list = append(list, band{})
			list[len(list)-1].add(min(x.at(span.From), x.b-2), now)
		}
		b := &list[len(list)-1]
		if px := (x.at(span.From) + x.at(span.To)) / 2; px > b.middle[len(b.middle)-1].X {
			b.add(px, now)
		}
		last, end = span, now
	}
	finish()
	return list
}

func (b *band) add(x float64, y [3]float64) {
	b.upper, b.middle, b.lower = append(b.upper, Point{x, y[0]}), append(b.middle, Point{x, y[1]}), append(b.lower, Point{x, y[2]})
}

// outline gives the band's edge, all the way round.
func (b band) outline() []Point {
	upper, lower := straightened(b.upper), straightened(b.lower)
	out := make([]Point, 0, len(upper)+len(lower))
	out = append(out, upper...)
	for i := len(lower) - 1; i >= 0; i-- {
		out = append(out, lower[i])
	}
	return out
}

// levels draws the level: from the least to the greatest as a tint, the doubt
// hatched, the mean as a line, and where no level could be told a bar at the foot.
func (h History) levels(p *pen, f historyFrame) {
	wide := h.runs(len(h.Levels), func(i int) (TimeSpan, float64, float64, float64) {
		s := h.Levels[i]
		return s.TimeSpan, s.Most, s.Mean, s.Least
	}, f.x, f.y, h.joined)
	doubt := h.runs(len(h.Levels), func(i int) (TimeSpan, float64, float64, float64) {
		s := h.Levels[i]
		return s.TimeSpan, s.High, s.Mean, s.Low
	}, f.x, f.y, h.joined)
	for _, b := range wide {
		p.poly(Wet, b.outline(), true)
	}
	var hatching [][2]Point
	for _, b := range doubt {
		hatching = append(hatching, hatch(b.outline())...)
	}
	p.strokes(Hatch, hatching)
	for _, b := range doubt {
		p.poly(BandEdge, straightened(b.upper), false)
		p.poly(BandEdge, straightened(b.lower), false)
	}
	for _, b := range doubt {
		p.poly(Trace, straightened(b.middle), false)
	}
	var bars [][2]Point
	for _, w := range h.Without {
		x1, x2, y := f.x.at(w.From), f.x.at(w.To), f.bottom-4
		if n := len(bars); n > 0 && x1-bars[n-1][1].X < 0.5 {
			bars[n-1][1].X = max(bars[n-1][1].X, x2)
			continue
		}
		x1 = min(x1, f.right-2)
		bars = append(bars, [2]Point{{x1, y}, {max(x2, x1+2), y}})
	}
	p.strokes(Strike, bars)
	if len(h.Levels) == 0 {
		p.text(Caption, (f.left+f.right)/2, (f.top+f.bottom)/2, Middle, fitted("no level known in this time", usual, f.right-f.left-8))
	}
}

// limit draws the permitted fill.
func (h History) limit(p *pen, f historyFrame) {
	if h.Limit == nil {
		return
	}
	y := f.y.at(h.Limit.Mark)
	p.line(Permitted, f.left, y, f.right, y)
	p.text(Strong, f.left+6, max(f.top+usual, y-4), Start, fitted(h.Limit.Label, usual, f.right-f.left-12))
}

// poles draws what carries the flags, one a pixel at the most.
func (h History) poles(p *pen, f historyFrame) {
	var poles [][2]Point
	last := -1.0
	for _, g := range h.Flags {
		if x := f.x.at(g.At); x-last >= 1 {
			poles = append(poles, [2]Point{{x, f.flagTop}, {x, f.bottom}})
			last = x
		}
	}
	p.strokes(Leader, poles)
}

// signWide is how much of a flag its sign takes.
const signWide = 12.0

// wide is how wide a flag is.
func (g Flag) wide() float64 {
	wide := textWidth(g.Label, usual) + 8
	if g.Way != NeitherWay {
		wide += signWide
	}
	return wide
}

// waySign draws an arrow head about a point: upward for what came in, downward and
// hollow for what went out.
func waySign(p *pen, x, y float64, way Way) {
	const half, high = 4.0, 4.0
	if way == CameIn {
		p.poly(Full, []Point{{x - half, y + high}, {x + half, y + high}, {x, y - high}}, true)
		return
	}
	p.poly(Open, []Point{{x - half, y - high}, {x + half, y - high}, {x, y + high}}, true)
}

// flags draws the flags; those that would cover each other stand as one. Below each
// stands how long it went on.
func (h History) flags(p *pen, f historyFrame) {
	var long [][2]Point
	for _, g := range h.Flags {
		if g.To > g.At {
			x, y := f.x.at(g.At), f.flagTop+flagHigh+2
			long = append(long, [2]Point{{x, y}, {max(x+2, min(f.x.at(g.To), f.right)), y}})
		}
	}
	p.strokes(Level, long)
	for i := 0; i < len(h.Flags); {
		x := f.x.at(h.Flags[i].At)
		k := i
		label, way := h.Flags[i].Label, h.Flags[i].Way
		wide := h.Flags[i].wide()
		for k+1 < len(h.Flags) && f.x.at(h.Flags[k+1].At)-x < wide+2 {
			k++
			label, way = h.Flags[i].Label+"–"+h.Flags[k].Label, NeitherWay
			wide = textWidth(label, usual) + 8
		}
		if wide > f.right-f.left {
			label, wide, way = fitted(label, usual, f.right-f.left-8), f.right-f.left, NeitherWay
		}
		left := max(f.left, min(x, f.right-wide))
		y := f.flagTop
		p.poly(Open, []Point{{left, y}, {left + wide, y}, {left + wide, y + flagHigh}, {left, y + flagHigh}}, true)
		middle := left + wide/2
		if way != NeitherWay {
			waySign(p, left+4+signWide/2-2, y+flagHigh/2, way)
			middle += signWide / 2
		}
		p.text(Label, middle, y+flagHigh/2+0.36*usual, Middle, label)
		i = k + 1
	}
}
