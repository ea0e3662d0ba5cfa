package chart_test

import (
	"math"

	"gaugewright/internal/chart"
)

// Invented sample sections: tanks of a travelling food stall and of a hut.

func ref[T any](v T) *T { return &v }

// leaned turns outlines about the origin, by degrees, positive to the left.
func leaned(degrees float64, loops ...[][2]float64) [][][2]float64 {
	sin, cos := math.Sincos(degrees * math.Pi / 180)
	out := make([][][2]float64, len(loops))
	for i, loop := range loops {
		for _, p := range loop {
			out[i] = append(out[i], [2]float64{cos*p[0] - sin*p[1], sin*p[0] + cos*p[1]})
		}
	}
	return out
}

// bow gives points on an arc of an ellipse, angles in degrees.
func bow(x, y, rx, ry, from, to float64) [][2]float64 {
	const n = 48
	points := make([][2]float64, n+1)
	for i := range points {
		sin, cos := math.Sincos((from + (to-from)*float64(i)/n) * math.Pi / 180)
		points[i] = [2]float64{x + rx*cos, y + ry*sin}
	}
	return points
}

func joined(parts ...[][2]float64) [][2]float64 {
	var out [][2]float64
	for _, p := range parts {
		out = append(out, p...)
	}
	return out
}

// sampleSection is a gas tank on its side, 300 mm across, nose down.
func sampleSection(width float64) chart.Section {
	side := joined(bow(400, 150, 75, 150, -90, 90), bow(-400, 150, 75, 150, 90, 270))
	lean := leaned(-3, side, [][2]float64{{0, 0}, {0, 300}})
	level, low, high := 118.0, 108.0, 128.0
	limit := &chart.Limited{Mark: 226, Label: "permitted fill, 80 %"}
	var scale []chart.ScaleTick
	for i, label := range []string{"", "5", "", "15", "", "30", "", "40", "", "55", ""} {
		scale = append(scale, chart.ScaleTick{At: 15 + 27*float64(i), Label: label})
	}
	return chart.Section{
		Title: "Propane tank in section", Accent: chart.Gas, Width: width,
		Views: []chart.View{
			{Name: "seen from starboard, forward to the right", Loops: lean[:1], Level: &level, LevelLabel: "120 mm · 22.4 L",
				DoubtLow: &low, DoubtHigh: &high, Limit: limit, Sensor: &[2][2]float64{lean[1][0], lean[1][1]},
				Lean: &chart.Lean{Degrees: -3, Label: "3° nose down"}, Scale: scale, ScaleTitle: "litres"},
			{Name: "seen from astern, port to the left", Loops: [][][2]float64{bow(0, 150, 150, 150, 0, 357)}, Level: &level,
				DoubtLow: &low, DoubtHigh: &high, Limit: &chart.Limited{Mark: 226}, Sensor: &[2][2]float64{{0, 0}, {0, 300}}},
		},
	}
}

// sampleArch is a water tank over a wheel arch with a tube through it, starboard
// side down.
func sampleArch(width float64) chart.Section {
	body := joined([][2]float64{{-300, 0}, {-180, 0}}, bow(0, 0, 180, 150, 180, 0), [][2]float64{{300, 0}, {300, 320}, {-300, 320}})
	tube := bow(200, 240, 35, 35, 357, 0)
	level := 130.0
	return chart.Section{
		Title: "Fresh water tank in section", Accent: chart.Water, Width: width,
		Views: []chart.View{
			{Name: "seen from starboard, forward to the right", Loops: leaned(0, body, tube), Level: &level, LevelLabel: "130 mm · 31 L",
				Sensor: &[2][2]float64{{-240, 0}, {-240, 320}}},
			{Name: "seen from astern, port to the left", Loops: leaned(-7, [][2]float64{{-150, 0}, {150, 0}, {150, 320}, {-150, 320}}), Level: &level,
				Lean: &chart.Lean{Degrees: -7, Label: "7° starboard down"}},
		},
	}
}

// sampleLong is a tank so long that its views can't share a scale.
func sampleLong(width float64) chart.Section {
	level := 60.0
	return chart.Section{
		Title: "Floor tank in section", Accent: chart.Waste, Width: width,
		Views: []chart.View{
			{Name: "seen from starboard, forward to the right", Loops: [][][2]float64{{{0, 0}, {3000, 0}, {3000, 160}, {0, 160}}}, Level: &level, LevelLabel: "60 mm · 54 L"},
			{Name: "seen from astern, port to the left", Loops: [][][2]float64{{{-150, 0}, {150, 0}, {150, 160}, {-150, 160}}}, Level: &level,
				Limit: &chart.Limited{Mark: 150, Label: "empty it here"}},
		},
	}
}
