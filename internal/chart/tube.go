package chart

import "math"

// fittings draws the cap and the base as the ends of a glass level gauge are
// drawn: a gland nut that holds the glass, the body behind it, a plug.
func (t placing) fittings(p *pen) {
	for _, end := range []struct{ y, way float64 }{{t.top - 4, -1}, {t.bottom + 4, 1}} {
		y, way := end.y, end.way
		box := func(r Role, wide, from, to, chamfer float64) {
			a, b := y+way*from, y+way*to
			p.poly(r, []Point{
				{t.x - wide/2, a}, {t.x + wide/2, a},
				{t.x + wide/2, b - way*chamfer}, {t.x + wide/2 - chamfer, b},
				{t.x - wide/2 + chamfer, b}, {t.x - wide/2, b - way*chamfer},
			}, true)
		}
		box(Outline, nutWide, 0, nutHigh, 2.5)
		box(Outline, bodyWide, nutHigh, nutHigh+bodyHigh, 0)
		box(Outline, plugWide, nutHigh+bodyHigh, fitting, 2)
		// A hexagon seen on one face: its edges stand a quarter in.
		var edges [][2]Point
		for _, x := range []float64{-nutWide / 4, nutWide / 4} {
			edges = append(edges, [2]Point{{t.x + x, y}, {t.x + x, y + way*(nutHigh-1)}})
		}
		p.strokes(Detail, edges)
	}
	// The centre line stands out at both ends, as centre lines do.
	p.line(Centre, t.x, t.top-fitting-9, t.x, t.bottom+fitting+7)
}

// tube draws the glass: outside heavier than inside.
func (t placing) tube(p *pen) {
	a, b := t.top-4, t.bottom+4
	outer, inner := bore/2+glass, bore/2
	p.strokes(Outline, [][2]Point{{{t.x - outer, a}, {t.x - outer, b}}, {{t.x + outer, a}, {t.x + outer, b}}})
	p.strokes(Detail, [][2]Point{{{t.x - inner, a}, {t.x - inner, b}}, {{t.x + inner, a}, {t.x + inner, b}}})
}

// filled draws what stands in the tube: liquid as broken lines, the doubt
// hatched, the level a line with the triangle that marks a liquid's surface.
func (c Column) filled(p *pen, t placing) {
	if c.Level == nil {
		return
	}
	y := t.y.at(c.Level.Mark)
	upper, lower := t.y.at(c.Level.Mark+c.Level.DoubtMark), t.y.at(c.Level.Mark-c.Level.DoubtMark)
	inner := bore / 2
	// Lengths and places of the broken lines repeat every four rows; each row
	// is shorter than the bore.
	rows := [][][2]float64{{{-8, -1}, {3, 9}}, {{-5, 4}, {7.5, 9}}, {{-9, -4}, {-1, 7}}, {{-7, 1.5}, {5, 9}}}
	var dashes [][2]Point
	for i, row := 0, max(y, lower)+5; row < t.bottom+2; i, row = i+1, row+6 {
		for _, d := range rows[i%len(rows)] {
			dashes = append(dashes, [2]Point{{t.x + d[0], row}, {t.x + d[1], row}})
		}
	}
	p.strokes(Liquid, dashes)
	outer := inner + glass + scaleApart
	if lower-upper > 0.5 {
		box := []Point{{t.x - inner, upper}, {t.x + inner, upper}, {t.x + inner, lower}, {t.x - inner, lower}}
		p.strokes(Hatch, hatch(box))
		p.strokes(BandEdge, [][2]Point{{box[0], box[1]}, {box[3], box[2]}})
		// Brackets on both scales show the doubt beside the figures.
		for _, side := range []float64{-1, 1} {
			x := t.x + side*(outer-3)
			p.poly(Detail, []Point{{x - side*3, upper}, {x, upper}, {x, lower}, {x - side*3, lower}}, false)
		}
	}
	p.line(Level, t.x-outer, y, t.x+outer, y)
	if top := y - 7; top > t.top-4 {
		p.poly(Open, []Point{{t.x - 4, top}, {t.x + 4, top}, {t.x, y - 1}}, true)
	}
}

// crossed strikes out the tube of a column whose level isn't known, from edge to
// edge as an opening is crossed on a drawing.
func (c Column) crossed(p *pen, t placing) {
	if c.Level != nil || c.Unknown == "" {
		return
	}
	a, b, half := t.top-4, t.bottom+4, bore/2
	p.strokes(Strike, [][2]Point{{{t.x - half, a}, {t.x + half, b}}, {{t.x + half, a}, {t.x - half, b}}})
}

// scale draws one ruler beside the tube, figures on its outside.
func (t placing) scale(p *pen, side float64, ticks []tick, y func(float64) float64, figure func(float64) string, low, high float64) {
	x := t.x + side*(bore/2+glass+scaleApart)
	anchor := Start
	if side < 0 {
		anchor = End
	}
	p.line(Axis, x, y(low), x, y(high))
	var coarse, finest [][2]Point
	for _, k := range ticks {
		stroke := [2]Point{{x, y(k.value)}, {x + side*tickLength(k.rank), y(k.value)}}
		if k.rank == 2 {
			finest = append(finest, stroke)
		} else {
			coarse = append(coarse, stroke)
		}
	}
	p.strokes(TickFine, finest)
	p.strokes(Tick, coarse)
	last := math.Inf(1)
	for _, k := range ticks {
		if k.rank != 0 || last-y(k.value) < leading-1 {
			continue
		}
		last = y(k.value)
		p.text(Figure, x+side*(tickLong+4), last+0.36*usual, anchor, figure(k.value))
	}
}

func (c Column) left(p *pen, t placing) {
	t.scale(p, -1, t.marks.ticks(), t.y.at, t.marks.figure, c.LowMark, c.HighMark)
}

// right draws the scale of values, each at its mark. Ticks that would stand
// closer than two pixels are left out, as happens where a tank narrows.
func (c Column) right(p *pen, t placing) {
	n := len(c.Values)
	if n == 0 {
		return
	}
	y := func(v float64) float64 { return t.y.at(c.valueAt(v)) }
	var ticks []tick
	last := math.Inf(1)
	for _, k := range t.values.ticks() {
		if k.rank == 0 || last-y(k.value) >= 2 {
			ticks = append(ticks, k)
			last = y(k.value)
		}
	}
	t.scale(p, 1, ticks, y, t.values.figure, c.Values[0], c.Values[n-1])
}

// permitted draws the permitted fill across both scales, its words at the
// right of the figures.
func (c Column) permitted(p *pen, t placing) {
	if c.Limit == nil {
		return
	}
	y := t.y.at(c.Limit.Mark)
	reach := bore/2 + glass + scaleApart
	p.line(Permitted, t.x-reach-tickLong, y, t.x+reach+tickLong, y)
	down := y + 0.36*usual
	for _, line := range t.note {
		p.text(Strong, t.noteAt(), down, Start, line)
		down += leading
	}
}

// titles names the scales over them, and the level, or that there is none, under
// the column.
func (c Column) titles(p *pen, t placing, width, height float64) {
	gap := nutWide/2 + 4
	y := t.top - fitting + 4
	write := func(title string, x float64, a Anchor, room float64) {
		lines := wrapped(title, usual, room, 2)
		for i, line := range lines {
			p.text(Caption, x, y-leading*float64(len(lines)-1-i), a, line)
		}
	}
	write(c.MarkTitle, t.x-gap, End, t.x-gap-2)
	write(c.ValueTitle, t.x+gap, Start, width-2-t.x-gap)
	if words := c.under(); words != "" {
		label := fitted(words, usual, width-8)
		half := textWidth(label, usual) / 2
		p.text(Strong, min(width-half-2, max(half+2, t.x)), height-6, Middle, label)
	}
}
