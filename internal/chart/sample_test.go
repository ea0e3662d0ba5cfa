package chart_test

import (
	"math"

	"gaugewright/internal/chart"
)

// Invented sample drawings: the tanks of a travelling food stall.

func sampleCurve(width float64) chart.Curve {
	c := chart.Curve{
		Title: "Propane tank: what the sender does", Accent: chart.Gas, Width: width,
		MarkTitle: "mark on the dial, %", OhmTitle: "resistance, Ω", DoubtLabel: "doubt, 95 %",
		Keyed:   []chart.KeyedOhm{{Ohm: 0, Label: "0 Ω = 0 %"}, {Ohm: 81, Label: "81 Ω = 100 %"}},
		Claims:  []chart.Claim{{EmptyMark: 0, EmptyOhm: 0, FullMark: 100, FullOhm: 90, Label: "0 to 90 Ω"}, {EmptyMark: 0, EmptyOhm: 10, FullMark: 100, FullOhm: 180, Label: "10 to 180 Ω"}},
		Limit:   &chart.Limited{Mark: 80, Label: "permitted fill 80 %"},
		LowMark: 0, HighMark: 100,
	}
	at := func(m float64) float64 { return 0.6 + 0.98*m + 3*math.Sin(m/16) }
	for m := 5.0; m <= 90; m += 1.25 {
		c.Marks = append(c.Marks, m)
		c.Ohms = append(c.Ohms, at(m))
		c.DoubtOhms = append(c.DoubtOhms, 1.2+m/40)
	}
	for m := 5.0; m <= 90; m += 8.5 {
		c.Readings = append(c.Readings,
			chart.Reading{Mark: m, Ohm: at(m) + 0.9, Sweep: chart.Up},
			chart.Reading{Mark: m, Ohm: at(m) - 0.9, Sweep: chart.Down})
	}
	c.Readings = append(c.Readings, chart.Reading{Mark: 45, Ohm: 12, Sweep: chart.Down, SetAside: true},
		chart.Reading{Mark: 60, Ohm: at(60)})
	return c
}

func sampleFalling(width float64) chart.Curve {
	return chart.Curve{
		Title: "Diesel tank: what the sender does", Accent: chart.Fuel, Width: width,
		MarkTitle: "float height, mm", OhmTitle: "resistance, Ω",
		Marks: []float64{10, 60, 120, 180, 240, 290}, Ohms: []float64{240, 196, 150, 107, 66, 33},
		DoubtOhms: []float64{2, 2, 2, 2, 2, 2},
		Readings:  []chart.Reading{{Mark: 10, Ohm: 240}, {Mark: 60, Ohm: 197}, {Mark: 120, Ohm: 150}, {Mark: 180, Ohm: 106}, {Mark: 240, Ohm: 66}, {Mark: 290, Ohm: 33}},
		Keyed:     []chart.KeyedOhm{{Ohm: 241, Label: "241 Ω = 0 %"}, {Ohm: 34, Label: "34 Ω = 100 %"}},
		Claims:    []chart.Claim{{EmptyMark: 10, EmptyOhm: 240, FullMark: 290, FullOhm: 33, Label: "240 to 33 Ω"}},
	}
}

func sampleColumn() chart.Column {
	return chart.Column{
		Title: "Propane tank", Accent: chart.Gas, MarkTitle: "dial, %", ValueTitle: "shown, %",
		LowMark: 0, HighMark: 100, Marks: []float64{0, 80}, Values: []float64{0, 100},
		Level: &chart.LevelMark{Mark: 47, DoubtMark: 4, Label: "47 % ± 4"},
		Limit: &chart.Limited{Mark: 80, Label: "permitted fill"},
	}
}

func sampleNarrowing() chart.Column {
	return chart.Column{
		Title: "Fresh water tank", Accent: chart.Water, MarkTitle: "float, mm", ValueTitle: "litres", Width: 220, Height: 360,
		LowMark: 0, HighMark: 260, Marks: []float64{0, 60, 120, 200, 260}, Values: []float64{0, 8, 30, 66, 80},
		Level: &chart.LevelMark{Mark: 200, DoubtMark: 2.5, Label: "66 L ± 1.1 L"},
	}
}

func sampleRulers(width float64) chart.Rulers {
	r := chart.Rulers{Title: "Propane tank: should and will show", Accent: chart.Gas, Width: width,
		MarkTitle: "dial, %", AboveTitle: "should show, %", BelowTitle: "will show, %", Decimals: 1}
	for i, name := range []string{"5", "10", "20", "30", "40", "50", "60", "70", "80"} {
		should := []float64{6.25, 12.5, 25, 37.5, 50, 62.5, 75, 87.5, 100}[i]
		r.Marks = append(r.Marks, chart.RulerMark{Name: name, Should: should, Shown: should + []float64{0.2, 0.6, 1, -0.4, -1.6, -3.1, -1, 0.3, 0}[i], Worst: i == 5})
	}
	return r
}

// sampleGhosts has two end values tried beside the best ones, which stay behind.
func sampleGhosts(width float64) chart.Rulers {
	r := sampleRulers(width)
	r.GhostTitle = "with 0 and 81"
	for i, off := range []float64{0.2, 0.6, 1, -0.4, -1.6, -3.1, -1, 0.3, 0} {
		ghost := r.Marks[i].Should + off
		r.Marks[i].Ghost = &ghost
		r.Marks[i].Shown = 0.93 * r.Marks[i].Shown
		r.Marks[i].Worst = i == 8
	}
	return r
}
