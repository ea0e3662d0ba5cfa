package chart

import (
	"math"
	"sort"
)

// draw draws a view into its cell, back to front.
func (c cell) draw(p *pen) {
	var loops [][]Point
	for _, loop := range c.Loops {
		points := make([]Point, len(loop))
		for i, q := range loop {
			points[i] = c.at(q)
		}
		if points = thinned(points); len(points) >= 3 {
			loops = append(loops, points)
		}
	}
	rulerAt := c.ruler(p)
	c.liquid(p, loops)
	p.areas(Outline, loops)
	c.limit(p, loops)
	plumbAt := c.lean(p)
	c.surface(p, loops, rulerAt, plumbAt)
	c.sensor(p)
	c.labels(p, loops)
}

// ruler draws the scale at the left and gives where it stands.
func (c cell) ruler(p *pen) float64 {
	if len(c.Scale) == 0 {
		return c.plot.left
	}
	x := c.plot.left - 12
	ticks := append([]ScaleTick(nil), c.Scale...)
	sort.SliceStable(ticks, func(a, b int) bool { return ticks[a].At < ticks[b].At })
	low, high := c.up(ticks[0].At), c.up(ticks[len(ticks)-1].At)
	var numbered, plain [][2]Point
	type figure struct {
		y     float64
		label string
	}
	var figures []figure
	shown := c.figured(ticks)
	last := math.Inf(1)
	for i, t := range ticks {
		y := c.up(t.At)
		if shown[i] {
			numbered = append(numbered, [2]Point{{x, y}, {x - tickLong, y}})
			figures = append(figures, figure{y, fitted(t.Label, usual, c.figures)})
			last = y
		} else if last-y >= 2 {
			plain = append(plain, [2]Point{{x, y}, {x - tickShort, y}})
			last = y
		}
	}
	p.strokes(TickFine, plain)
	p.strokes(Tick, numbered)
	p.line(Axis, x, low, x, high)
	for _, f := range figures {
		p.text(Figure, x-tickLong-4, f.y+0.36*usual, End, f.label)
	}
	if title := fitted(c.ScaleTitle, usual, c.width-8); title != "" {
		p.text(Caption, min(x-tickLong, c.x+c.width-4-textWidth(title, usual)), c.over()-10-c.headroom(), Start, title)
	}
	return x
}

// figured says which divisions show their labels: all of them, or where these
// would stand too close every second, third and so on, counted from the lowest;
// where even every fifth does, each that has room over the one before.
func (c cell) figured(ticks []ScaleTick) []bool {
	pick := func(every int, skip bool) (shown []bool, clear bool) {
		shown, clear = make([]bool, len(ticks)), true
		last, n := math.Inf(1), 0
		for i, t := range ticks {
			if fitted(t.Label, usual, c.figures) == "" {
				continue
			}
			y := c.up(t.At)
			near := last-y < leading-1
			if n++; (n-1)%every != 0 || near && skip {
				continue
			}
			shown[i], last, clear = true, y, clear && !near
		}
		return shown, clear
	}
	for every := 1; every <= 5; every++ {
		if shown, clear := pick(every, false); clear {
			return shown
		}
	}
	shown, _ := pick(1, true)
	return shown
}

// over and under are where the section and the labels beside it begin and end;
// the labels of a low section take more than it does.
func (c cell) over() float64  { return min(c.plot.top, c.plot.centre().Y-c.noteRoom()/2) }
func (c cell) under() float64 { return max(c.plot.bottom, c.plot.centre().Y+c.noteRoom()/2) }

// headroom is what the sensor's head and the plumb line need over a section.
func (c cell) headroom() float64 {
	if c.Sensor != nil || c.Lean != nil {
		return 12
	}
	return 0
}

// liquid tints what is filled, and draws the broken lines of a liquid in
// section: close to each other at the surface, then further apart.
func (c cell) liquid(p *pen, loops [][]Point) {
	if c.Level == nil {
		return
	}
	y := c.up(*c.Level)
	p.areas(Wet, clipped(loops, y, true))
	var dashes [][2]Point
	from := y
	if c.DoubtLow != nil {
		from = max(y, c.up(*c.DoubtLow))
	}
	for i, row := 0, max(from, c.plot.top-9)+9; row < c.plot.bottom-2 && i < 40; i++ {
		// Dashes lie on one grid for the view; each row begins elsewhere.
		for _, k := range chords(loops, row) {
			period := 30 + 6*float64(i%3)
			for x := c.plot.left + math.Mod(11*float64(i), period) - period; x < k[1]; x += period {
				a, b := max(x, k[0]+3), min(x+period*0.45, k[1]-3)
				if b-a > 3 {
					dashes = append(dashes, [2]Point{{a, row}, {b, row}})
				}
			}
		}
		row += 7 + 2*float64(i)
	}
	p.strokes(Liquid, dashes)
	if c.DoubtLow == nil {
		return
	}
	upper, lower := c.up(*c.DoubtHigh), c.up(*c.DoubtLow)
	if lower-upper < 0.5 {
		return
	}
	p.strokes(Hatch, hatchWithin(clipped(clipped(loops, upper, true), lower, false)))
	var edges [][2]Point
	for _, at := range []float64{upper, lower} {
		for _, k := range chords(loops, at) {
			edges = append(edges, [2]Point{{k[0], at}, {k[1], at}})
		}
	}
	p.strokes(BandEdge, edges)
}

// surfaceChords gives the stretches of a surface. A surface that lies exactly
// in a flat floor or under a flat roof is seen just beside it.
func (c cell) surfaceChords(loops [][]Point, y float64) [][2]float64 {
	list := chords(loops, y)
	if len(list) > 0 || y < c.plot.top-1e-6 || y > c.plot.bottom+1e-6 {
		return list
	}
	for _, by := range []float64{1e-3, -1e-3} {
		if list = chords(loops, y+by); len(list) > 0 {
			break
		}
	}
	return list
}

// limit draws the height that must not be passed, across the tank and a little
// beyond it.
func (c cell) limit(p *pen, loops [][]Point) {
	if c.Limit == nil {
		return
	}
	y := c.up(c.Limit.Mark)
	var lines [][2]Point
	for _, k := range c.surfaceChords(loops, y) {
		lines = append(lines, [2]Point{{k[0] - 5, y}, {k[1] + 5, y}})
	}
	p.strokes(Permitted, lines)
}

// surface draws the level, carried over to the scale, with the triangle and the
// strokes under it that mark a liquid's surface in drawings.
func (c cell) surface(p *pen, loops [][]Point, rulerAt float64, plumbAt []float64) {
	if c.Level == nil {
		return
	}
	y := c.up(*c.Level)
	list := c.surfaceChords(loops, y)
	widest, ok := widestChord(list)
	if !ok {
		return
	}
	if rulerAt < c.plot.left && list[0][0]-3 > rulerAt {
		p.line(Leader, rulerAt, y, list[0][0]-3, y)
	}
	var lines [][2]Point
	for _, k := range list {
		lines = append(lines, [2]Point{{k[0], y}, {k[1], y}})
	}
	p.strokes(Level, lines)
	if widest[1]-widest[0] < 28 {
		return
	}
	// Where it keeps clearest of the sensor and the plumb line.
	taken := plumbAt
	if c.Sensor != nil {
		taken = append(taken, (c.at(c.Sensor[0]).X+c.at(c.Sensor[1]).X)/2)
	}
	x, free := 0.0, -1.0
	for _, part := range []float64{0.25, 0.75, 0.5, 0.12, 0.88} {
		at := widest[0] + part*(widest[1]-widest[0])
		clear := min(at-widest[0], widest[1]-at)
		for _, t := range taken {
			clear = min(clear, math.Abs(t-at))
		}
		if clear > free {
			x, free = at, clear
		}
	}
	const high = 9.0
	roomy := false
	for _, k := range chords(loops, y-high-2) {
		roomy = roomy || k[0] <= x-6 && k[1] >= x+6
	}
	if free < 8 || !roomy {
		return
	}
	p.poly(Open, []Point{{x - 5, y - high}, {x + 5, y - high}, {x, y - 1.2}}, true)
	p.strokes(Detail, [][2]Point{{{x - 5, y + 4}, {x + 5, y + 4}}, {{x - 2.5, y + 6.5}, {x + 2.5, y + 6.5}}})
}
