package chart_test

import (
	"bytes"
	"io"
	"math"
	"regexp"
	"slices"
	"strings"
	"testing"

	"gaugewright/internal/chart"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func anyPoint(t *rapid.T) [2]float64 {
	return [2]float64{anyFigure().Draw(t, "x"), anyFigure().Draw(t, "y")}
}

func anySection(t *rapid.T) chart.Drawing {
	f, s := anyFigure(), anyText()
	d := chart.Section{Title: s.Draw(t, "title"), Desc: s.Draw(t, "desc"), Width: f.Draw(t, "w"), Height: f.Draw(t, "h"), Accent: anyAccent().Draw(t, "accent")}
	maybe := func(name string) *float64 {
		if rapid.Bool().Draw(t, name+"?") {
			return ref(f.Draw(t, name))
		}
		return nil
	}
	for range rapid.IntRange(0, 4).Draw(t, "views") {
		v := chart.View{Name: s.Draw(t, "name"), Level: maybe("level"), LevelLabel: s.Draw(t, "label"), DoubtLow: maybe("low"), DoubtHigh: maybe("high"), ScaleTitle: s.Draw(t, "scale title")}
		for range rapid.IntRange(0, 3).Draw(t, "loops") {
			var loop [][2]float64
			for range rapid.IntRange(0, 7).Draw(t, "points") {
				loop = append(loop, anyPoint(t))
			}
			v.Loops = append(v.Loops, loop)
		}
		if rapid.Bool().Draw(t, "limited") {
			v.Limit = &chart.Limited{Mark: f.Draw(t, "limit"), Label: s.Draw(t, "label")}
		}
		if rapid.Bool().Draw(t, "sensed") {
			v.Sensor = &[2][2]float64{anyPoint(t), anyPoint(t)}
		}
		if rapid.Bool().Draw(t, "leaning") {
			v.Lean = &chart.Lean{Degrees: f.Draw(t, "degrees"), Label: s.Draw(t, "label")}
		}
		for range rapid.IntRange(0, 9).Draw(t, "ticks") {
			v.Scale = append(v.Scale, chart.ScaleTick{At: f.Draw(t, "at"), Label: s.Draw(t, "label")})
		}
		d.Views = append(d.Views, v)
	}
	return chart.DrawSection(d)
}

// Whatever is handed over, the section is well-formed and lies within itself.
func TestAnySection(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) { soundDrawing(t, anySection(t)) })
}

func soundDrawing(t *rapid.T, d chart.Drawing) {
	for _, write := range []func(io.Writer, string) error{d.SVG, d.Inline} {
		var b bytes.Buffer
		if err := write(&b, "x"); err != nil {
			t.Fatal(err)
		}
		sound(t, b.Bytes(), d.Width, d.Height)
	}
	for _, s := range d.Shapes {
		if l, ok := s.(chart.Text); ok {
			lettered(t, l, d)
		}
	}
}

// anyStar draws an outline without crossings, seldom convex: points at random
// distances round a centre.
func anyStar(t *rapid.T, x, y, near, far float64, name string) [][2]float64 {
	n := rapid.IntRange(5, 24).Draw(t, name)
	loop := make([][2]float64, n)
	for i := range loop {
		sin, cos := math.Sincos(2 * math.Pi * (float64(i) + rapid.Float64Range(0, 0.4).Draw(t, "turn")) / float64(n))
		r := rapid.Float64Range(near, far).Draw(t, "radius")
		loop[i] = [2]float64{x + r*cos, y + r*sin}
	}
	return loop
}

// anyTank draws a section as a fitter may have it: a random outline, perhaps
// with a hole and a second part, an upright sensor, a level, a scale, a lean.
func anyTank(t *rapid.T) chart.View {
	size := rapid.Float64Range(100, 2000).Draw(t, "size")
	tall := rapid.Float64Range(0.2, 3).Draw(t, "tall")
	loops := [][][2]float64{anyStar(t, 0, 0, 0.5*size, size, "outline")}
	if rapid.Bool().Draw(t, "hole") {
		hole := anyStar(t, 0, 0, 0.05*size, 0.2*size, "hole points")
		slices.Reverse(hole)
		loops = append(loops, hole)
	}
	if rapid.Bool().Draw(t, "second") {
		loops = append(loops, anyStar(t, 2.5*size, 0, 0.3*size, size, "second points"))
	}
	for _, l := range loops {
		for i := range l {
			l[i][1] *= tall
		}
	}
	within := func(name string) float64 { return size * tall * rapid.Float64Range(-1.2, 1.2).Draw(t, name) }
	level := within("level")
	v := chart.View{Name: rapid.SampledFrom([]string{"", "seen from starboard, forward to the right"}).Draw(t, "name"),
		Loops: loops, Level: &level, LevelLabel: rapid.SampledFrom([]string{"120 mm · 11.1 L", "", "1250 mm · 1130.5 L ± 12 L"}).Draw(t, "label")}
	if rapid.Bool().Draw(t, "doubted") {
		u := size * rapid.Float64Range(0, 0.2).Draw(t, "doubt")
		v.DoubtLow, v.DoubtHigh = ref(level-u), ref(level+u)
	}
	if rapid.Bool().Draw(t, "limited") {
		v.Limit = &chart.Limited{Mark: within("limit"), Label: "permitted fill 80 %, 45.2 L"}
	}
	if rapid.Bool().Draw(t, "sensed") {
		v.Sensor = &[2][2]float64{{within("foot x"), -size * tall}, {within("head x"), size * tall}}
	}
	if rapid.Bool().Draw(t, "leaning") {
		v.Lean = &chart.Lean{Degrees: rapid.Float64Range(-60, 60).Draw(t, "degrees"), Label: "3.5° nose down, 2° port down"}
	}
	if rapid.Bool().Draw(t, "scaled") {
		v.ScaleTitle = rapid.SampledFrom([]string{"", "litres", "litres at the sensor"}).Draw(t, "scale title")
		for range rapid.IntRange(2, 40).Draw(t, "ticks") {
			v.Scale = append(v.Scale, chart.ScaleTick{At: within("at"), Label: rapid.SampledFrom([]string{"", "5", "1130.5"}).Draw(t, "figure")})
		}
	}
	return v
}

// No two lines of lettering of a random tank overlap, from a phone's width up.
func TestSectionLabelsKeepApart(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := chart.Section{Width: rapid.SampledFrom([]float64{0, 320, 280, 480, 900}).Draw(t, "width"), Height: rapid.SampledFrom([]float64{0, 0, 200, 500}).Draw(t, "height")}
		for range rapid.IntRange(1, 3).Draw(t, "views") {
			s.Views = append(s.Views, anyTank(t))
		}
		d := chart.DrawSection(s)
		if a, b := overlapping(d); a != "" {
			t.Fatalf("%q and %q overlap", a, b)
		}
		soundDrawing(t, d)
	})
}

// The tinted area, by Green's theorem over the path as drawn, is the area of
// the outlines under the level, counted in strips of the outlines as given.
func TestWetAreaIsWhatLiesUnderTheLevel(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := anyTank(t)
		d := chart.DrawSection(chart.Section{Width: 900, Views: []chart.View{v}})
		green, scale, around := 0.0, 0.0, 0.0
		for _, s := range d.Shapes {
			p, ok := s.(chart.Path)
			switch {
			case ok && p.Role == chart.Wet:
				green = pathArea(p)
			case ok && p.Role == chart.Outline:
				scale, around = pathHeight(p)/loopsHeight(v.Loops), pathLength(p)
			}
		}
		strips := stripArea(v.Loops, *v.Level) * scale * scale
		// Points are left out where they lie a twentieth of a pixel off.
		if off := math.Abs(green - strips); off > 0.05*around+2e-3*strips {
			t.Fatalf("tinted %g px², want %g (scale %g)", green, strips, scale)
		}
	})
}

// Several drawings on one page have ids of their own, and each is named by its
// title and described by its desc.
func TestSectionIDsOnOnePage(t *testing.T) {
	var b bytes.Buffer
	for i, s := range []chart.Section{sampleSection(0), sampleSection(320), sampleArch(0)} {
		if err := chart.DrawSection(s).Inline(&b, "tank-"+string(rune('a'+i))); err != nil {
			t.Fatal(err)
		}
	}
	seen := map[string]bool{}
	for _, m := range regexp.MustCompile(` id="([^"]*)"`).FindAllStringSubmatch(b.String(), -1) {
		if seen[m[1]] {
			t.Errorf("the id %s is there twice", m[1])
		}
		seen[m[1]] = true
	}
	if len(seen) != 6 {
		t.Errorf("%d ids, want a title's and a desc's for each of 3", len(seen))
	}
	if got := chart.DrawSection(sampleSection(0)).Desc; !strings.Contains(got, "120 mm · 22.4 L") || !strings.Contains(got, "3° nose down") {
		t.Errorf("described as %q", got)
	}
}

func TestSectionCallersSlicesStay(t *testing.T) {
	s, want := sampleSection(0), sampleSection(0)
	s.Views[0].Loops = append(s.Views[0].Loops, [][2]float64{{1, math.NaN()}, {0, 0}, {1, 1}, {2, 0}, {2, -2}}[:4])
	want.Views[0].Loops = append(want.Views[0].Loops, [][2]float64{{1, math.NaN()}, {0, 0}, {1, 1}, {2, 0}, {2, -2}}[:4])
	chart.DrawSection(s)
	if diff := cmp.Diff(want, s, cmp.Comparer(func(a, b float64) bool { return a == b || a != a && b != b })); diff != "" {
		t.Errorf("the caller's section was changed (-before +after):\n%s", diff)
	}
}
