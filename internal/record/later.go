package record

import (
	"gaugewright/internal/chart"
	"gaugewright/internal/curve"
	"gaugewright/internal/span"
)

// Later is the curve of the record with its doubt, and the readings of a later
// check on it; false where there is no curve.
func (v View) Later(id string, readings []curve.Reading) (Figure, bool) {
	b := v.b
	if b.curve == nil {
		return Figure{}, false
	}
	signal := b.curve.Signal()
	c := chart.Curve{
		Title: clean(b.Name) + ": later readings on the curve of the record", Accent: b.accent,
		MarkTitle: markTitle(b.unit), OhmTitle: signal.Word() + ", " + signal.Symbol(), Unit: signal.Unit(), DoubtLabel: "doubt, about 95 %",
	}
	if b.unit == curve.Dial {
		c.LowMark, c.HighMark = 0, 100
	}
	points := b.curve.Points()
	for i, p := range points {
		b.sample(&c, p.Mark)
		const pieces = 8
		for k := 1; k < pieces && i < len(points)-1; k++ {
			b.sample(&c, p.Mark+float64(k)/pieces*(points[i+1].Mark-p.Mark))
		}
	}
	for _, r := range readings {
		sweep := map[curve.Sweep]chart.Sweep{curve.Up: chart.Up, curve.Down: chart.Down}[r.Sweep]
		c.Readings = append(c.Readings, chart.Reading{Mark: b.unit.ToShown(r.Mark), Ohm: float64(r.Ohm), Sweep: sweep})
	}
	if ends, ok := b.keyed.(span.Ends); ok {
		c.Keyed = []chart.KeyedOhm{
			{Ohm: float64(ends.Lower), Label: short(signal, ends.Lower) + " " + signal.Unit() + " = 0 %"},
			{Ohm: float64(ends.Upper), Label: short(signal, ends.Upper) + " " + signal.Unit() + " = 100 %"},
		}
	}
	if m := b.fullMark(); m != nil {
		c.Limit = &chart.Limited{Mark: b.unit.ToShown(*m), Label: "permitted fill " + b.unit.Text(*m)}
	}
	f := Figure{ID: id, Heading: "Then and now", Caption: "The line is the record, hatched its doubt; the signs are the later readings."}
	c.Width, c.Height = wide, 350
	f.Wide = chart.DrawCurve(c)
	c.Width, c.Height = narrow, 360
	d := chart.DrawCurve(c)
	f.Narrow = &d
	return f, true
}
