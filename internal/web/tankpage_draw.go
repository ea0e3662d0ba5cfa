package web

import (
	"html/template"
	"math"
	"strings"
	"sync"

	"gaugewright/internal/chart"
	"gaugewright/internal/tank"
	"gaugewright/internal/tankfile"
)

// drawnShapes are the drawings that shapes are chosen by, and those that say
// which size is which.
type drawnShapes struct{ thumbs, sizes, heads map[string]template.HTML }

// typicalTanks are tank files of a usual size of each shape, for drawings.
var typicalTanks = map[string]string{
	"lying":   `{"version":1,"shape":"horizontal-cylinder","diameter_mm":300,"length_mm":560,"heads":"ellipsoidal-2-1"}`,
	"upright": `{"version":1,"shape":"upright-cylinder","diameter_mm":300,"length_mm":320,"heads":"ellipsoidal-2-1"}`,
	"box":     `{"version":1,"shape":"box","length_mm":620,"width_mm":360,"height_mm":260}`,
	"sphere":  `{"version":1,"shape":"sphere","diameter_mm":360}`,
	"cone":    `{"version":1,"shape":"frustum","height_mm":320,"bottom_diameter_mm":220,"top_diameter_mm":380}`,
	"taper":   `{"version":1,"shape":"frustum","height_mm":280,"bottom_length_mm":380,"bottom_width_mm":220,"top_length_mm":560,"top_width_mm":340}`,
	"ring":    `{"version":1,"shape":"ring","diameter_mm":620,"tube_diameter_mm":200}`,
	"outline": `{"version":1,"shape":"extrusion","length_mm":520,"outline_mm":[[-200,0],[100,0],{"at":[100,110],"corner_mm":30},[200,110],{"at":[200,320],"corner_mm":40},{"at":[-200,320],"corner_mm":40}]}`,
}

// dim is a dimension of a view by the sides of its box: which view, whether it
// goes up, whether it stands at the far side, from and to as parts of the box,
// and what it is called.
type dim struct {
	view     int
	up, far  bool
	from, to float64
	label    string
}

var typicalDims = map[string][]dim{
	"lying":   {{0, false, false, 0, 1, "over both heads"}, {0, false, true, 75. / 710, 635. / 710, "straight part"}, {1, true, true, 0, 1, "diameter"}},
	"upright": {{0, true, false, 0, 1, "over both heads"}, {1, true, true, 75. / 470, 395. / 470, "straight part"}, {0, false, false, 0, 1, "diameter"}},
	"box":     {{0, false, false, 0, 1, "length"}, {1, false, false, 0, 1, "width"}, {1, true, true, 0, 1, "height"}},
	"sphere":  {{0, false, false, 0, 1, "diameter"}},
	"cone":    {{0, false, false, 80. / 380, 300. / 380, "at the bottom"}, {0, false, true, 0, 1, "at the top"}, {1, true, true, 0, 1, "height"}},
	"taper":   {{0, false, false, 90. / 560, 470. / 560, "length, bottom"}, {0, false, true, 0, 1, "length, top"}, {1, false, false, 60. / 340, 280. / 340, "width, bottom"}, {1, false, true, 0, 1, "width, top"}, {1, true, true, 0, 1, "height"}},
	"ring":    {{0, false, false, 0, 1, "diameter over all"}, {0, true, true, 0, 1, "tube"}},
	"outline": {{0, false, false, 0, 1, "length"}, {1, false, false, 0, 1, "across"}, {1, true, true, 0, 1, "up"}},
}

// oneView are the shapes that look alike along and across, or nearly.
var oneView = map[string]bool{"sphere": true, "ring": true}

// shapeDrawings makes the drawings once.
var shapeDrawings = sync.OnceValue(func() drawnShapes {
	d := drawnShapes{map[string]template.HTML{}, map[string]template.HTML{}, map[string]template.HTML{}}
	put := func(to map[string]template.HTML, key, id string, c chart.Dimensioned) {
		made, err := drawing(chart.DrawDimensioned(c), id)
		if err != nil {
			panic(err) // the figures above are wrong
		}
		to[key] = made
	}
	for _, k := range shapeKinds {
		if text, ok := typicalTanks[k.key]; ok {
			views := viewsOf(text)
			if oneView[k.key] {
				views = views[:1]
			}
			put(d.thumbs, k.key, "thumb-"+k.key, sketch(k.name, append(views[:1:1], besides(k.key, views)...), nil, 132, 78))
			put(d.sizes, k.key, "sizes-"+k.key, sketch("Which size is which of a "+k.name, views, typicalDims[k.key], 420, 230))
		}
	}
	put(d.thumbs, "table", "thumb-table", ladder())
	for _, h := range headKinds {
		radii := ""
		if h.Value == "torispherical" {
			radii = `,"crown_mm":330,"knuckle_mm":30`
		}
		views := viewsOf(`{"version":1,"shape":"upright-cylinder","diameter_mm":300,"length_mm":120,"heads":"` + h.Value + `"` + radii + `}`)
		put(d.heads, h.Value, "head-"+h.Value, chart.Dimensioned{Title: h.Name, Width: 110, Height: 110,
			Edges: []chart.Edge{{Role: chart.Outline, Points: upperHalf(views[0][0])}}})
	}
	return d
})

// viewsOf gives the sections of a tank along and across, in mm.
func viewsOf(text string) [][][][2]float64 {
	file, err := tankfile.Read(strings.NewReader(text), "a typical tank")
	if err != nil {
		panic(err)
	}
	made, _, err := file.Tank(nil)
	if err != nil {
		panic(err)
	}
	out := make([][][][2]float64, 2)
	for i, looking := range []tank.Looking{tank.FromStarboard, tank.FromAstern} {
		for _, loop := range made.Upright().Section(looking, 0.001).Loops {
			points := make([][2]float64, len(loop))
			for k, p := range loop {
				points[k] = [2]float64{p[0] * 1000, p[1] * 1000}
			}
			out[i] = append(out[i], points)
		}
	}
	return out
}

// box is what lies around outlines: left, bottom, right, top.
func box(loops [][][2]float64) [4]float64 {
	b := [4]float64{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	for _, loop := range loops {
		for _, p := range loop {
			b[0], b[1] = min(b[0], p[0]), min(b[1], p[1])
			b[2], b[3] = max(b[2], p[0]), max(b[3], p[1])
		}
	}
	return b
}

// sketch draws views beside each other, with their dimensions.
func sketch(title string, views [][][][2]float64, dims []dim, width, height float64) chart.Dimensioned {
	d := chart.Dimensioned{Title: title, Width: width, Height: height}
	var boxes [][4]float64
	right := 0.0
	for _, loops := range views {
		b := box(loops)
		shift, lift := right-b[0], -(b[1]+b[3])/2
		if len(dims) == 0 {
			right += b[2] - b[0] + 60
		} else {
			right += b[2] - b[0] + 160
		}
		for _, loop := range loops {
			moved := make([][2]float64, len(loop))
			for k, p := range loop {
				moved[k] = [2]float64{p[0] + shift, p[1] + lift}
			}
			d.Edges = append(d.Edges, chart.Edge{Role: chart.Outline, Points: moved, Closed: true})
		}
		boxes = append(boxes, [4]float64{b[0] + shift, b[1] + lift, b[2] + shift, b[3] + lift})
	}
	for _, m := range dims {
		b := boxes[m.view]
		along := func(part float64) float64 { return b[0] + part*(b[2]-b[0]) }
		up := func(part float64) float64 { return b[1] + part*(b[3]-b[1]) }
		c := chart.Dimension{Label: m.label, Measure: chart.Horizontal, From: [2]float64{along(m.from), b[1]}, To: [2]float64{along(m.to), b[1]}, Off: [2]float64{0, -26}}
		switch {
		case m.up:
			x, off := b[0], -26.0
			if m.far {
				x, off = b[2], 26
			}
			c.Measure, c.From, c.To, c.Off = chart.Vertical, [2]float64{x, up(m.from)}, [2]float64{x, up(m.to)}, [2]float64{off, 0}
		case m.far:
			c.From[1], c.To[1], c.Off = b[3], b[3], [2]float64{0, 26}
		}
		d.Dimensions = append(d.Dimensions, c)
	}
	return d
}

// besides is what stands beside the section along a tank: that across it or, of
// a round one, how it looks from above.
func besides(key string, views [][][][2]float64) [][][][2]float64 {
	switch key {
	case "upright":
		return [][][][2]float64{{circle(150)}}
	case "cone":
		return [][][][2]float64{{circle(190), circle(110)}}
	case "ring":
		return [][][][2]float64{{circle(310), circle(110)}}
	}
	return views[1:]
}

// circle gives a circle from 0 up.
func circle(radius float64) [][2]float64 {
	out := make([][2]float64, 60)
	for i := range out {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / 60)
		out[i] = [2]float64{radius * cos, radius * sin}
	}
	return out
}

// upperHalf gives the part of an outline that lies above its middle.
func upperHalf(loop [][2]float64) [][2]float64 {
	b := box([][][2]float64{loop})
	middle := (b[1] + b[3]) / 2
	above := func(i int) bool { return loop[i%len(loop)][1] > middle }
	for i := range loop {
		if above(i) || !above(i+1) {
			continue
		}
		var out [][2]float64
		for k := i + 1; k <= i+len(loop) && above(k); k++ {
			out = append(out, loop[k%len(loop)])
		}
		first, last := out[0], out[len(out)-1]
		return append(append([][2]float64{{first[0], middle}}, out...), [2]float64{last[0], middle})
	}
	return loop
}

// ladder is the drawing of a strapping table: an upright scale with its rungs.
func ladder() chart.Dimensioned {
	d := chart.Dimensioned{Title: "strapping table", Width: 132, Height: 78}
	line := func(role chart.Role, points ...[2]float64) {
		d.Edges = append(d.Edges, chart.Edge{Role: role, Points: points})
	}
	line(chart.Outline, [2]float64{0, 0}, [2]float64{0, 300})
	for i := range 7 {
		y := float64(i) * 50
		line(chart.Detail, [2]float64{0, y}, [2]float64{40 + 260*math.Pow(float64(i)/6, 1.4), y})
	}
	return d
}
