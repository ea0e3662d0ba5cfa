package telling

import (
	"strings"

	"gaugewright/internal/curve"
	"gaugewright/internal/scale"
	"gaugewright/internal/span"
)

// Shown shows, mark by mark, what a setting displays and what others would, with
// what is in the tank where that is known and isn't the mark itself; and says what
// the ± is. The trials are of one curve and scale.
func Shown(c *curve.Curve, sc scale.Scale, best span.Trial, others []span.Trial) (g Grid, note string) {
	g.Head = []string{"mark"}
	_, known := sc.Volume(0)
	litres := known && c.Unit() != curve.Volume
	if litres {
		g.Head = append(g.Head, "litres")
	}
	g.Head = append(g.Head, c.Signal().Head(), "should show", "will show", "error", "±")
	for _, t := range others {
		g.Head = append(g.Head, "with "+called(t.Setting), "error")
	}
	for i, row := range best.Rows {
		cells := []string{c.Unit().Text(row.Mark)}
		if litres {
			v, _ := sc.Volume(row.Mark)
			cells = append(cells, Litres(v))
		}
		cells = append(cells, c.Signal().Figure(row.Ohm), Points(row.Target), Points(row.Shown), Signed(row.Error()), wide(row.U))
		for _, t := range others {
			cells = append(cells, Points(t.Rows[i].Shown), Signed(t.Rows[i].Error()))
		}
		g.Add(cells...)
	}
	if len(others) > 0 {
		worst := make([]string, len(g.Head)-2*len(others))
		worst[0], worst[len(worst)-2] = "worst", Points(best.Worst)
		for _, t := range others {
			worst = append(worst, "", Points(t.Worst))
		}
		g.Add(worst...)
	}
	return g, "± is about 95 %: what the readings' own scatter, hysteresis and last digit do to the figure shown."
}

// ShownAt shows what a setting and others display at marks of one's own (share, m,
// m³ or kg). The note says what a star means; "" where there is none.
func ShownAt(c *curve.Curve, sc scale.Scale, best span.Setting, others []span.Trial, marks []float64) (g Grid, note string) {
	g.Head = []string{"at mark", c.Signal().Head(), "should show", "will show", "95 % from", "to"}
	for _, t := range others {
		g.Head = append(g.Head, "with "+called(t.Setting))
	}
	for _, mark := range marks {
		f := span.WhatIf(c, sc, best, mark)
		name := c.Unit().Text(f.Mark)
		if f.Outside {
			name += " *"
			note = "* beyond the readings: a straight continuation."
		}
		if !f.Known {
			g.Add(name, "–", Points(f.Target), "–", "–", "–")
			continue
		}
		cells := []string{name, c.Signal().Figure(f.Ohm), Points(f.Target), Points(f.Shown), Points(f.Low), Points(f.High)}
		for _, t := range others {
			cells = append(cells, Points(t.Setting.Show(f.Ohm)))
		}
		g.Add(cells...)
	}
	return g, note
}

// Why says of a setting that was tried why it shows what it shows, and what a
// step more on its values would do.
func Why(c *curve.Curve, sc scale.Scale, t span.Trial) string {
	why := span.Why(c, sc, t.Setting)
	text := "With " + called(t.Setting) + ": " + strings.ToLower(why[:1]) + why[1:]
	for _, s := range span.Sensitivities(c, sc, t.Setting) {
		text += " " + s.Sentence(c.Unit())
	}
	return text
}
