package chart

import (
	"fmt"
	"slices"

	"gaugewright/internal/quantity"
)

// Days is what the drawing of a use by the day shows: a column for each day, with a
// whisker for its doubt.
type Days struct {
	Title, Desc string  // Desc: made up from the figures where empty
	Width       float64 // pixels; 0: 960
	Accent      Accent

	ValueTitle string // over the scale: "L a day"
	DoubtLabel string // in the key: what the whisker holds; "": "doubt"
	Columns    []DayColumn
	// Pace is the use of a day on the average, drawn across; nil: none.
	Pace *DayColumn
}

// DayColumn is one day. A day of which nothing is known has none of its figures: it
// is left free.
type DayColumn struct {
	Label            string // under it; "": none
	Value, Low, High float64
	Known            bool
	Part             bool // only a part of the day was seen
}

const (
	daysHigh = 150.0
	mostDays = 400
)

// DrawDays draws use by the day.
func DrawDays(c Days) Drawing {
	c = c.cleaned()
	d := Drawing{Title: c.Title, Desc: c.Desc, Accent: c.Accent, Width: length(c.Width, 960, 340)}
	if d.Desc == "" {
		d.Desc = c.described()
	}
	var p pen
	top := c.key(&p, d.Width) + 6 + leading
	bottom := top + daysHigh
	d.Height = bottom + tickLong + leading + 8
	seen := c.extent()
	if seen.empty() {
		seen.take(1)
	}
	seen.take(0)
	scale := newRuler(0, seen.hi*1.04, daysHigh, true)
	scale.lo, scale.hi = scale.rounded()
	left, right := 4+scale.widest()+5+tickLong, d.Width-10
	y := mapping{scale.lo, scale.hi, bottom, top}
	var grid [][2]Point
	for _, t := range scale.ticks() {
		if t.rank == 0 {
			grid = append(grid, [2]Point{{left, y.at(t.value)}, {right, y.at(t.value)}})
		}
	}
	p.strokes(Grid, grid)
	wide := (right - left) / float64(max(1, len(c.Columns)))
	c.columns(&p, left, wide, y)
	if c.Pace != nil {
		at := y.at(c.Pace.Value)
		p.line(Keyed, left, at, right, at)
	}
	c.whiskers(&p, left, wide, y)
	upright(&p, scale, y.at, left, -1)
	p.poly(Axis, []Point{{left, top}, {left, bottom}, {right, bottom}}, false)
	p.text(Caption, 4, top-7, Start, fitted(c.ValueTitle, usual, d.Width-8))
	c.names(&p, left, right, wide, bottom)
	if seen.hi == 1 && !slices.ContainsFunc(c.Columns, func(d DayColumn) bool { return d.Known }) {
		p.text(Caption, (left+right)/2, (top+bottom)/2, Middle, fitted("no day known yet", usual, right-left-8))
	}
	d.Shapes = p.shapes
	return d
}

// cleaned leaves out what can't be drawn.
func (c Days) cleaned() Days {
	good := func(d DayColumn) bool {
		return drawable(d.Value) && drawable(d.Low) && drawable(d.High) && d.Low <= d.High
	}
	c.Columns = slices.Clone(c.Columns[max(0, len(c.Columns)-mostDays):])
	for i := range c.Columns {
		if !good(c.Columns[i]) {
			c.Columns[i] = DayColumn{Label: c.Columns[i].Label}
		}
	}
	if c.Pace != nil && !(good(*c.Pace) && c.Pace.Value >= 0) {
		c.Pace = nil
	}
	return c
}

// extent is how far the figures go.
func (c Days) extent() extent {
	var seen extent
	for _, d := range c.Columns {
		if d.Known {
			seen.take(max(0, d.Value))
			seen.take(max(0, d.High))
		}
	}
	if c.Pace != nil {
		seen.take(c.Pace.Value)
	}
	return seen
}

// columns draws a column for each day: those seen whole with an edge and a tint,
// the others with a broken edge alone.
func (c Days) columns(p *pen, left, wide float64, y mapping) {
	inset := min(5, wide/6)
	for i, d := range c.Columns {
		if !d.Known {
			continue
		}
		a, b := left+float64(i)*wide+inset, left+float64(i+1)*wide-inset
		foot, head := y.at(0), y.at(max(0, d.Value))
		if d.Part {
			p.poly(Hidden, []Point{{a, foot}, {a, head}, {b, head}, {b, foot}}, false)
			continue
		}
		p.poly(Wet, []Point{{a, foot}, {a, head}, {b, head}, {b, foot}}, true)
		p.poly(Detail, []Point{{a, foot}, {a, head}, {b, head}, {b, foot}}, false)
	}
}

// whiskers draws how far each day's use may lie.
func (c Days) whiskers(p *pen, left, wide float64, y mapping) {
	var strokes [][2]Point
	half := max(1.5, min(4, wide/5))
	for i, d := range c.Columns {
		if !d.Known || d.High <= d.Low {
			continue
		}
		x, a, b := left+(float64(i)+0.5)*wide, y.at(max(0, d.Low)), y.at(max(0, d.High))
		strokes = append(strokes, [2]Point{{x, a}, {x, b}}, [2]Point{{x - half, a}, {x + half, a}}, [2]Point{{x - half, b}, {x + half, b}})
	}
	p.strokes(Cross, strokes)
}

// names writes the days under the columns, as far as there is room.
func (c Days) names(p *pen, left, right, wide, bottom float64) {
	var ticks [][2]Point
	taken := -1.0
	for i, d := range c.Columns {
		if d.Label == "" {
			continue
		}
		x := left + (float64(i)+0.5)*wide
		ticks = append(ticks, [2]Point{{x, bottom}, {x, bottom + tickMiddle}})
		label := fitted(d.Label, usual, right-left)
		half := textWidth(label, usual) / 2
		at := min(right+8-half, max(half+1, x))
		if label == "" || at-half <= taken {
			continue
		}
		p.text(Figure, at, bottom+tickLong+leading, Middle, label)
		taken = at + half + 7
	}
	p.strokes(Tick, ticks)
}

// key says at the top what the symbols mean, of those that are there.
func (c Days) key(p *pen, width float64) float64 {
	has := func(f func(DayColumn) bool) bool {
		return slices.ContainsFunc(c.Columns, func(d DayColumn) bool { return d.Known && f(d) })
	}
	box := func(x, y float64) []Point {
		return []Point{{x + 4, y + 6}, {x + 4, y - 6}, {x + 16, y - 6}, {x + 16, y + 6}}
	}
	var entries []keyEntry
	if has(func(d DayColumn) bool { return !d.Part }) {
		entries = append(entries, keyEntry{func(x, y float64) {
			p.poly(Wet, box(x, y), true)
			p.poly(Detail, box(x, y), false)
		}, "a whole day"})
	}
	if has(func(d DayColumn) bool { return d.Part }) {
		entries = append(entries, keyEntry{func(x, y float64) { p.poly(Hidden, box(x, y), false) }, "a day seen in part"})
	}
	if has(func(d DayColumn) bool { return d.High > d.Low }) {
		entries = append(entries, keyEntry{func(x, y float64) {
			p.strokes(Cross, [][2]Point{{{x + 10, y - 6}, {x + 10, y + 6}}, {{x + 6, y - 6}, {x + 14, y - 6}}, {{x + 6, y + 6}, {x + 14, y + 6}}})
		}, orElse(c.DoubtLabel, "doubt")})
	}
	if c.Pace != nil {
		entries = append(entries, keyEntry{func(x, y float64) { p.line(Keyed, x, y, x+22, y) }, orElse(c.Pace.Label, "on the average")})
	}
	return writeKey(p, entries, width)
}

// described says what the drawing shows, for those who can't see it.
func (c Days) described() string {
	var seen extent
	days := 0
	for _, d := range c.Columns {
		if d.Known {
			seen.take(d.Value)
			days++
		}
	}
	switch days {
	case 0:
		return "No day is known yet."
	case 1:
		return fmt.Sprintf("Use by the day: one day, %s.", quantity.Short(seen.hi, 2))
	}
	return fmt.Sprintf("Use by the day: %d days, from %s to %s.", days, quantity.Short(max(0, seen.lo), 2), quantity.Short(seen.hi, 2))
}
