package record

import (
	"fmt"
	"math"

	"gaugewright/internal/chart"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	tanks "gaugewright/internal/tank"
)

// SectionLevel is what is drawn into a section: the height of the surface at
// the sensor with its volume, and where the permitted fill stands, as a volume
// of the upright tank; 0: not drawn.
type SectionLevel struct {
	Height    quantity.Metre
	Volume    quantity.CubicMetre
	Permitted quantity.CubicMetre
}

// TankSection draws a tank in section along and across, through its sensor, as
// it stands at a tilt. A tank without a known shape gives a drawing that says
// so.
func TankSection(levels *tanks.Levels, shown SectionLevel, title string, accent chart.Accent) chart.Drawing {
	return chart.DrawSection(sectionOf(levels, shown, title, accent, 640))
}

func sectionOf(levels *tanks.Levels, shown SectionLevel, title string, accent chart.Accent, width float64) chart.Section {
	drawing := chart.Section{Title: title, Accent: accent, Width: width}
	if drawing.Title == "" {
		drawing.Title = "The tank in section"
	}
	label := fmt.Sprintf("%s mm · %s", quantity.Short(float64(shown.Height)*1000, 0), volumeText(shown.Volume))
	for _, v := range []struct {
		looking tanks.Looking
		name    string
		lean    func(degrees float64) string
	}{
		{tanks.FromStarboard, "from starboard, forward to the right", func(d float64) string { return side(d, "nose up", "nose down") }},
		{tanks.FromAstern, "from astern, port to the left", func(d float64) string { return side(d, "port down", "starboard down") }},
	} {
		// A five-hundredth of the height is finer than a line.
		s := levels.Section(v.looking, float64(levels.Tank().Height())/500)
		mm := func(p [2]float64) [2]float64 { return [2]float64{p[0] * 1000, p[1] * 1000} }
		view := chart.View{Name: v.name, ScaleTitle: "litres"}
		for _, loop := range s.Loops {
			points := make([][2]float64, len(loop))
			for i, p := range loop {
				points[i] = mm(p)
			}
			view.Loops = append(view.Loops, points)
		}
		level := s.Level(shown.Height) * 1000
		view.Level, view.LevelLabel = &level, label
		view.Sensor = &[2][2]float64{mm(s.Foot), mm(s.Head)}
		if degrees := s.Lean * 180 / math.Pi; math.Abs(degrees) > 0.05 {
			view.Lean = &chart.Lean{Degrees: degrees, Label: v.lean(degrees)}
		} else if v.looking == tanks.FromStarboard {
			view.Scale = litreScale(levels, s)
		}
		if shown.Permitted > 0 && levels.Tilt().Level() {
			if h, err := levels.HeightOf(shown.Permitted); err == nil {
				view.Limit = &chart.Limited{Mark: s.Level(h) * 1000, Label: "permitted fill"}
			}
		}
		drawing.Views = append(drawing.Views, view)
	}
	return drawing
}

func side(degrees float64, plus, minus string) string {
	word := plus
	if degrees < 0 {
		word = minus
	}
	return quantity.Short(math.Abs(degrees), 1) + "° " + word
}

// litreScale gives round volumes with the heights at which they stand.
func litreScale(levels *tanks.Levels, s tanks.Section) []chart.ScaleTick {
	capacity := float64(levels.Tank().Capacity()) * 1000
	step := math.Pow(10, math.Floor(math.Log10(capacity/4)))
	for _, n := range []float64{5, 2} {
		if capacity/(n*step) >= 4 {
			step *= n
			break
		}
	}
	var ticks []chart.ScaleTick
	for i := 0; float64(i)*step <= capacity*(1+1e-9); i++ {
		v := float64(i) * step
		h, err := levels.HeightOf(quantity.CubicMetre(min(v, capacity) / 1000))
		if err == nil {
			ticks = append(ticks, chart.ScaleTick{At: s.Level(h) * 1000, Label: quantity.Short(v, 3)})
		}
	}
	return ticks
}

// volumeText prints a volume to a tenth of a litre.
func volumeText(v quantity.CubicMetre) string { return quantity.Digits(float64(v)*1000, 1) + " L" }

// SectionOf draws a tank of a job in section as its [View.Shape] does, without a
// word on what a tilt does; nothing but the shape is worked out for it. The id is
// as for [ViewOf]. It is false where the tank has no shape that is known.
func SectionOf(t job.Tank, id string) (Figure, bool) {
	_, accent := contents(t.Contents)
	return tank{Tank: t, id: id, accent: accent}.sectionFigure()
}

// shapeFigure is the tank in section, and what a tilt does to the figure shown is
// told under it; false where it has no shape that is known.
func (b tank) shapeFigure() (Figure, bool) {
	f, ok := b.sectionFigure()
	if !ok {
		return f, false
	}
	if leanings, err := b.Leanings(); err == nil {
		f.Caption += " " + tanks.Summary(leanings, 0)
	}
	return f, true
}

// sectionFigure is the tank in section with its permitted fill, or half of it, in
// it; false where it has no shape that is known.
func (b tank) sectionFigure() (Figure, bool) {
	built, _, _, err := b.Built()
	if err != nil || len(built.Facets(float64(built.Height())/50).Triangles) == 0 {
		return Figure{}, false
	}
	words := "half of what it holds"
	shown := SectionLevel{Volume: built.Capacity() / 2}
	if p := b.PermittedPct(); p > 0 && !b.fillRefused() {
		words = "its permitted fill"
		// Of the lesser capacity, stated or by the shape.
		least := float64(built.Capacity())
		if b.WaterCapacityL > 0 {
			least = min(least, b.WaterCapacityL/1000)
		}
		shown.Permitted = quantity.CubicMetre(least * p / 100)
		shown.Volume = shown.Permitted
	}
	levels := built.Upright()
	if shown.Height, err = levels.HeightOf(shown.Volume); err != nil {
		return Figure{}, false
	}
	f := Figure{ID: b.id + "-section", Heading: "The tank in section",
		Caption: fmt.Sprintf("The inside of the tank, standing level, with %s in it; cut through where its level is read.", words)}
	title := clean(b.Name) + ": the tank in section"
	f.Wide = chart.DrawSection(sectionOf(levels, shown, title, b.accent, wide))
	small := chart.DrawSection(sectionOf(levels, shown, title, b.accent, narrow))
	f.Narrow = &small
	return f, true
}
