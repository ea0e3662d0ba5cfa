package chart

import (
	"fmt"

	"gaugewright/internal/quantity"
)

// Sweep is the direction in which a reading's mark was approached.
type Sweep int

// The directions, and the symbol of each.
const (
	Neither Sweep = iota // +
	Up                   // ▲
	Down                 // ▽
)

// Reading is one reading on a curve drawing.
type Reading struct {
	Mark, Ohm float64
	Sweep     Sweep
	SetAside  bool // struck through
}

// Claim is a span as a data sheet states it: a straight line from its empty
// to its full end, with a label.
type Claim struct {
	EmptyMark, EmptyOhm float64
	FullMark, FullOhm   float64
	Label               string
}

// KeyedOhm is a value that was keyed in, with a label.
type KeyedOhm struct {
	Ohm   float64
	Label string
}

// Limited is a mark that must not be passed, with a label.
type Limited struct {
	Mark  float64
	Label string
}

// Curve is what a curve drawing shows: marks in one shown unit from left to
// right, ohms from bottom to top.
type Curve struct {
	Title, Desc   string  // Desc: made up from the figures where empty
	Width, Height float64 // pixels; 0: 680 by 400
	Accent        Accent
	MarkTitle     string // "mark on the dial, %"
	OhmTitle      string // "resistance, Ω"
	Unit          string // of the ohms, or of what stands in their place; "Ω" where empty

	// Marks, Ohms and DoubtOhms are samples of the curve in rising order of
	// mark; between them it is drawn straight. DoubtOhms is how far the doubt
	// goes to either side; none where it is empty.
	Marks, Ohms, DoubtOhms []float64
	DoubtLabel             string // "doubt, 95 %"

	Readings []Reading
	Claims   []Claim
	Keyed    []KeyedOhm
	Limit    *Limited
	// LowMark and HighMark widen the axis of marks; both 0: as far as the
	// figures go.
	LowMark, HighMark float64
}

// DrawCurve draws a curve with its doubt, its readings, and what it is held
// against.
func DrawCurve(c Curve) Drawing {
	c = c.cleaned()
	d := Drawing{Title: c.Title, Desc: c.Desc, Accent: c.Accent,
		Width: length(c.Width, 680, 260), Height: length(c.Height, 400, 260)}
	marks, ohms := c.ranges()
	var p pen
	if marks.empty() || ohms.empty() {
		p.text(Caption, d.Width/2, d.Height/2, Middle, fitted("Nothing to draw yet: no readings.", usual, d.Width-8))
		d.Shapes = p.shapes
		if d.Desc == "" {
			d.Desc = "Nothing to draw yet."
		}
		return d
	}
	if d.Desc == "" {
		d.Desc = c.described(marks, ohms)
	}
	f := c.laidOut(&p, d.Width, d.Height, marks, ohms)
	f.heads(&p)
	f.graph(&p)
	c.claims(&p, f)
	c.band(&p, f)
	c.keyed(&p, f)
	c.limit(&p, f)
	c.trace(&p, f)
	c.readings(&p, f)
	f.edge(&p)
	c.labels(&p, f)
	d.Shapes = p.shapes
	return d
}

// cleaned leaves out what can't be drawn.
func (c Curve) cleaned() Curve {
	n := min(len(c.Marks), len(c.Ohms))
	marks, ohms, doubts := make([]float64, 0, n), make([]float64, 0, n), make([]float64, 0, n)
	for i := range n {
		if !drawable(c.Marks[i]) || !drawable(c.Ohms[i]) {
			continue
		}
		u := 0.0
		if i < len(c.DoubtOhms) && c.DoubtOhms[i] > 0 && c.DoubtOhms[i] <= Limit {
			u = c.DoubtOhms[i]
		}
		marks, ohms, doubts = append(marks, c.Marks[i]), append(ohms, c.Ohms[i]), append(doubts, u)
	}
	if len(c.DoubtOhms) == 0 {
		doubts = nil
	}
	c.Marks, c.Ohms, c.DoubtOhms = marks, ohms, doubts
	c.Readings = keep(c.Readings, func(r Reading) bool { return drawable(r.Mark) && drawable(r.Ohm) })
	c.Claims = keep(c.Claims, func(l Claim) bool {
		return drawable(l.EmptyMark) && drawable(l.EmptyOhm) && drawable(l.FullMark) && drawable(l.FullOhm)
	})
	c.Keyed = keep(c.Keyed, func(k KeyedOhm) bool { return drawable(k.Ohm) })
	if c.Limit != nil && !drawable(c.Limit.Mark) {
		c.Limit = nil
	}
	if !drawable(c.LowMark) || !drawable(c.HighMark) || c.LowMark >= c.HighMark {
		c.LowMark, c.HighMark = 0, 0
	}
	return c
}

func keep[T any](list []T, ok func(T) bool) []T {
	var out []T
	for _, v := range list {
		if ok(v) {
			out = append(out, v)
		}
	}
	return out
}

// described says what the drawing shows, for those who can't see it.
func (c Curve) described(marks, ohms extent) string {
	short := func(v float64) string { return quantity.Short(v, 2) }
	unit := orElse(c.Unit, "Ω")
	s := fmt.Sprintf("%s from %s to %s; %s from %s to %s.", orElse(c.MarkTitle, "Mark"), short(marks.lo), short(marks.hi),
		orElse(c.OhmTitle, "resistance, Ω"), short(ohms.lo), short(ohms.hi))
	if n := len(c.Marks); n > 0 {
		s += fmt.Sprintf(" The curve runs from %s %s at %s to %s %s at %s.", short(c.Ohms[0]), unit, short(c.Marks[0]), short(c.Ohms[n-1]), unit, short(c.Marks[n-1]))
	}
	if n := len(c.Readings); n > 0 {
		aside := len(keep(c.Readings, func(r Reading) bool { return r.SetAside }))
		s += fmt.Sprintf(" Readings: %d", n)
		if aside > 0 {
			s += fmt.Sprintf(", %d of them set aside", aside)
		}
		s += "."
	}
	for _, k := range c.Keyed {
		s += fmt.Sprintf(" Keyed in: %s.", orElse(k.Label, short(k.Ohm)+" "+unit))
	}
	if c.Limit != nil {
		s += fmt.Sprintf(" Limit: %s, at %s.", c.Limit.Label, short(c.Limit.Mark))
	}
	return s
}

func orElse(s, other string) string {
	if s == "" {
		return other
	}
	return s
}
