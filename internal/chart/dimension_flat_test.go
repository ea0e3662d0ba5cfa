package chart_test

import (
	"math"

	"gaugewright/internal/chart"
)

func drawnBox() chart.Dimensioned {
	const length, width, height = 500.0, 300.0, 280.0
	v := viewpoint{28, 24}
	a, b := corner{-length / 2, -width / 2, 0}, corner{length / 2, width / 2, height}
	low := func(x, y float64) corner { return corner{x, y, 0} }
	dim := func(p, q, away corner, pixels float64, label string) chart.Dimension {
		return chart.Dimension{From: v.see(p), To: v.see(q), Off: v.off(away, pixels), Label: label}
	}
	edges := v.slab(a, b)
	for _, arm := range []corner{{150, 0, 0}, {0, 110, 0}, {0, 0, 150}} {
		edges = append(edges, v.line(chart.Centre, corner{}, arm))
	}
	return chart.Dimensioned{
		Title: "A box",
		Edges: edges,
		Dimensions: []chart.Dimension{
			dim(a, low(b.x, a.y), corner{0, -1, 0}, 34, "length_mm"),
			dim(low(b.x, a.y), low(b.x, b.y), corner{1, 0, 0}, 30, "width_mm"),
			dim(a, corner{a.x, a.y, b.z}, corner{-1, 0, 0}, 44, "height_mm"),
		},
		Words: []chart.Word{
			{At: v.see(corner{120, 0, 0}), Off: place{4, -1}, Text: "x"},
			{At: v.see(corner{0, 110, 0}), Off: place{4, 4}, Text: "y"},
			{At: v.see(corner{0, 0, 150}), Off: place{5, 0}, Text: "z"},
			{At: v.see(a), Off: place{-60, -70}, Role: chart.Caption, Text: "x forward, y to port, z up"},
		},
	}
}

func drawnFrustum() chart.Dimensioned {
	// Round.
	const low, top, high = 260.0, 420.0, 300.0
	d := chart.Dimensioned{
		Title: "Frustums, round and four-sided",
		Edges: []chart.Edge{
			seen(place{-low / 2, 0}, place{low / 2, 0}, place{top / 2, high}, place{-top / 2, high}),
			open(chart.Centre, place{0, -25}, place{0, high + 25}),
		},
		Dimensions: []chart.Dimension{
			across(-low/2, low/2, 0, -28, "bottom_diameter_mm"),
			across(-top/2, top/2, high, 26, "top_diameter_mm"),
			{From: place{low / 2, 0}, To: place{top / 2, high}, Off: place{40, 0}, Measure: chart.Vertical, Label: "height_mm"},
		},
	}
	// Four-sided: from starboard, and from above.
	const bl, bw, tl, tw, y, plan = 300.0, 180.0, 460.0, 300.0, -760.0, -1290.0
	d.Edges = append(d.Edges,
		seen(place{-bl / 2, y}, place{bl / 2, y}, place{tl / 2, y + high}, place{-tl / 2, y + high}),
		open(chart.Centre, place{0, y - 25}, place{0, y + high + 25}),
		seen(boxAt(-tl/2, plan-tw/2, tl, tw)...),
		chart.Edge{Role: chart.Hidden, Points: boxAt(-bl/2, plan-bw/2, bl, bw), Closed: true})
	for _, s := range []place{{1, 1}, {1, -1}, {-1, 1}, {-1, -1}} {
		d.Edges = append(d.Edges, open(chart.Hidden, place{s[0] * bl / 2, plan + s[1]*bw/2}, place{s[0] * tl / 2, plan + s[1]*tw/2}))
	}
	d.Dimensions = append(d.Dimensions,
		across(-bl/2, bl/2, y, -28, "bottom_length_mm"),
		across(-tl/2, tl/2, y+high, 26, "top_length_mm"),
		chart.Dimension{From: place{bl / 2, y}, To: place{tl / 2, y + high}, Off: place{40, 0}, Measure: chart.Vertical, Label: "height_mm"},
		chart.Dimension{From: place{-bl / 2, plan - bw/2}, To: place{-bl / 2, plan + bw/2}, Off: place{-94, 0}, Measure: chart.Vertical, Label: "bottom_width_mm"},
		upward(plan-tw/2, plan+tw/2, tl/2, 40, "top_width_mm"))
	d.Words = append(d.Words,
		chart.Word{At: place{-tl / 2, high}, Off: place{-100, 44}, Role: chart.Caption, Text: "round"},
		chart.Word{At: place{-tl / 2, y + high}, Off: place{-100, 56}, Role: chart.Caption, Text: "four-sided, seen from starboard"},
		chart.Word{At: place{-tl / 2, plan + tw/2}, Off: place{-100, 20}, Role: chart.Caption, Text: "from above"})
	return d
}

func drawnExtrusion() chart.Dimensioned {
	// A floor tank that follows a wheel arch: a rounded corner at the lower
	// port side, an arc at the lower starboard one.
	const w, h, r = 460.0, 300.0, 70.0
	const ax, ay, ar = 460.0, 0.0, 150.0
	outline := joined([]place{{0, h}}, bow(r, r, r, r, 180, 270), []place{{ax - ar, 0}}, bow(ax, ay, ar, ar, 180, 90), []place{{w, h}})
	through := place{ax - ar*math.Sqrt2/2, ay + ar*math.Sqrt2/2}
	d := chart.Dimensioned{
		Title: "An outline along its axis",
		Edges: []chart.Edge{
			seen(outline...),
			open(chart.Centre, place{0, r}, place{0, 0}, place{r, 0}),
			{Role: chart.Centre, Points: []place{{r, 0}, {r, r}, {0, r}}},
		},
		Radii: []chart.Radius{{Centre: place{r, r}, Tip: place{r - r*math.Sqrt2/2, r - r*math.Sqrt2/2}, Out: -54, Label: "corner_mm"}},
		Notes: []chart.Note{
			{Tip: place{0, h}, Off: place{20, 22}, Dot: true, Label: "at [a, b]"},
			{Tip: place{0, 0}, Off: place{16, -22}, Dot: true, Label: "at, with corner_mm"},
			{Tip: through, Off: place{-16, 34}, Dot: true, Label: "through [c, d]"},
			{Tip: place{w, ar}, Off: place{16, -16}, Dot: true, Label: "at"},
			{Tip: place{ax - ar, 0}, Off: place{16, -22}, Dot: true, Label: "at"},
			{Tip: place{w, h}, Off: place{-18, 22}, Dot: true, Label: "at"},
		},
	}
	// Along the axis, seen from starboard.
	const long, y = 620.0, -480.0
	d.Edges = append(d.Edges, seen(boxAt(-40, y, long, h)...),
		open(chart.Detail, place{-40, y + ar}, place{long - 40, y + ar}))
	d.Dimensions = append(d.Dimensions, across(-40, long-40, y, -26, "length_mm"))
	d.Axes = []chart.Axes{{At: place{w, h}, Off: place{66, -40}, Up: "z", Left: "y", In: "x"}}
	d.Words = []chart.Word{
		{At: place{-40, h}, Off: place{0, 54}, Role: chart.Caption, Text: "outline_mm, along the axis x: a is y, b is z"},
		{At: place{-40, y + h}, Off: place{0, 16}, Role: chart.Caption, Text: "seen from starboard"},
	}
	return d
}

func drawnStack() chart.Dimensioned {
	const r, cone, small, body, deep = 170.0, 180.0, 60.0, 260.0, 85.0
	tip := 120.0
	y1, y2 := tip, tip+cone
	y3 := y2 + body
	d := chart.Dimensioned{
		Title: "Parts on top of one another",
		Edges: []chart.Edge{
			seen(joined([]place{{-small, 0}, {small, 0}, {small, y1}, {r, y2}, {r, y3}}, bow(0, y3, r, deep, 0, 180), []place{{-r, y3}, {-r, y2}, {-small, y1}})...),
			open(chart.Detail, place{-small, y1}, place{small, y1}),
			open(chart.Detail, place{-r, y2}, place{r, y2}),
			open(chart.Centre, place{0, -25}, place{0, y3 + deep + 25}),
		},
		Notes: []chart.Note{
			{Tip: place{0.45 * small, tip / 2}, Off: place{52, -4}, Dot: true, Label: "first: upright-cylinder"},
			{Tip: place{0.55 * r, y1 + 0.62*cone}, Off: place{24, -12}, Dot: true, Label: "second: frustum"},
			{Tip: place{0.6 * r, y2 + body/2}, Off: place{34, 10}, Dot: true, Label: "third: upright-cylinder"},
		},
		Words:  []chart.Word{{At: place{0, 0}, Off: place{0, -22}, Anchor: chart.Middle, Role: chart.Caption, Text: "from the bottom up"}},
		Height: 340,
	}
	d.Dimensions = []chart.Dimension{
		upward(0, y1, -r, -20, "length_mm"),
		upward(y1, y2, -r, -20, "height_mm"),
		upward(y2, y3, -r, -20, "length_mm"),
	}
	return d
}

func drawnJoined() chart.Dimensioned {
	const level = 190.0
	const gap, z = 440.0, 80.0
	d := chart.Dimensioned{
		Title: "Tanks joined at the bottom", Accent: chart.Water,
		Edges: []chart.Edge{
			{Role: chart.Wet, Points: boxAt(-130, 0, 260, level), Closed: true},
			{Role: chart.Wet, Points: boxAt(gap-110, z, 220, level-z), Closed: true},
			{Role: chart.Wet, Points: []place{{130, 18}, {gap - 12, 18}, {gap - 12, z}, {gap + 12, z}, {gap + 12, -6}, {130, -6}}, Closed: true},
			seen(boxAt(-130, 0, 260, 320)...),
			seen(boxAt(gap-110, z, 220, 300)...),
			open(chart.Detail, place{130, 18}, place{gap - 12, 18}, place{gap - 12, z}),
			open(chart.Detail, place{130, -6}, place{gap + 12, -6}, place{gap + 12, z}),
			open(chart.Level, place{-130, level}, place{130, level}),
			open(chart.Level, place{gap - 110, level}, place{gap + 110, level}),
			open(chart.Centre, place{130, level}, place{gap - 110, level}),
			open(chart.Centre, place{0, -40}, place{0, 360}),
			open(chart.Centre, place{gap, -40}, place{gap, 420}),
			open(chart.Detail, place{gap + 12, 0}, place{gap + 200, 0}),
		},
		Surfaces: []place{{-70, level}, {gap - 60, level}},
		Dimensions: []chart.Dimension{
			{From: place{0, 0}, To: place{gap, -6}, Off: place{0, -44}, Measure: chart.Horizontal, Label: "x_mm, y_mm"},
			upward(0, z, gap+110, 46, "z_mm"),
		},
		Words: []chart.Word{
			{At: place{0, 320}, Off: place{0, 24}, Anchor: chart.Middle, Text: "first of the parts"},
			{At: place{(gap + 20) / 2, level}, Off: place{0, 11}, Anchor: chart.Middle, Text: "one level"},
			{At: place{gap, 380}, Off: place{0, 24}, Anchor: chart.Middle, Text: "second of them"},
		},
	}
	return d
}

func drawnWithout() chart.Dimensioned {
	const w, h, x, r = 640.0, 300.0, 90.0, 150.0
	d := chart.Dimensioned{
		Title: "A wheel arch taken away from a box",
		Edges: []chart.Edge{
			seen(joined([]place{{-w / 2, 0}, {x - r, 0}}, bow(x, 0, r, r, 180, 0), []place{{w / 2, 0}, {w / 2, h}, {-w / 2, h}})...),
			{Role: chart.Hidden, Points: []place{{x - r, 0}, {x + r, 0}}},
			open(chart.Centre, place{0, -40}, place{0, h + 30}),
			open(chart.Centre, place{x, -40}, place{x, r + 40}),
		},
	}
	const y, deep, off, wide = -420.0, 340.0, -60.0, 220.0
	d.Edges = append(d.Edges,
		seen(boxAt(-w/2, y-deep/2, w, deep)...),
		chart.Edge{Role: chart.Hidden, Points: boxAt(x-r, y+off-wide/2, 2*r, wide), Closed: true},
		open(chart.Centre, place{0, y - deep/2 - 30}, place{0, y + deep/2 + 30}),
		open(chart.Centre, place{-w/2 - 30, y}, place{w/2 + 30, y}),
		open(chart.Centre, place{x, y + off - wide/2 - 30}, place{x, y + off + wide/2 + 30}),
		open(chart.Centre, place{x - r - 30, y + off}, place{x + r + 30, y + off}))
	d.Dimensions = []chart.Dimension{
		{From: place{0, y - deep/2}, To: place{x, y - deep/2}, Off: place{0, -28}, Measure: chart.Horizontal, Label: "x_mm"},
		{From: place{w / 2, y + off}, To: place{w / 2, y}, Off: place{24, 0}, Measure: chart.Vertical, Label: "y_mm"},
	}
	d.Notes = []chart.Note{
		{Tip: place{x, r * 0.55}, Off: place{-66, 30}, Dot: true, Label: "without"},
		{Tip: place{x + r*0.6, 0}, Off: place{22, -18}, Label: "z_mm 0"},
	}
	d.Axes = []chart.Axes{{At: place{-w / 2, y - deep/2}, Off: place{16, 26}, Right: "x", Up: "y"}}
	d.Words = []chart.Word{
		{At: place{-w / 2, h}, Off: place{0, 26}, Role: chart.Caption, Text: "seen from starboard, cut through the arch"},
		{At: place{-w / 2, y + deep/2}, Off: place{0, 22}, Role: chart.Caption, Text: "from above"},
	}
	return d
}
