package chart

import (
	"fmt"
	"sort"

	"gaugewright/internal/quantity"
)

// Column is what a sight column shows: an upright tube with the marks at its
// left, what they come to (litres, kilograms, the figure shown) at its right,
// and the level with its doubt.
type Column struct {
	Title, Desc   string  // Desc: made up from the figures where empty
	Width, Height float64 // pixels; 0: 250 by 440
	Accent        Accent
	MarkTitle     string // over the left scale: "dial, %"
	ValueTitle    string // over the right scale: "litres"

	LowMark, HighMark float64 // the marks at the bottom and the top of the tube
	// Marks and Values say what a mark comes to, straight between pairs. Both
	// rise; a value that stands still is shown at the lowest of its marks.
	// Without them there is no right scale.
	Marks, Values []float64

	Level *LevelMark // nil: no level is drawn
	// Unknown is the words under a column whose level isn't known, such as "no
	// level". The tube is crossed out then, or it would be taken for an empty one.
	// It means nothing where there is a Level.
	Unknown string
	Limit   *Limited // nil: no permitted fill is drawn
}

// LevelMark is a level, its doubt to either side, both in marks, and the words
// under the column.
type LevelMark struct {
	Mark, DoubtMark float64
	Label           string
}

// The tube, in pixels.
const (
	bore       = 22.0 // inside
	glass      = 3.0  // wall
	nutWide    = 42.0
	nutHigh    = 13.0
	bodyWide   = 30.0
	bodyHigh   = 12.0
	plugWide   = 14.0
	plugHigh   = 7.0
	fitting    = nutHigh + bodyHigh + plugHigh
	scaleApart = 8.0 // from the glass to a scale's line
)

// DrawColumn draws a sight column.
func DrawColumn(c Column) Drawing {
	c = c.cleaned()
	d := Drawing{Title: c.Title, Desc: c.Desc, Accent: c.Accent,
		Width: length(c.Width, 250, 120), Height: length(c.Height, 440, 240)}
	if d.Desc == "" {
		d.Desc = c.described()
	}
	var p pen
	t := c.placed(d.Width, d.Height)
	d.Width = t.width
	t.fittings(&p)
	c.filled(&p, t)
	t.tube(&p)
	c.crossed(&p, t)
	c.left(&p, t)
	c.right(&p, t)
	c.permitted(&p, t)
	c.titles(&p, t, d.Width, d.Height)
	d.Shapes = p.shapes
	return d
}

func (c Column) cleaned() Column {
	if !drawable(c.LowMark) || !drawable(c.HighMark) || c.LowMark >= c.HighMark {
		c.LowMark, c.HighMark = 0, 100
	}
	c.LowMark, c.HighMark = widened(c.LowMark, c.HighMark)
	n := min(len(c.Marks), len(c.Values))
	var marks, values []float64
	for i := range n {
		m, v := c.Marks[i], c.Values[i]
		if !drawable(m) || !drawable(v) || len(marks) > 0 && (m <= marks[len(marks)-1] || v < values[len(values)-1]) {
			continue
		}
		marks, values = append(marks, m), append(values, v)
	}
	if len(marks) < 2 || values[len(values)-1]-values[0] < 1e-6*max(1e-3, values[len(values)-1], -values[0]) {
		marks, values = nil, nil
	}
	c.Marks, c.Values = marks, values
	if c.Limit != nil && !(c.Limit.Mark >= c.LowMark && c.Limit.Mark <= c.HighMark) {
		c.Limit = nil
	}
	if l := c.Level; l != nil {
		switch {
		case !drawable(l.Mark):
			c.Level = nil
		case !(l.DoubtMark >= 0 && l.DoubtMark <= Limit):
			c.Level = &LevelMark{Mark: l.Mark, Label: l.Label}
		}
	}
	return c
}

func (c Column) described() string {
	short := func(v float64) string { return quantity.Short(v, 2) }
	s := fmt.Sprintf("An upright tube; %s from %s at the bottom to %s at the top.", orElse(c.MarkTitle, "marks"), short(c.LowMark), short(c.HighMark))
	if n := len(c.Values); n > 0 {
		s += fmt.Sprintf(" Beside it %s from %s at %s to %s at %s.", orElse(c.ValueTitle, "figures"),
			short(c.Values[0]), short(c.Marks[0]), short(c.Values[n-1]), short(c.Marks[n-1]))
	}
	if c.Limit != nil {
		s += fmt.Sprintf(" %s at %s.", orElse(c.Limit.Label, "Limit"), short(c.Limit.Mark))
	}
	if c.Level != nil {
		s += fmt.Sprintf(" The level stands at %s", short(c.Level.Mark))
		if c.Level.DoubtMark > 0 {
			s += fmt.Sprintf(", give or take %s", short(c.Level.DoubtMark))
		}
		s += "."
	} else if c.Unknown != "" {
		s += " The tube is crossed out: no level is known."
	}
	return s
}

// under gives the words under the column.
func (c Column) under() string {
	if c.Level != nil {
		return c.Level.Label
	}
	return c.Unknown
}

// placing is where the tube and its scales stand.
type placing struct {
	x           float64 // the centre line
	top, bottom float64 // of the scales
	y           mapping // of marks
	marks       ruler
	values      ruler
	width       float64 // of the drawing
	valueWidth  float64 // of the widest figure at the right
	note        []string
}

func (c Column) placed(width, height float64) placing {
	t := placing{top: 2*leading + fitting + 6, bottom: height - fitting - 8}
	if c.under() != "" {
		t.bottom -= leading + 8
	}
	t.y = mapping{c.LowMark, c.HighMark, t.bottom, t.top}
	t.marks = newRuler(c.LowMark, c.HighMark, t.bottom-t.top, true)
	markWidth := 0.0
	for _, k := range t.marks.ticks() {
		if k.rank == 0 {
			markWidth = max(markWidth, textWidth(t.marks.figure(k.value), usual))
		}
	}
	if n := len(c.Values); n > 0 {
		pixels := t.y.at(c.Marks[0]) - t.y.at(c.Marks[n-1])
		t.values = newRuler(c.Values[0], c.Values[n-1], max(40, pixels), true)
		for _, k := range t.values.ticks() {
			if k.rank == 0 {
				t.valueWidth = max(t.valueWidth, textWidth(t.values.figure(k.value), usual))
			}
		}
	}
	// The scales take what they need; what is left over goes to both sides.
	half := bore/2 + glass + scaleApart + tickLong + 4
	left, right := 4+markWidth+half, half+t.valueWidth+4
	width = max(width, left+right) // figures of many digits make it wider
	t.width = width
	if c.Limit != nil && c.Limit.Label != "" {
		t.note = wrapped(c.Limit.Label, usual, 76, 3)
		right += 14 + widest(t.note, usual)
	}
	t.x = left + max(0, (width-left-right)/2)
	t.x = max(half, min(t.x, width-half))
	// Figures of many digits may leave the words less room, or none.
	if t.note != nil {
		t.note = wrapped(c.Limit.Label, usual, width-4-t.noteAt(), 3)
	}
	return t
}

// noteAt gives where the words at the permitted fill begin.
func (t placing) noteAt() float64 {
	return t.x + bore/2 + glass + scaleApart + tickLong + 4 + t.valueWidth + 8
}

// valueAt gives the mark at a value.
func (c Column) valueAt(v float64) float64 {
	i := sort.SearchFloat64s(c.Values, v)
	switch {
	case i == 0:
		return c.Marks[0]
	case i == len(c.Values):
		return c.Marks[i-1]
	}
	a, b := c.Values[i-1], c.Values[i]
	return c.Marks[i-1] + (v-a)/(b-a)*(c.Marks[i]-c.Marks[i-1])
}
