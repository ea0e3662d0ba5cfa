package web

import (
	"gaugewright/internal/chart"
	"gaugewright/internal/curve"
	"gaugewright/internal/doubt"
	"gaugewright/internal/record"
)

// figureOfType draws the curve of a type with the band in which the next unit is
// expected, and the units that it rests on.
func figureOfType(t typeFound) (record.Figure, bool) {
	course, err := t.Known.Curve()
	if err != nil {
		return record.Figure{}, false
	}
	unit, signal := unitsOf(t.kind)
	c := chart.Curve{Title: "Sender type " + cutTo(t.kind.Name, 60), MarkTitle: benchMarkHead(unit), OhmTitle: signal.Word() + ", " + signal.Symbol(), Unit: signal.Unit(), DoubtLabel: "the next unit, about 95 %"}
	points := course.Points()
	first, last := points[0].Mark, points[len(points)-1].Mark
	const pieces = 64
	for i := range pieces + 1 {
		mark := first + (last-first)*float64(i)/pieces
		a := course.Ohm(mark, curve.Refuse)
		if !a.Known {
			continue
		}
		c.Marks, c.Ohms = append(c.Marks, unit.ToShown(mark)), append(c.Ohms, float64(a.Ohm))
		c.DoubtOhms = append(c.DoubtOhms, doubt.UsualFactor*float64(a.UOhm))
	}
	for _, u := range t.kind.Units {
		for _, k := range u.Knots {
			if len(c.Readings) < 1000 {
				c.Readings = append(c.Readings, chart.Reading{Mark: k.Mark, Ohm: k.Value})
			}
		}
	}
	f := record.Figure{ID: "type-curve", Heading: "Curve of the type", Caption: "Hatched: where the next unit is expected, about 95 % of them. Crosses: the units that were read."}
	c.Width, c.Height = 680, 380
	f.Wide = chart.DrawCurve(c)
	c.Width, c.Height = 340, 360
	narrow := chart.DrawCurve(c)
	f.Narrow = &narrow
	return f, true
}
