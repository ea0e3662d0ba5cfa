package record

import (
	"fmt"

	"gaugewright/internal/chart"
	"gaugewright/internal/curve"
	"gaugewright/internal/doubt"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/span"
)

// Widths of drawings in pixels: for a page of paper or a desk, and for a phone
// held upright.
const (
	wide   = 672
	narrow = 344
)

// markTitle names the marks.
func markTitle(u curve.MarkUnit) string {
	switch u {
	case curve.Height:
		return "height of the float, mm"
	case curve.Volume:
		return "poured in, L"
	case curve.Mass:
		return "weighed in, kg"
	}
	return "mark on the dial, %"
}

// markHead names the marks over a column or a row.
func markHead(u curve.MarkUnit) string {
	if u == curve.Dial {
		return "Dial, %"
	}
	return "Mark, " + u.Symbol()
}

// CurveDrawing draws a curve by itself, with its readings, its doubt, the spans
// that the tank's sender is claimed to have, and what was keyed in.
func CurveDrawing(t job.Tank, c *curve.Curve) chart.Drawing {
	_, accent := contents(t.Contents)
	b := build(t, "tank", accent)
	b.curve, b.unit = c, c.Unit()
	return b.curveFigure().Wide
}

// curveFigure is the curve with its doubt and what it is held against.
func (b tank) curveFigure() Figure {
	signal := b.curve.Signal()
	c := chart.Curve{
		Title: clean(b.Name) + ": " + signal.Figures() + " at each mark", Accent: b.accent,
		MarkTitle: markTitle(b.unit), OhmTitle: signal.Word() + ", " + signal.Symbol(), Unit: signal.Unit(), DoubtLabel: "doubt, about 95 %",
	}
	if b.unit == curve.Dial {
		c.LowMark, c.HighMark = 0, 100
	}
	points := b.curve.Points()
	worst := quantity.Ohm(0)
	for i, p := range points {
		worst = max(worst, doubt.UsualFactor*p.U)
		if i == len(points)-1 {
			b.sample(&c, p.Mark)
			break
		}
		const pieces = 8
		for k := range pieces {
			b.sample(&c, p.Mark+float64(k)/pieces*(points[i+1].Mark-p.Mark))
		}
	}
	take := func(list []curve.Reading, aside bool) {
		for _, r := range list {
			sweep := map[curve.Sweep]chart.Sweep{curve.Up: chart.Up, curve.Down: chart.Down}[r.Sweep]
			c.Readings = append(c.Readings, chart.Reading{Mark: b.unit.ToShown(r.Mark), Ohm: float64(r.Ohm), Sweep: sweep, SetAside: aside})
		}
	}
	take(b.curve.Used(), false)
	take(b.curve.SetAside(), true)
	if ends, ok := b.keyed.(span.Ends); ok { // those of a corrected percentage are no 0 and 100 %
		for _, e := range []struct {
			ohm quantity.Ohm
			pct string
		}{{ends.Lower, "0 %"}, {ends.Upper, "100 %"}} {
			c.Keyed = append(c.Keyed, chart.KeyedOhm{Ohm: float64(e.ohm), Label: short(signal, e.ohm) + " " + signal.Unit() + " = " + e.pct})
		}
	}
	if empty, full, err := b.Ends(); err == nil {
		for _, l := range b.Claims() {
			c.Claims = append(c.Claims, chart.Claim{EmptyMark: empty, EmptyOhm: float64(l.Empty), FullMark: full, FullOhm: float64(l.Full),
				Label: fmt.Sprintf("%s to %s %s", short(signal, l.Empty), short(signal, l.Full), signal.Unit())})
		}
	}
	if m := b.fullMark(); m != nil {
		c.Limit = &chart.Limited{Mark: b.unit.ToShown(*m), Label: "permitted fill " + b.unit.Text(*m)}
	}
	f := Figure{ID: b.id + "-curve", Heading: "Curve",
		Caption: fmt.Sprintf("Hatched, where it is wider than the line: the doubt of the curve, at most ±%s, from the scatter, the hysteresis and the resolution of the readings.", signal.Text(worst))}
	if b.Bench.Doubts != nil {
		f.Caption = fmt.Sprintf("Hatched, where it is wider than the line: the doubt of the curve, at most ±%s, from the scatter, the hysteresis and the resolution of the readings, and the errors stated for what they were read with.", signal.Text(worst))
	}
	c.Width, c.Height = wide, 350
	f.Wide = chart.DrawCurve(c)
	c.Width, c.Height = narrow, 360
	d := chart.DrawCurve(c)
	f.Narrow = &d
	return f
}

func (b tank) sample(c *chart.Curve, mark float64) {
	a := b.curve.Ohm(mark, curve.Refuse)
	if !a.Known {
		return
	}
	c.Marks = append(c.Marks, b.unit.ToShown(mark))
	c.Ohms = append(c.Ohms, float64(a.Ohm))
	c.DoubtOhms = append(c.DoubtOhms, doubt.UsualFactor*float64(a.UOhm))
}

// rulers is what should be shown above what will be shown; where there is a ghost,
// with what another setting would show behind it.
func (b tank) rulers(ghost span.Setting) Figure {
	r := chart.Rulers{
		Title: clean(b.Name) + ": what should and what will be shown", Accent: b.accent, Decimals: 1,
		MarkTitle: markHead(b.unit), AboveTitle: "should show, %", BelowTitle: "will show, %",
	}
	rows := b.shown()
	worst := worstOf(rows)
	for i, row := range rows {
		if row.beyond && i > 0 && rows[i-1].should == row.should {
			continue // held at 100 %, as the mark before
		}
		m := chart.RulerMark{Name: b.unit.Figure(row.mark), Should: float64(row.should) * 100, Shown: float64(row.shown) * 100, Worst: i == worst}
		if ghost != nil {
			other := float64(ghost.Show(row.ohm)) * 100
			m.Ghost, r.GhostTitle = &other, "with "+ghost.String()
		}
		r.Marks = append(r.Marks, m)
	}
	f := Figure{ID: b.id + "-rulers", Heading: "True and shown",
		Caption: "Each mark is joined from where the display should stand to where it will stand: upright is right; leaning to the right, it reads high. The largest error is drawn heavy."}
	if ghost != nil {
		f.Caption += " Dashed: the same with " + ghost.String() + "."
	}
	r.Width = wide
	f.Wide = chart.DrawRulers(r)
	r.Width = narrow
	d := chart.DrawRulers(r)
	f.Narrow = &d
	return f
}

// column is the scale as a sight column: marks at the left, what they are
// shown as at the right.
func (b tank) column() Figure { return b.columnOf(240, 320) }

// columnOf is the same in a size of its own, in pixels.
func (b tank) columnOf(width, height float64) Figure {
	c := chart.Column{
		Title: clean(b.Name) + ": marks, and what they stand for on the display", Accent: b.accent,
		MarkTitle: markHead(b.unit), ValueTitle: "Display, %", Width: width, Height: height,
	}
	empty, full := b.scale.Ends()
	low, high := empty, full
	if b.unit == curve.Dial {
		low, high = min(0, empty), max(1, full)
	}
	if _, top, err := b.Ends(); err == nil {
		high = max(high, b.unit.FromShown(top))
	}
	if b.filling != nil {
		low, high = min(low, b.filling.Mark(0)), max(high, b.filling.Mark(1))
	}
	c.LowMark, c.HighMark = b.unit.ToShown(low), b.unit.ToShown(high)
	c.Marks, c.Values = []float64{b.unit.ToShown(empty), b.unit.ToShown(full)}, []float64{0, 100}
	if b.filling != nil {
		b.curved(&c, low, high)
	}
	if m := b.fullMark(); m != nil {
		c.Limit = &chart.Limited{Mark: b.unit.ToShown(*m), Label: "permitted fill"}
	}
	return Figure{ID: b.id + "-column", Wide: chart.DrawColumn(c)}
}

// curved puts litres at the right of a sight column, as far as they are known, or
// what is displayed; both along the bend of the tank.
func (b tank) curved(c *chart.Column, low, high float64) {
	const pieces = 48
	c.Marks, c.Values = nil, nil
	for k := range pieces + 1 {
		mark := low + float64(k)/pieces*(high-low)
		value := float64(b.scale.Target(mark)) * 100
		if b.litres() {
			value = b.filling.Share(mark) * float64(b.filling.Capacity) * 1000
		}
		c.Marks, c.Values = append(c.Marks, b.unit.ToShown(mark)), append(c.Values, value)
	}
	if b.litres() {
		c.Title, c.ValueTitle = clean(b.Name)+": marks, and what is in the tank", "Litres"
	}
}
