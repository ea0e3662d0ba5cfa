package record

import (
	"fmt"
	"math"

	"gaugewright/internal/chart"
)

// readable notes where a drawing has lettering that can't be printed.
func (p *pdf) readable(d chart.Drawing) {
	for _, s := range d.Shapes {
		if t, ok := s.(chart.Text); ok {
			_ = p.run(t.String, style{})
		}
	}
}

// drawing draws at a place, so many points to the pixel.
func (p *pdf) drawing(d chart.Drawing, x, y, scale float64) {
	at := func(q chart.Point) (float64, float64) { return x + scale*q.X, y + scale*q.Y }
	for _, s := range d.Shapes {
		switch s := s.(type) {
		case chart.Path:
			p.path(s, s.Role.Printed(d.Accent), scale, at)
		case chart.Text:
			look := s.Role.Printed(d.Accent)
			if look.Fill == nil {
				continue
			}
			words, _ := settable(s.String)
			st := style{scale * look.Size, look.Bold, *look.Fill}
			left, base := at(s.At)
			switch s.Anchor {
			case chart.Middle:
				left -= st.width(words) / 2
			case chart.End:
				left -= st.width(words)
			}
			p.text(left, base, words, st)
		}
	}
}

func (p *pdf) path(s chart.Path, look chart.Printed, scale float64, at func(chart.Point) (float64, float64)) {
	if len(s.Steps) == 0 {
		return
	}
	if look.Stroke != nil {
		dash := make([]float64, len(look.Dash))
		for i, d := range look.Dash {
			dash[i] = scale * d
		}
		p.pen(stroke{width: scale * look.Width, colour: *look.Stroke, round: look.Round}, dash...)
	}
	if look.Fill != nil {
		p.filled(onWhite(*look.Fill, look.Tint))
	}
	for i := 0; i < len(s.Steps); i++ {
		step := s.Steps[i]
		x, y := at(step.To)
		if s.Role == chart.Module && p.rectangle(s.Steps[i:], at) {
			i += 4
			continue
		}
		switch step.Kind {
		case chart.Move:
			p.out.MoveTo(x, y)
		case chart.Line:
			p.out.LineTo(x, y)
		case chart.Cubic:
			x1, y1 := at(step.C1)
			x2, y2 := at(step.C2)
			p.out.CurveBezierCubicTo(x1, y1, x2, y2, x, y)
		case chart.Close:
			p.out.ClosePath()
		}
	}
	how := "n" // neither
	switch {
	case look.Stroke != nil && look.Fill != nil:
		how = "B"
	case look.Stroke != nil:
		how = "S"
	case look.Fill != nil && look.Tint < 1:
		how = "f*"
	case look.Fill != nil:
		how = "f"
	}
	p.out.RawWriteStr(how)
}

// rectangle adds a rectangle to the path where the next five steps are one, with
// its sides along the page's; a code has a thousand of them, and they take a
// quarter of the room so.
func (p *pdf) rectangle(s []chart.Step, at func(chart.Point) (float64, float64)) bool {
	if len(s) < 5 || s[0].Kind != chart.Move || s[1].Kind != chart.Line || s[2].Kind != chart.Line || s[3].Kind != chart.Line || s[4].Kind != chart.Close ||
		s[0].To.Y != s[1].To.Y || s[1].To.X != s[2].To.X || s[2].To.Y != s[3].To.Y || s[3].To.X != s[0].To.X {
		return false
	}
	left, top := at(s[0].To)
	right, bottom := at(s[2].To)
	p.out.RawWriteStr(fmt.Sprintf("%.2f %.2f %.2f %.2f re", left, p.height-bottom, right-left, bottom-top))
	return true
}

// onWhite is a colour as it looks where only so much of it covers the white of
// the sheet, so that the file needs no transparency.
func onWhite(c chart.Colour, covers float64) chart.Colour {
	mix := func(v uint8) uint8 { return uint8(math.Round(255 - covers*(255-float64(v)))) }
	return chart.Colour{R: mix(c.R), G: mix(c.G), B: mix(c.B)}
}
