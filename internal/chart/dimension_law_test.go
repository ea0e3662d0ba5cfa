package chart_test

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"gaugewright/internal/chart"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func anyDimensioned(t *rapid.T) chart.Drawing {
	f, s := anyFigure(), anyText()
	d := chart.Dimensioned{Title: s.Draw(t, "title"), Desc: s.Draw(t, "desc"), Width: f.Draw(t, "w"), Height: f.Draw(t, "h"), Accent: anyAccent().Draw(t, "accent")}
	few := func(name string, add func()) {
		for range rapid.IntRange(0, 3).Draw(t, name) {
			add()
		}
	}
	roles := rapid.SampledFrom([]chart.Role{chart.Outline, chart.Hidden, chart.Centre, chart.Wet, chart.Label, "", `"><x`})
	few("edges", func() {
		e := chart.Edge{Role: roles.Draw(t, "role"), Closed: rapid.Bool().Draw(t, "closed")}
		few("points", func() { e.Points = append(e.Points, anyPoint(t)) })
		d.Edges = append(d.Edges, e)
	})
	few("dimensions", func() {
		d.Dimensions = append(d.Dimensions, chart.Dimension{From: anyPoint(t), To: anyPoint(t), Off: anyPoint(t),
			Measure: chart.Measure(rapid.IntRange(-1, 3).Draw(t, "measure")), Label: s.Draw(t, "label")})
	})
	few("radii", func() {
		d.Radii = append(d.Radii, chart.Radius{Centre: anyPoint(t), Tip: anyPoint(t), Out: f.Draw(t, "out"), Label: s.Draw(t, "label")})
	})
	few("angles", func() {
		d.Angles = append(d.Angles, chart.Angle{Vertex: anyPoint(t), From: f.Draw(t, "from"), To: f.Draw(t, "to"), Radius: f.Draw(t, "radius"), Label: s.Draw(t, "label")})
	})
	few("notes", func() {
		d.Notes = append(d.Notes, chart.Note{Tip: anyPoint(t), Off: anyPoint(t), Dot: rapid.Bool().Draw(t, "dot"), Label: s.Draw(t, "label")})
	})
	few("words", func() {
		d.Words = append(d.Words, chart.Word{At: anyPoint(t), Off: anyPoint(t), Anchor: chart.Anchor(rapid.IntRange(-1, 3).Draw(t, "anchor")), Role: roles.Draw(t, "role"), Text: s.Draw(t, "text")})
	})
	few("axes", func() {
		d.Axes = append(d.Axes, chart.Axes{At: anyPoint(t), Off: anyPoint(t), Right: s.Draw(t, "right"), Up: s.Draw(t, "up"), Left: s.Draw(t, "left"), Down: s.Draw(t, "down"), Out: s.Draw(t, "out"), In: s.Draw(t, "in")})
	})
	few("surfaces", func() { d.Surfaces = append(d.Surfaces, anyPoint(t)) })
	return chart.DrawDimensioned(d)
}

// Whatever is handed over, the drawing is well-formed and lies within itself.
func TestAnyDimensioned(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) { soundDrawing(t, anyDimensioned(t)) })
}

// A dimension line is as long on the drawing as what it measures, to the scale
// of the shape: of a rectangle of random sides, the stretch between the tips of
// its arrows against the rectangle as drawn.
func TestDimensionLinesAreToScale(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w, h := rapid.Float64Range(50, 3000).Draw(t, "w"), rapid.Float64Range(50, 3000).Draw(t, "h")
		d := chart.DrawDimensioned(chart.Dimensioned{Width: rapid.SampledFrom([]float64{0, 320, 640}).Draw(t, "width"),
			Edges:      []chart.Edge{seen(boxAt(0, 0, w, h)...)},
			Dimensions: []chart.Dimension{across(0, w, 0, -30, "length_mm"), upward(0, h, w, 30, "height_mm")}})
		var tips []chart.Point
		var wide, high float64
		for _, s := range d.Shapes {
			p, ok := s.(chart.Path)
			switch {
			case ok && p.Role == chart.Full:
				tips = append(tips, p.Steps[0].To)
			case ok && p.Role == chart.Outline:
				wide, high = pathWidth(p), pathHeight(p)
			}
		}
		if len(tips) != 4 {
			t.Fatalf("%d arrowheads, want 4", len(tips))
		}
		if got := math.Abs(tips[1].X - tips[0].X); math.Abs(got-wide) > 1e-6 || tips[1].Y != tips[0].Y {
			t.Fatalf("the horizontal one is %g long, want %g", got, wide)
		}
		if got := math.Abs(tips[3].Y - tips[2].Y); math.Abs(got-high) > 1e-6 || tips[3].X != tips[2].X {
			t.Fatalf("the vertical one is %g long, want %g", got, high)
		}
		if math.Abs(wide/high-w/h) > 1e-6*w/h {
			t.Fatalf("%g by %g is drawn %g by %g", w, h, wide, high)
		}
		if a, b := overlapping(d); a != "" {
			t.Fatalf("%q and %q overlap", a, b)
		}
	})
}

func TestDimensionedSameBytesAndCallersSlices(t *testing.T) {
	for name, drawn := range handbook {
		d, want := drawn(), drawn()
		var first, second bytes.Buffer
		for _, b := range []*bytes.Buffer{&first, &second} {
			if err := chart.DrawDimensioned(d).Inline(b, "a"); err != nil {
				t.Fatal(err)
			}
		}
		if !bytes.Equal(first.Bytes(), second.Bytes()) {
			t.Errorf("%s: the same figures gave different bytes", name)
		}
		if diff := cmp.Diff(want, d); diff != "" {
			t.Errorf("%s: the caller's drawing was changed (-before +after):\n%s", name, diff)
		}
	}
}

func TestDimensionedSaysWhatItShows(t *testing.T) {
	d := chart.DrawDimensioned(drawnHorizontal())
	if !strings.Contains(d.Desc, "length_mm, overall_length_mm, diameter_mm") {
		t.Errorf("described as %q", d.Desc)
	}
	if got := chart.DrawDimensioned(chart.Dimensioned{}); len(got.Shapes) != 1 || !strings.Contains(got.Shapes[0].(chart.Text).String, "Nothing to draw") {
		t.Errorf("an empty drawing holds %v", got.Shapes)
	}
}
