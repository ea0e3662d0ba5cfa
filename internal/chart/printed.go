package chart

import (
	"strconv"
	"strings"
)

// Printed is how a role looks on paper, for writers other than SVG. Lengths are
// in pixels, as in [Drawing]; a colour that isn't there is not drawn.
type Printed struct {
	Stroke, Fill *Colour
	Width        float64   // of the stroke
	Dash         []float64 // lengths of line and gap by turns; empty: unbroken
	Round        bool      // round ends and corners; else cut off and pointed
	// Tint is how much of the fill covers what is under it, over 0 to 1. A
	// fill below 1 has its inside by the even-odd rule.
	Tint float64
	Size float64 // of lettering
	Bold bool
}

// Colour is red, green and blue, 0 to 255 each, in sRGB.
type Colour struct{ R, G, B uint8 }

// Printed gives the look of a role in the palette of paper, which is black on
// white with the accent as on a light page.
func (r Role) Printed(a Accent) Printed {
	l := looks[r]
	p := Printed{Width: l.width, Round: l.round, Tint: 1, Size: l.size, Bold: l.bold}
	p.Stroke, p.Fill = onPaper(l.stroke, a), onPaper(l.fill, a)
	if l.tint > 0 {
		p.Tint = l.tint
	}
	for _, part := range strings.Fields(l.dash) {
		v, _ := strconv.ParseFloat(part, 64) // of the table of looks, all numbers
		p.Dash = append(p.Dash, v)
	}
	return p
}

// Ink, Muted and Faint are the palette's colours on paper: for what matters,
// for what stands beside it, and for lines that only help the eye.
func Ink() Colour { return *onPaper("ink", Plain) }

// Muted is described with [Ink].
func Muted() Colour { return *onPaper("muted", Plain) }

// Faint is described with [Ink].
func Faint() Colour { return *onPaper("faint", Plain) }

// Colour gives the accent on paper.
func (a Accent) Colour() Colour { return *onPaper("accent", a) }

// onPaper gives the colour of a look on paper, or nil.
func onPaper(name string, a Accent) *Colour {
	if name == black || name == white {
		c := parsed(name)
		return &c
	}
	list := inks
	if name == "accent" {
		list, name = accents, string(a.known())
	}
	for _, k := range list {
		if k.name == name {
			c := parsed(k.print)
			return &c
		}
	}
	return nil
}

// parsed reads "#rgb" or "#rrggbb".
func parsed(code string) Colour {
	code = strings.TrimPrefix(code, "#")
	if len(code) == 3 {
		code = string([]byte{code[0], code[0], code[1], code[1], code[2], code[2]})
	}
	v, _ := strconv.ParseUint(code, 16, 32) // of the palette, all codes
	return Colour{uint8(v >> 16), uint8(v >> 8), uint8(v)}
}
