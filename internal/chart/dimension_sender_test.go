package chart_test

import (
	"math"

	"gaugewright/internal/chart"
	"gaugewright/internal/quantity"
)

func drawnRod() chart.Dimensioned {
	const w, h, mount, level = 400.0, 490.0, 520.0, 250.0
	const low, foot, head, float, sinks = 24.0, 52.0, 150.0, 88.0, 62.0
	under := level - sinks // the float's underside
	return chart.Dimensioned{
		Title: "A float on a rod", Accent: chart.Water,
		Edges: []chart.Edge{
			{Role: chart.Wet, Points: boxAt(-w/2, 0, w, level), Closed: true},
			open(chart.Outline, place{-45, h}, place{-w / 2, h}, place{-w / 2, 0}, place{w / 2, 0}, place{w / 2, h}, place{45, h}),
			open(chart.Outline, place{-45, h}, place{-45, mount}), open(chart.Outline, place{45, h}, place{45, mount}),
			open(chart.Level, place{-w / 2, level}, place{-42, level}), open(chart.Level, place{42, level}, place{w / 2, level}),
			{Role: chart.Full, Points: boxAt(-70, mount, 140, 14), Closed: true},
			{Role: chart.Open, Points: boxAt(-5, low, 10, mount-low), Closed: true},
			{Role: chart.Open, Points: boxAt(-42, under, 84, float), Closed: true},
			{Role: chart.Full, Points: boxAt(-16, low+foot-10, 32, 10), Closed: true},
			{Role: chart.Full, Points: boxAt(-16, mount-head, 32, 10), Closed: true},
			open(chart.Centre, place{0, low - 20}, place{0, mount + 50}),
		},
		Surfaces: []place{{-w/2 + 40, level}},
		Dimensions: []chart.Dimension{
			{From: place{-w / 2, 0}, To: place{-70, mount}, Off: place{-30, 0}, Measure: chart.Vertical, Label: "mount_height_mm"},
			{From: place{5, low}, To: place{70, mount}, Off: place{49, 0}, Measure: chart.Vertical, Label: "rod_mm"},
			{From: place{-16, mount - head}, To: place{-45, mount}, Off: place{-12, 0}, Measure: chart.Vertical, Label: "head_mm"},
			{From: place{16, low}, To: place{16, low + foot}, Off: place{22, 0}, Measure: chart.Vertical, Label: "foot_mm"},
			{From: place{-42, under}, To: place{-42, under + float}, Off: place{-8, 0}, Measure: chart.Vertical, Label: "float_mm"},
			{From: place{42, under}, To: place{42, level}, Off: place{8, 0}, Measure: chart.Vertical, Label: "sinks_mm"},
		},
	}
}

func drawnSwingingArm() chart.Dimensioned {
	const w, h, px, py, arm, float = 560.0, 430.0, -230.0, 230.0, 300.0, 34.0
	const low, high, now, sinks = -38.0, 33.0, -8.0, 12.0
	end := func(deg float64) place {
		sin, cos := math.Sincos(deg * math.Pi / 180)
		return place{px + arm*cos, py + arm*sin}
	}
	level := end(now)[1] + sinks
	d := chart.Dimensioned{
		Title: "A float on a swinging arm", Accent: chart.Water,
		Edges: []chart.Edge{
			{Role: chart.Wet, Points: boxAt(-w/2, 0, w, level), Closed: true},
			seen(boxAt(-w/2, 0, w, h)...),
			open(chart.Level, place{-w / 2, level}, place{end(now)[0] - float, level}),
			open(chart.Level, place{end(now)[0] + float, level}, place{w / 2, level}),
			open(chart.Centre, place{px, py}, place{px + arm + 40, py}),
		},
		Surfaces: []place{{w/2 - 50, level}},
	}
	for _, at := range []float64{low, high} {
		e := end(at)
		d.Edges = append(d.Edges, open(chart.Hidden, place{px, py}, e), round(chart.Hidden, e[0], e[1], float))
	}
	e := end(now)
	d.Edges = append(d.Edges, open(chart.Outline, place{px, py}, e), round(chart.Open, e[0], e[1], float), round(chart.Open, px, py, 9),
		open(chart.Detail, place{e[0] - 10, e[1]}, place{e[0] + 10, e[1]}), open(chart.Detail, place{e[0], e[1] - 10}, place{e[0], e[1] + 10}),
		seen(boxAt(-w/2, py-40, 30, 80)...), open(chart.Outline, place{-w/2 + 30, py}, place{px - 9, py}))
	d.Dimensions = []chart.Dimension{
		{From: place{px, py}, To: end(high), Off: place{-14, 22}, Label: "arm_mm"},
		{From: place{-w / 2, 0}, To: place{-w / 2, py}, Off: place{-30, 0}, Measure: chart.Vertical, Label: "pivot_height_mm"},
		{From: place{e[0] + float, e[1]}, To: place{e[0] + float, level}, Off: place{8, 0}, Measure: chart.Vertical},
	}
	d.Words = []chart.Word{{At: place{e[0] + float, e[1]}, Off: place{14, -9}, Text: "sinks_mm"}}
	d.Angles = []chart.Angle{
		{Vertex: place{px, py}, From: 0, To: high, Radius: 0.62 * arm, Label: "high_deg"},
		{Vertex: place{px, py}, From: 0, To: low, Radius: 0.5 * arm, Label: "low_deg"},
	}
	return d
}

// segmentShare is the share of a circle's area that lies under a height, in
// parts of its diameter: (acos k − k√(1 − k²))/π with k = 1 − 2h.
func segmentShare(h float64) float64 {
	k := 1 - 2*h
	return (math.Acos(k) - k*math.Sqrt(max(0, 1-k*k))) / math.Pi
}

func drawnDial() chart.Dimensioned {
	const r, level = 200.0, 164.0
	const py, arm, low, high = 200.0, 165.0, -72.0, 72.0
	now := math.Asin((level-py)/arm) * 180 / math.Pi
	end := place{arm * math.Cos(now*math.Pi/180), level}
	half := math.Sqrt(r*r - (level-r)*(level-r))
	below := []place{}
	for _, p := range bow(0, r, r, r, 0, 360) {
		if p[1] < level {
			below = append(below, p)
		}
	}
	wet := joined([]place{{half, level}}, reversedFrom(below), []place{{-half, level}})
	d := chart.Dimensioned{
		Title: "What a dial may be marked in", Accent: chart.Water,
		Edges: []chart.Edge{
			{Role: chart.Wet, Points: wet, Closed: true},
			round(chart.Outline, 0, r, r),
			open(chart.Level, place{-half, level}, place{end[0] - 16, level}), open(chart.Level, place{end[0] + 16, level}, place{half, level}),
			open(chart.Centre, place{-r - 90, level}, place{-half, level}), open(chart.Centre, place{half, level}, place{r + 90, level}),
			open(chart.Outline, place{0, py}, end),
			{Role: chart.Outline, Points: boxAt(-7, py, 14, r+14), Closed: true},
			{Role: chart.Open, Points: boxAt(-46, 2*r+4, 92, 20), Closed: true},
			round(chart.Open, end[0], end[1], 15), round(chart.Open, 0, py, 7),
		},
		Surfaces: []place{{-90, level}},
	}
	// Scales in percent: of height and of volume at the sides, of the arm's
	// travel round the pivot.
	ruler := func(x, side float64, at func(share float64) float64) {
		d.Edges = append(d.Edges, open(chart.Axis, place{x, at(0)}, place{x, at(1)}))
		for i := range 11 {
			y, long := at(float64(i)/10), 9.0
			if i%5 == 0 {
				long = 20
				anchor := chart.Start
				if side < 0 {
					anchor = chart.End
				}
				d.Words = append(d.Words, chart.Word{At: place{x + side*26, y}, Anchor: anchor, Text: quantity.Short(float64(i)*10, 0)})
			}
			d.Edges = append(d.Edges, open(chart.Tick, place{x, y}, place{x + side*long, y}))
		}
	}
	ruler(-r-90, -1, func(s float64) float64 { return s * 2 * r })
	ruler(r+90, 1, func(s float64) float64 {
		a, b := 0.0, 1.0
		for range 60 {
			if m := (a + b) / 2; segmentShare(m) < s {
				a = m
			} else {
				b = m
			}
		}
		return a * 2 * r
	})
	const track = 118.0
	d.Edges = append(d.Edges, open(chart.Axis, bow(0, py, track, track, low, high)...))
	for i := range 11 {
		sin, cos := math.Sincos((low + (high-low)*float64(i)/10) * math.Pi / 180)
		long := 7.0
		if i%5 == 0 {
			long = 14
			d.Words = append(d.Words, chart.Word{At: place{(track + 12) * cos, py + (track+12)*sin}, Text: quantity.Short(float64(i)*10, 0)})
		}
		d.Edges = append(d.Edges, open(chart.Tick, place{track * cos, py + track*sin}, place{(track - long) * cos, py + (track-long)*sin}))
	}
	d.Words = append(d.Words,
		chart.Word{At: place{-r - 90, 2 * r}, Off: place{0, 24}, Anchor: chart.Middle, Role: chart.Caption, Text: "height, %"},
		chart.Word{At: place{r + 90, 2 * r}, Off: place{0, 24}, Anchor: chart.Middle, Role: chart.Caption, Text: "volume, %"},
		chart.Word{At: place{-20, py - 0.78*track}, Anchor: chart.End, Role: chart.Caption, Text: "angle, %"})
	return d
}

func reversedFrom(points []place) []place {
	out := make([]place, len(points))
	for i, p := range points {
		out[len(points)-1-i] = p
	}
	return out
}
