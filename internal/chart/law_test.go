package chart_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"gaugewright/internal/chart"

	"pgregory.net/rapid"
)

// anyFigure draws what a program might hand over by mistake, as well as what
// it should.
func anyFigure() *rapid.Generator[float64] {
	return rapid.OneOf(
		rapid.Float64Range(-10, 300),
		rapid.SampledFrom([]float64{0, 0, 1, 100, -1, 1e-300, 5e-324, 1e9, -1e9, 1e308, -1e308,
			math.NaN(), math.Inf(1), math.Inf(-1)}),
		rapid.Float64(),
	)
}

func anyText() *rapid.Generator[string] {
	return rapid.OneOf(
		rapid.SampledFrom([]string{"", "0 to 90 Ω", "permitted fill 80 %", "<script>&\"'", "a\x00b\x1fc", strings.Repeat("mark ", 80), strings.Repeat("W", 300), "\xff\xfe", "液位"}),
		rapid.String(),
	)
}

func anyAccent() *rapid.Generator[chart.Accent] {
	return rapid.SampledFrom([]chart.Accent{chart.Plain, chart.Water, chart.Fuel, chart.Gas, chart.Waste, "", `"><x`})
}

func anyCurve(t *rapid.T) chart.Drawing {
	f, s := anyFigure(), anyText()
	list := rapid.SliceOfN(f, 0, 12)
	c := chart.Curve{Title: s.Draw(t, "title"), Desc: s.Draw(t, "desc"), Width: f.Draw(t, "w"), Height: f.Draw(t, "h"), Accent: anyAccent().Draw(t, "accent"),
		MarkTitle: s.Draw(t, "mark title"), OhmTitle: s.Draw(t, "ohm title"),
		Marks: list.Draw(t, "marks"), Ohms: list.Draw(t, "ohms"), DoubtOhms: list.Draw(t, "doubt"), DoubtLabel: s.Draw(t, "doubt label"),
		LowMark: f.Draw(t, "low"), HighMark: f.Draw(t, "high")}
	for range rapid.IntRange(0, 6).Draw(t, "readings") {
		c.Readings = append(c.Readings, chart.Reading{Mark: f.Draw(t, "mark"), Ohm: f.Draw(t, "ohm"),
			Sweep: rapid.SampledFrom([]chart.Sweep{chart.Neither, chart.Up, chart.Down}).Draw(t, "sweep"), SetAside: rapid.Bool().Draw(t, "aside")})
	}
	for range rapid.IntRange(0, 30).Draw(t, "claims") {
		c.Claims = append(c.Claims, chart.Claim{EmptyMark: f.Draw(t, "em"), EmptyOhm: f.Draw(t, "eo"), FullMark: f.Draw(t, "fm"), FullOhm: f.Draw(t, "fo"), Label: s.Draw(t, "label")})
	}
	for range rapid.IntRange(0, 3).Draw(t, "keyed") {
		c.Keyed = append(c.Keyed, chart.KeyedOhm{Ohm: f.Draw(t, "k"), Label: s.Draw(t, "label")})
	}
	if rapid.Bool().Draw(t, "limited") {
		c.Limit = &chart.Limited{Mark: f.Draw(t, "limit"), Label: s.Draw(t, "label")}
	}
	return chart.DrawCurve(c)
}

func anyColumn(t *rapid.T) chart.Drawing {
	f, s := anyFigure(), anyText()
	list := rapid.SliceOfN(f, 0, 8)
	c := chart.Column{Title: s.Draw(t, "title"), Desc: s.Draw(t, "desc"), Width: f.Draw(t, "w"), Height: f.Draw(t, "h"), Accent: anyAccent().Draw(t, "accent"),
		MarkTitle: s.Draw(t, "mark title"), ValueTitle: s.Draw(t, "value title"),
		LowMark: f.Draw(t, "low"), HighMark: f.Draw(t, "high"), Marks: list.Draw(t, "marks"), Values: list.Draw(t, "values")}
	if rapid.Bool().Draw(t, "level") {
		c.Level = &chart.LevelMark{Mark: f.Draw(t, "mark"), DoubtMark: f.Draw(t, "doubt"), Label: s.Draw(t, "label")}
	}
	if rapid.Bool().Draw(t, "unknown") {
		c.Unknown = s.Draw(t, "words")
	}
	if rapid.Bool().Draw(t, "limited") {
		c.Limit = &chart.Limited{Mark: f.Draw(t, "limit"), Label: s.Draw(t, "label")}
	}
	return chart.DrawColumn(c)
}

func anyRulers(t *rapid.T) chart.Drawing {
	f, s := anyFigure(), anyText()
	r := chart.Rulers{Title: s.Draw(t, "title"), Desc: s.Draw(t, "desc"), Width: f.Draw(t, "w"), Accent: anyAccent().Draw(t, "accent"),
		MarkTitle: s.Draw(t, "mark title"), AboveTitle: s.Draw(t, "above"), BelowTitle: s.Draw(t, "below"),
		Low: f.Draw(t, "low"), High: f.Draw(t, "high"), Decimals: rapid.IntRange(-3, 9).Draw(t, "decimals")}
	for range rapid.IntRange(0, 12).Draw(t, "marks") {
		m := chart.RulerMark{Name: s.Draw(t, "name"), Should: f.Draw(t, "should"), Shown: f.Draw(t, "shown"), Worst: rapid.Bool().Draw(t, "worst")}
		if rapid.Bool().Draw(t, "ghostly") {
			ghost := f.Draw(t, "ghost")
			m.Ghost = &ghost
		}
		r.Marks = append(r.Marks, m)
	}
	return chart.DrawRulers(r)
}

// Whatever is handed over, the drawing is well-formed XML without a number
// that isn't one, and every stroke and every line of lettering lies within it.
func TestAnyInput(t *testing.T) {
	for name, draw := range map[string]func(*rapid.T) chart.Drawing{"curve": anyCurve, "column": anyColumn, "rulers": anyRulers, "history": anyHistory} {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				d := draw(t)
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
			})
		})
	}
}

var inPath = regexp.MustCompile(`-?[0-9.]+`)

// sound fails where an SVG isn't well-formed or leaves its viewBox.
func sound(t *rapid.T, svg []byte, width, height float64) {
	decoder := xml.NewDecoder(bytes.NewReader(svg))
	within := func(what, text string, limit float64) {
		v, err := strconv.ParseFloat(text, 64)
		if err != nil || !(v >= 0 && v <= limit+0.005) {
			t.Fatalf("%s %q; expected 0 to %g", what, text, limit)
		}
	}
	for {
		token, err := decoder.Token()
		if errors.Is(err, io.EOF) {
			return
		}
		if err != nil {
			t.Fatalf("not well-formed: %v\n%s", err, svg)
		}
		element, ok := token.(xml.StartElement)
		if !ok {
			continue
		}
		for _, a := range element.Attr {
			switch a.Name.Local {
			case "x":
				within("x", a.Value, width)
			case "y":
				within("y", a.Value, height)
			case "d":
				if strings.ContainsAny(a.Value, "NIae") || strings.HasPrefix(a.Value, "L") {
					t.Fatalf("path %q", a.Value)
				}
				if strings.HasPrefix(a.Value, "M0 0H") { // the ground
					continue
				}
				for i, n := range inPath.FindAllString(a.Value, -1) {
					within("path "+a.Value, n, []float64{width, height}[i%2])
				}
			case "viewBox", "width", "height":
				if strings.ContainsAny(a.Value, "NIae-") {
					t.Fatalf("%s %q", a.Name.Local, a.Value)
				}
			}
		}
	}
}

// lettered fails where a line of lettering leaves the drawing, by the widest
// face it may be set in.
func lettered(t *rapid.T, l chart.Text, d chart.Drawing) {
	size := chart.LetteringSize(l.Role)
	if size == 0 {
		t.Fatalf("%q has the role %q, which has no lettering", l.String, l.Role)
	}
	w := chart.TextWidth(l.String, size)
	left := l.At.X - w*[...]float64{0, 0.5, 1}[l.Anchor]
	if left < -0.5 || left+w > d.Width+0.5 {
		t.Fatalf("%q (%s) reaches from %.1f to %.1f of %.1f", l.String, l.Role, left, left+w, d.Width)
	}
	if l.At.Y-0.75*size < -0.5 || l.At.Y+0.25*size > d.Height+0.5 {
		t.Fatalf("%q (%s) stands at %.1f of %.1f", l.String, l.Role, l.At.Y, d.Height)
	}
}
