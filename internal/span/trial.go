package span

import (
	"math"
	"sort"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
)

// Row is what a setting shows at one reading.
type Row struct {
	Mark   float64 // as in the curve's sheet
	Ohm    quantity.Ohm
	Target quantity.Share // what should be shown
	Shown  quantity.Share
	Sweep  curve.Sweep
	// What the curve's own doubt at this mark does to the figure shown: its
	// standard uncertainty, and its 95 % interval within 0..1 (see [WhatIf]).
	U, Low, High quantity.Share
}

// Error gives shown − target; above zero the display reads high.
func (r Row) Error() quantity.Share { return r.Shown - r.Target }

// Trial is a setting tried against the readings.
type Trial struct {
	Setting Setting
	Rows    []Row          // one for each of Stations, by rising mark
	Worst   quantity.Share // the largest |error| among them
	WorstAt []float64      // the marks where it stands
	// Between is the largest |error| along the fitted curve, between the marks
	// as well as at them; the readings decide, this tells.
	Between quantity.Share
}

// Stations gives what a setting is tried at: the readings that a curve rests on
// and, for one that is known without readings of its own, its knots as well.
func Stations(c *curve.Curve) []curve.Reading {
	out := c.Used()
	if _, known := c.Source(); known {
		for _, p := range c.Points() {
			out = append(out, curve.Reading{Mark: p.Mark, Ohm: p.Ohm})
		}
	}
	return out
}

// Try shows what a setting displays at every reading of a curve.
func Try(c *curve.Curve, s scale.Scale, setting Setting) Trial {
	used := Stations(c)
	sort.SliceStable(used, func(a, b int) bool { return used[a].Mark < used[b].Mark })
	t := Trial{Setting: setting, Rows: make([]Row, len(used))}
	for i, r := range used {
		row := Row{Mark: r.Mark, Ohm: r.Ohm, Target: s.Target(r.Mark), Shown: setting.Show(r.Ohm), Sweep: r.Sweep}
		row.U, row.Low, row.High = Spread(setting, r.Ohm, c.Ohm(r.Mark, curve.Refuse).UOhm)
		t.Rows[i] = row
		t.Worst = max(t.Worst, size(row.Error()))
	}
	for _, row := range t.Rows {
		if size(row.Error()) >= t.Worst-1e-9 && (len(t.WorstAt) == 0 || t.WorstAt[len(t.WorstAt)-1] != row.Mark) {
			t.WorstAt = append(t.WorstAt, row.Mark)
		}
	}
	points := c.Points()
	const pieces = 16
	for i := range len(points) - 1 {
		for k := range pieces + 1 {
			mark := points[i].Mark + float64(k)/pieces*(points[i+1].Mark-points[i].Mark)
			shown := setting.Show(c.Ohm(mark, curve.Refuse).Ohm)
			t.Between = max(t.Between, size(shown-s.Target(mark)))
		}
	}
	return t
}

func size(s quantity.Share) quantity.Share { return quantity.Share(math.Abs(float64(s))) }
