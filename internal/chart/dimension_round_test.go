package chart_test

import (
	"math"

	"gaugewright/internal/chart"
	"gaugewright/internal/quantity"
)

func drawnHorizontal() chart.Dimensioned {
	const half, r, deep = 340.0, 150.0, 75.0
	return chart.Dimensioned{
		Title: "A lying cylinder",
		Edges: append(cross(0, r, half+deep+40, r+30),
			seen(joined(bow(half, r, deep, r, -90, 90), bow(-half, r, deep, r, 90, 270))...),
			open(chart.Detail, place{-half, 0}, place{-half, 2 * r}),
			open(chart.Detail, place{half, 0}, place{half, 2 * r})),
		Dimensions: []chart.Dimension{
			across(-half, half, 0, -24, "length_mm"),
			{From: place{-half - deep, r}, To: place{half + deep, r}, Off: place{0, -24 - 20 - 55}, Measure: chart.Horizontal, Label: "overall_length_mm"},
			upward(0, 2*r, half, 76, "diameter_mm"),
		},
		Notes: []chart.Note{
			{Tip: place{-half - 0.6*deep, r + 0.8*r}, Off: place{0, 26}, Label: "left (after end)"},
			{Tip: place{half + 0.6*deep, r + 0.8*r}, Off: place{-1, 26}, Label: "right (fore end)"},
		},
		Words: []chart.Word{{At: place{-half - deep, 2 * r}, Off: place{0, 54}, Role: chart.Caption, Text: "seen from starboard, forward to the right"}},
	}
}

func drawnUpright() chart.Dimensioned {
	const r, high, deep = 200.0, 480.0, 100.0
	d := chart.Dimensioned{
		Title: "A standing cylinder",
		Edges: append(cross(0, high/2, r+30, high/2+deep+30)[1:],
			seen(joined(bow(0, high, r, deep, 0, 180), bow(0, 0, r, deep, 180, 360))...),
			open(chart.Detail, place{-r, 0}, place{r, 0}),
			open(chart.Detail, place{-r, high}, place{r, high})),
		Dimensions: []chart.Dimension{
			{From: place{-r, 0}, To: place{r, 0}, Off: place{0, -72}, Measure: chart.Horizontal, Label: "diameter_mm"},
			upward(0, high, r, 34, "length_mm"),
			{From: place{0, -deep}, To: place{0, high + deep}, Off: place{-150, 0}, Measure: chart.Vertical, Label: "overall_length_mm"},
		},
		Notes: []chart.Note{
			{Tip: place{0.7 * r, high + 0.714*deep}, Off: place{18, 16}, Label: "top"},
			{Tip: place{0.7 * r, -0.714 * deep}, Off: place{18, -16}, Label: "bottom"},
		},
	}
	return d
}

func drawnHeads() chart.Dimensioned {
	const d = 300.0
	s := chart.Dimensioned{Title: "The heads, all of one diameter"}
	add := func(x, y float64, profile []place, name, depth string) {
		s.Edges = append(s.Edges,
			open(chart.Outline, joined([]place{{x + d/2, y - 40}}, moved(profile, x, y), []place{{x - d/2, y - 40}})...),
			open(chart.Detail, place{x - d/2, y}, place{x + d/2, y}),
			open(chart.Centre, place{x, y - 40}, place{x, y + 175}))
		s.Words = append(s.Words,
			chart.Word{At: place{x, y - 40}, Off: place{0, -12}, Anchor: chart.Middle, Text: name},
			chart.Word{At: place{x, y - 40}, Off: place{0, -27}, Anchor: chart.Middle, Role: chart.Caption, Text: depth})
	}
	of := func(depth float64) string { return "depth " + quantity.Digits(depth/d, 4) }
	add(0, 0, []place{{d / 2, 0}, {-d / 2, 0}}, "flat", "depth 0")
	add(400, 0, bow(0, 0, d/2, d/2, 0, 180), "hemispherical", "depth 0.5")
	add(800, 0, bow(0, 0, d/2, d/4, 0, 180), "ellipsoidal-2-1", "depth 0.25")
	for i, k := range []struct {
		name           string
		crown, knuckle float64
	}{{"kloepper", 1, 0.1}, {"korbbogen", 0.8, 0.154}, {"asme-fd", 1, 0.06}} {
		profile, depth := head(d, k.crown*d, k.knuckle*d)
		add(400*float64(i), -400, profile, k.name, of(depth))
	}
	s.Words = append(s.Words, chart.Word{At: place{-d / 2, 175}, Off: place{0, 16}, Role: chart.Caption, Text: "depth in parts of the diameter"})
	// The torispherical one, larger, with its radii.
	const big, crown, knuckle, x, y = 640.0, 540.0, 110.0, 400.0, -860.0
	profile, depth := head(big, crown, knuckle)
	c := big/2 - knuckle
	low := y - 60
	sin, cos := math.Sincos(40 * math.Pi / 180)
	s.Edges = append(s.Edges,
		open(chart.Outline, joined([]place{{x + big/2, low}}, moved(profile, x, y), []place{{x - big/2, low}})...),
		open(chart.Detail, place{x - big/2, y}, place{x + big/2, y}),
		open(chart.Centre, place{x, low}, place{x, y + depth + 30}))
	s.Edges = append(s.Edges, cross(x-c, y, 24, 24)...)
	centre := place{x, y + depth - crown}
	tip := place{x + crown*math.Sin(0.3), y + depth - crown + crown*math.Cos(0.3)}
	s.Radii = []chart.Radius{
		{Centre: centre, Tip: tip, Out: 24, Label: "crown_mm"},
		{Centre: place{x - c, y}, Tip: place{x - c - knuckle*cos, y + knuckle*sin}, Out: 24, Label: "knuckle_mm"},
	}
	s.Words = append(s.Words,
		chart.Word{At: place{x, low}, Off: place{0, -12}, Anchor: chart.Middle, Text: "torispherical"})
	return s
}

func drawnSphere() chart.Dimensioned {
	const r = 250.0
	return chart.Dimensioned{
		Title:      "A sphere",
		Edges:      append(cross(0, 0, r+35, r+35), round(chart.Outline, 0, 0, r)),
		Dimensions: []chart.Dimension{{From: place{-r, 0}, To: place{r, 0}, Off: place{0, -120}, Measure: chart.Horizontal, Label: "diameter_mm"}},
		Height:     260,
	}
}

func drawnRing() chart.Dimensioned {
	const all, tube = 640.0, 200.0
	r, t := all/2, tube/2
	const y = -560.0
	d := chart.Dimensioned{
		Title: "A ring tank lying flat",
		Edges: append(cross(0, 0, r+35, r+35),
			round(chart.Outline, 0, 0, r), round(chart.Outline, 0, 0, r-tube), round(chart.Centre, 0, 0, r-t),
			round(chart.Outline, r-t, y, t), round(chart.Outline, t-r, y, t),
			open(chart.Detail, place{t - r, y + t}, place{r - t, y + t}), open(chart.Detail, place{t - r, y - t}, place{r - t, y - t}),
			open(chart.Centre, place{0, y - t - 30}, place{0, y + t + 30})),
		Dimensions: []chart.Dimension{
			{From: place{-r, y}, To: place{r, y}, Off: place{0, -52}, Measure: chart.Horizontal, Label: "diameter_mm"},
			upward(y-t, y+t, r-t, 98, "tube_diameter_mm"),
		},
		Words: []chart.Word{caption(-r, r+30, chart.Start, "from above"), caption(-r, y+t+45, chart.Start, "cut through the middle")},
	}
	d.Edges = append(d.Edges, cross(r-t, y, t+25, t+25)...)
	d.Edges = append(d.Edges, cross(t-r, y, t+25, t+25)...)
	return d
}

// drawnWall is a box and a lying cylinder with a wall.
func drawnWall() chart.Dimensioned {
	const r, wall, half = 150.0, 22.0, 260.0
	return chart.Dimensioned{
		Title: "Outside sizes and the wall",
		Edges: append(cross(0, 0, half+120, r+30),
			seen(joined(bow(half, 0, 75, r, -90, 90), bow(-half, 0, 75, r, 90, 270))...),
			chart.Edge{Role: chart.Detail, Points: joined(bow(half, 0, 75-wall, r-wall, -90, 90), bow(-half, 0, 75-wall, r-wall, 90, 270)), Closed: true},
			open(chart.Detail, place{-half, -r}, place{-half, -r + wall}), open(chart.Detail, place{-half, r}, place{-half, r - wall}),
			open(chart.Detail, place{half, -r}, place{half, -r + wall}), open(chart.Detail, place{half, r}, place{half, r - wall})),
		Dimensions: []chart.Dimension{
			across(-half, half, -r, -24, "length_mm"),
			upward(-r, r, half, 76, "diameter_mm"),
			{From: place{-half - 75, 0}, To: place{-half - 75 + wall, 0}, Off: place{0, 76}, Measure: chart.Horizontal, Label: "wall_mm"},
		},
	}
}
