package telling

import (
	"fmt"
	"strings"

	"gaugewright/internal/curve"
	"gaugewright/internal/gauge"
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

// ShownInBrief is what a setting shows at some of the marks that were read, the
// first and the last among them: at every one, or at about eight of many.
func ShownInBrief(c *curve.Curve, sc scale.Scale, setting span.Setting) Grid {
	const most = 8
	points := c.Points()
	some := points
	if len(points) > most+3 {
		some = nil
		for i := range most {
			some = append(some, points[i*(len(points)-1)/(most-1)])
		}
	}
	g := Grid{Head: []string{"mark", "should show", "will show", "±"}}
	ga := gauge.Gauge{Curve: c, Scale: sc}
	for _, p := range some {
		if shown, u, ok := ga.Show(setting, p.Mark); ok {
			g.Add(c.Unit().Text(p.Mark), Points(sc.Target(p.Mark)), Points(shown), wide(u))
		}
	}
	return g
}

// HowSure says how far the display is wrong at most, and what the ± of
// ShownInBrief is.
func HowSure(choice span.Choice) string {
	return fmt.Sprintf("At no reading is the display more than %s points wrong. ± in the table is about 95 %%, from the readings' own scatter, hysteresis and last digit.", Points(choice.Worst))
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
