package chart_test

import (
	"math"

	"gaugewright/internal/chart"
	"gaugewright/internal/quantity"
)

func drawnSensorAndTilt() chart.Dimensioned {
	const w, h, keel, rise, sx, level = 320.0, 260.0, 90.0, 50.0, 200.0, 150.0
	hull := []place{{-w, rise}, {-keel, 0}, {keel, 0}, {w, rise}, {w, h}, {-w, h}}
	wet := []place{{-w, rise}, {-keel, 0}, {keel, 0}, {w, rise}, {w, level}, {-w, level}}
	d := chart.Dimensioned{
		Title: "How heights are measured", Accent: chart.Water,
		Edges: []chart.Edge{
			{Role: chart.Wet, Points: wet, Closed: true},
			seen(hull...),
			open(chart.Level, place{-w, level}, place{w, level}),
			open(chart.Centre, place{-w - 30, 0}, place{w + 30, 0}),
			open(chart.Detail, place{sx, 0}, place{sx, h}), open(chart.Strike, place{sx - 24, h}, place{sx + 24, h}),
			round(chart.Open, sx, level, 9),
		},
		Surfaces: []place{{-190, level}},
		Dimensions: []chart.Dimension{
			{From: place{0, 0}, To: place{sx, 0}, Off: place{0, -34}, Measure: chart.Horizontal, Label: "x_mm"},
			upward(0, level, sx, 84, "height"),
		},
		Axes: []chart.Axes{{Right: "x", Up: "z", In: ""}},
		Words: []chart.Word{
			{At: place{-w, h}, Off: place{0, 22}, Role: chart.Caption, Text: "seen from starboard: x forward, z up"},
			{At: place{sx, h}, Off: place{0, 10}, Anchor: chart.Middle, Text: "sensor"},
		},
	}
	// From above.
	const plan, deep, sy = -420.0, 130.0, 70.0
	d.Edges = append(d.Edges, seen(boxAt(-w, plan-deep, 2*w, 2*deep)...),
		open(chart.Detail, place{-keel, plan - deep}, place{-keel, plan + deep}), open(chart.Detail, place{keel, plan - deep}, place{keel, plan + deep}),
		open(chart.Centre, place{-w - 30, plan}, place{w + 30, plan}), open(chart.Centre, place{0, plan - deep - 30}, place{0, plan + deep + 30}),
		round(chart.Full, sx, plan+sy, 6))
	d.Axes = append(d.Axes, chart.Axes{At: place{0, plan}, Right: "x", Up: "y"})
	d.Dimensions = append(d.Dimensions,
		chart.Dimension{From: place{0, plan}, To: place{sx, plan + sy}, Off: place{0, -62}, Measure: chart.Horizontal, Label: "x_mm"},
		chart.Dimension{From: place{w, plan}, To: place{sx, plan + sy}, Off: place{24, 0}, Measure: chart.Vertical, Label: "y_mm"})
	d.Words = append(d.Words, chart.Word{At: place{-w, plan + deep}, Off: place{0, 20}, Role: chart.Caption, Text: "from above: y to port"})

	// Nose up, and starboard down: the surface stays level.
	tilted := func(x, y, deg, half, high float64, text, name string) {
		sin, cos := math.Sincos(deg * math.Pi / 180)
		turn := func(p place) place { return place{x + cos*p[0] - sin*p[1], y + sin*p[0] + cos*p[1]} }
		var body []place
		for _, p := range boxAt(-half, 0, 2*half, high) {
			body = append(body, turn(p))
		}
		pivot := body[0]
		d.Edges = append(d.Edges, seen(body...), open(chart.Centre, pivot, place{pivot[0] + 2.2*half, pivot[1]}))
		d.Angles = append(d.Angles, chart.Angle{Vertex: pivot, To: deg, Radius: 2.05 * half, Label: text})
		d.Words = append(d.Words, chart.Word{At: place{x, y + high}, Off: place{0, 34}, Anchor: chart.Middle, Role: chart.Caption, Text: name})
		// The level, through the middle of the body.
		a, b := surfaceThrough(body, y+0.5*high*cos)
		foot, head := turn(place{0.4 * half, 0}), turn(place{0.4 * half, high})
		t := (a[1] - foot[1]) / (head[1] - foot[1])
		d.Edges = append(d.Edges, open(chart.Level, a, b), open(chart.Detail, foot, head),
			open(chart.Strike, turn(place{0.4*half - 24, high}), turn(place{0.4*half + 24, high})),
			round(chart.Open, foot[0]+t*(head[0]-foot[0]), a[1], 9))
	}
	tilted(-230, -900, 14, 150, 130, "pitch", "nose up: positive")
	tilted(250, -900, -14, 110, 130, "roll", "starboard down: positive")
	return d
}

// surfaceThrough gives where a horizontal line crosses a convex outline.
func surfaceThrough(body []place, y float64) (a, b place) {
	a, b = place{math.Inf(1), y}, place{math.Inf(-1), y}
	for i, p := range body {
		q := body[(i+1)%len(body)]
		if (p[1] > y) != (q[1] > y) {
			x := p[0] + (y-p[1])*(q[0]-p[0])/(q[1]-p[1])
			a[0], b[0] = min(a[0], x), max(b[0], x)
		}
	}
	return a, b
}

func drawnStrapping() chart.Dimensioned {
	// A vessel that widens upwards: a frustum of bottom radius 90, top 200.
	const low, top, high = 90.0, 200.0, 420.0
	volume := func(h float64) float64 { // litres
		r := low + (top-low)*h/high
		return math.Pi * h / 3 * (low*low + low*r + r*r) / 1e6
	}
	d := chart.Dimensioned{
		Title: "A strapping table: heights against volumes",
		Edges: []chart.Edge{
			open(chart.Outline, place{-top, high}, place{-low, 0}, place{low, 0}, place{top, high}),
			open(chart.Detail, place{-6, 0}, place{-6, high + 70}), open(chart.Detail, place{6, 0}, place{6, high + 70}, place{-6, high + 70}),
		},
	}
	x := top + 60
	for i := range 7 {
		h := 70 * float64(i)
		r := low + (top-low)*h/high
		if i > 0 {
			d.Edges = append(d.Edges, open(chart.Hidden, place{-r, h}, place{-6, h}), open(chart.Hidden, place{6, h}, place{r, h}))
		}
		d.Edges = append(d.Edges, open(chart.Detail, place{-6, h}, place{6, h}), open(chart.Grid, place{r, h}, place{x, h}))
		d.Words = append(d.Words,
			chart.Word{At: place{x, h}, Off: place{64, 0}, Anchor: chart.End, Text: quantity.Short(h, 0)},
			chart.Word{At: place{x, h}, Off: place{146, 0}, Anchor: chart.End, Text: quantity.Digits(volume(h), 1)})
	}
	d.Words = append(d.Words,
		chart.Word{At: place{x, high}, Off: place{64, 22}, Anchor: chart.End, Role: chart.Caption, Text: "height_mm"},
		chart.Word{At: place{x, high}, Off: place{146, 22}, Anchor: chart.End, Role: chart.Caption, Text: "volume_l"})
	return d
}

// drawnMesh is a hull of flat facets, its bow to the right.
func drawnMesh() chart.Dimensioned {
	stations := []struct{ x, deck, bilge, keel float64 }{{-420, 150, 110, 40}, {-100, 190, 150, 0}, {200, 160, 110, 20}, {430, 50, 30, 110}}
	const top, turn = 260.0, 90.0
	var corners []corner
	for _, s := range stations {
		corners = append(corners, corner{s.x, -s.deck, top}, corner{s.x, -s.bilge, s.keel + turn}, corner{s.x, 0, s.keel}, corner{s.x, s.bilge, s.keel + turn}, corner{s.x, s.deck, top})
	}
	const ring = 5
	var facets [][]int
	for s := range len(stations) - 1 {
		for k := range ring {
			a, b := s*ring+k, s*ring+(k+1)%ring
			facets = append(facets, []int{a, b, b + ring}, []int{a, b + ring, a + ring})
		}
	}
	last := (len(stations) - 1) * ring
	for k := 1; k < ring-1; k++ {
		facets = append(facets, []int{0, k + 1, k}, []int{last, last + k, last + k + 1})
	}
	v := viewpoint{34, 17}
	_, _, out := v.axes()
	normal := func(f []int) corner {
		a, b, c := corners[f[0]], corners[f[1]], corners[f[2]]
		u, w := corner{b.x - a.x, b.y - a.y, b.z - a.z}, corner{c.x - a.x, c.y - a.y, c.z - a.z}
		return corner{u.y*w.z - u.z*w.y, u.z*w.x - u.x*w.z, u.x*w.y - u.y*w.x}
	}
	type edge struct{ a, b int }
	beside := map[edge][]corner{}
	var order []edge
	for _, f := range facets {
		n := normal(f)
		for i := range f {
			e := edge{min(f[i], f[(i+1)%3]), max(f[i], f[(i+1)%3])}
			if len(beside[e]) == 0 {
				order = append(order, e)
			}
			beside[e] = append(beside[e], n)
		}
	}
	d := chart.Dimensioned{Title: "A closed mesh of triangles"}
	var back, front []chart.Edge
	for _, e := range order {
		n := beside[e]
		seenSides := 0
		for _, k := range n {
			if k.dot(out) > 0 {
				seenSides++
			}
		}
		cosine := n[0].dot(n[1]) / math.Sqrt(n[0].dot(n[0])*n[1].dot(n[1]))
		role := chart.Outline
		if cosine > 0.995 {
			role = chart.Detail
		}
		switch {
		case seenSides > 0:
			front = append(front, v.line(role, corners[e.a], corners[e.b]))
		case role == chart.Outline:
			back = append(back, v.line(chart.Hidden, corners[e.a], corners[e.b]))
		}
	}
	d.Edges = append(back, front...)
	d.Notes = []chart.Note{
		{Tip: mid(v.see(corners[5]), v.see(corners[6]), v.see(corners[11])), Off: place{10, -78}, Dot: true, Label: "outside of a facet"},
	}
	return d
}

func mid(points ...place) place {
	var m place
	for _, p := range points {
		m[0] += p[0] / float64(len(points))
		m[1] += p[1] / float64(len(points))
	}
	return m
}
