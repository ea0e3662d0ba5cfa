package main

import (
	"fmt"
	"io"
	"math"

	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
	"gaugewright/internal/telling"
)

// tankReport is what was found out of a tank, for a terminal or as JSON.
type tankReport struct{ telling.TankReport }

// print puts the report on a terminal.
func (r *tankReport) print(w io.Writer) {
	for _, line := range r.Lines() {
		fmt.Fprintln(w, line)
	}
	fmt.Fprintln(w)
	g, notes := r.Heights()
	writeGrid(w, g)
	fmt.Fprintln(w)
	for _, note := range notes {
		writeWrapped(w, "- ", note)
	}
	writeFindings(w, r.Findings)
}

// result is the report for --json.
func (r *tankReport) result() fields {
	var out fields
	litres := func(v quantity.CubicMetre) float64 { return figure(v * 1000) }
	out.set("capacity_l", litres(r.Tank.Capacity()))
	out.set("height_mm", figure(r.Tank.Height()*1000))
	rows := make([]fields, len(r.Answers))
	for i, l := range r.Answers {
		rows[i].set("height_mm", figure(l.Height*1000))
		rows[i].set("volume_l", litres(l.Volume))
		rows[i].set("of_capacity_pct", figure(l.Volume/r.Tank.Capacity()*100))
		rows[i].set("surface_m2", figure(l.Surface))
		rows[i].set("centroid_mm", nil)
		if c := r.Levels.Centroid(l.Height); !math.IsNaN(c.X) {
			rows[i].values[len(rows[i].values)-1] = []float64{figure(c.X * 1000), figure(c.Y * 1000), figure(c.Z * 1000)}
		}
		if l.Note != "" {
			rows[i].set("note", l.Note)
		}
	}
	out.set("at", rows)
	degrees := func(v float64) float64 { return figure(v * 180 / math.Pi) }
	tilt := r.Levels.Tilt()
	out.set("pitch_deg", degrees(tilt.Pitch))
	out.set("roll_deg", degrees(tilt.Roll))
	if r.Seen != nil {
		var s fields
		s.set("sees_pct", points(r.Seen.Share))
		s.set("low_mm", figure(r.Seen.Low*1000))
		s.set("high_mm", figure(r.Seen.High*1000))
		s.set("below_l", litres(r.Seen.Below))
		s.set("above_l", litres(r.Seen.Above))
		out.set("sender", s)
	}
	leanings := make([]fields, len(r.Leanings))
	for i, l := range r.Leanings {
		leanings[i].set("pitch_deg", degrees(l.Tilt.Pitch))
		leanings[i].set("roll_deg", degrees(l.Tilt.Roll))
		leanings[i].set("error_at_half_l", litres(l.Half.Error))
		leanings[i].set("worst_error_l", litres(l.Worst.Error))
		leanings[i].set("worst_at_l", litres(l.Worst.True))
		leanings[i].set("text", l.Sentence(0))
	}
	out.set("tilted", leanings)
	out.set("findings", append([]finding.Finding{}, r.Findings...))
	return out
}
