package chart

import (
	"fmt"
	"sort"

	"gaugewright/internal/quantity"
)

// History is what the drawing of a tank's past shows: its level through time with
// the doubt, what happened, and below it on the same axis what was read. Times are
// seconds from any moment that all of them share, within [Limit] like all figures.
type History struct {
	Title, Desc string  // Desc: made up from the figures where empty
	Width       float64 // pixels; 0: 960. The height comes of what is drawn
	Accent      Accent

	From, To  float64 // the time that is shown
	Times     []TimeMark
	TimeTitle string // under the axis: "from 2 Nov, 09:30 to 3 Nov, 09:30"

	MarkTitle  string // over the left scale: "%"
	ValueTitle string // over the right scale: "L"
	// Marks and Values say what a level comes to, as those of [Column].
	Marks, Values []float64
	Limit         *Limited // in percent; nil: no permitted fill is drawn

	Levels []LevelSpan // rising in time
	// Without are times in which something was read and no level could be told.
	Without []TimeSpan
	// Bridge is how long nothing may have come, in seconds, for what stands to either
	// side to be joined. Nothing is drawn across what is longer, nor across a time
	// without a level.
	Bridge float64

	Flags  []Flag  // at what happened
	Panels []Panel // below, one for each unit
}

// TimeMark is a division of the axis of time.
type TimeMark struct {
	At    float64
	Label string
	Day   bool // a day begins, or something longer
}

// TimeSpan is a stretch of time.
type TimeSpan struct{ From, To float64 }

// LevelSpan is what levels came to in a stretch of time, in percent: their mean,
// the ends of its doubt, and the least and the greatest of them.
type LevelSpan struct {
	TimeSpan
	Mean, Low, High, Least, Most float64
}

// Flag stands at something that happened. Those too close to stand beside each other
// stand as one, from the first label to the last.
type Flag struct {
	At    float64
	To    float64 // it went on until then; not after At: it was a moment
	Label string
	Way   Way // it has a sign for that
}

// Way is what something that happened did to what is in the tank.
type Way int8

// The ways; NeitherWay has no sign.
const (
	NeitherWay Way = 0
	CameIn     Way = 1
	WentOut    Way = -1
)

// Panel is readings of one unit.
type Panel struct {
	Title string // "what was read, Ω"
	Lines []PanelLine
	// Least and Most are how far the axis goes at the most; both 0: as far as the
	// figures. What lies beyond has a mark at the edge. Otherwise an open wire, which
	// many readouts tell as 99,999 ohms, would squeeze all else flat.
	Least, Most float64
}

// PanelLine is what one source said.
type PanelLine struct {
	Label string
	Spans []ReadSpan // rising in time
}

// ReadSpan is what readings came to in a stretch of time.
type ReadSpan struct {
	TimeSpan
	Mean, Least, Most float64
}

// Inside is where the graph of a drawing stands in it, in its pixels.
type Inside struct{ Left, Right, Top, Bottom float64 }

// mostPanels is how many panels there may be, and mostLines how many lines in one.
const mostPanels, mostLines = 4, 6

// DrawHistory draws a tank's past, and says where its graph stands.
func DrawHistory(h History) (Drawing, Inside) {
	h = h.cleaned()
	d := Drawing{Title: h.Title, Desc: h.Desc, Accent: h.Accent, Width: length(h.Width, 960, 340)}
	if d.Desc == "" {
		d.Desc = h.described()
	}
	var p pen
	f := h.placed(&p, d.Width)
	d.Height = f.height
	h.grid(&p, f)
	h.poles(&p, f)
	h.levels(&p, f)
	h.limit(&p, f)
	h.scales(&p, f)
	h.flags(&p, f)
	for i := range h.Panels {
		h.panel(&p, f, i)
	}
	h.times(&p, f)
	d.Shapes = p.shapes
	bottom := f.bottom
	if n := len(f.panels); n > 0 {
		bottom = f.panels[n-1].bottom
	}
	return d, Inside{f.left, f.right, f.top, bottom}
}

// cleaned leaves out what can't be drawn.
func (h History) cleaned() History {
	if !drawable(h.From) || !drawable(h.To) || !(h.From < h.To) {
		h.From, h.To = 0, 1
	}
	column := Column{LowMark: 0, HighMark: 100, Marks: h.Marks, Values: h.Values, Limit: h.Limit}.cleaned()
	h.Marks, h.Values, h.Limit = column.Marks, column.Values, column.Limit
	in := func(s TimeSpan) bool {
		return drawable(s.From) && drawable(s.To) && s.From < s.To && s.To > h.From && s.From < h.To
	}
	after := h.From - 1
	inOrder := func(s TimeSpan) bool {
		if !in(s) || s.From < after {
			return false
		}
		after = s.To
		return true
	}
	all := func(list ...float64) bool {
		for _, v := range list {
			if !drawable(v) {
				return false
			}
		}
		return true
	}
	from := func() { after = -Limit }
	from()
	h.Levels = keep(h.Levels, func(s LevelSpan) bool { return all(s.Mean, s.Low, s.High, s.Least, s.Most) && inOrder(s.TimeSpan) })
	from()
	h.Without = keep(h.Without, inOrder)
	h.Flags = keep(h.Flags, func(g Flag) bool { return g.At >= h.From && g.At <= h.To })
	sort.SliceStable(h.Flags, func(a, b int) bool { return h.Flags[a].At < h.Flags[b].At })
	h.Times = keep(h.Times, func(m TimeMark) bool { return m.At >= h.From && m.At <= h.To })
	h.Times = h.Times[:min(len(h.Times), 400)]
	if !(h.Bridge > 0) {
		h.Bridge = 0
	}
	panels := make([]Panel, min(len(h.Panels), mostPanels))
	for i := range panels {
		panels[i] = Panel{Title: h.Panels[i].Title, Lines: make([]PanelLine, min(len(h.Panels[i].Lines), mostLines))}
		if least, most := h.Panels[i].Least, h.Panels[i].Most; all(least, most) && least < most {
			panels[i].Least, panels[i].Most = least, most
		}
		for k := range panels[i].Lines {
			from()
			line := h.Panels[i].Lines[k]
			line.Spans = keep(line.Spans, func(s ReadSpan) bool { return all(s.Mean, s.Least, s.Most) && inOrder(s.TimeSpan) })
			panels[i].Lines[k] = line
		}
	}
	h.Panels = panels
	return h
}

// described says what the drawing shows, for those who can't see it.
func (h History) described() string {
	var seen extent
	for _, s := range h.Levels {
		seen.take(s.Mean)
	}
	s := "No level was known in this time."
	if !seen.empty() {
		s = fmt.Sprintf("The level through time, from %s to %s %%.", quantity.Digits(seen.lo, 0), quantity.Digits(seen.hi, 0))
	}
	if n := len(h.Flags); n > 0 {
		s += fmt.Sprintf(" Flags at what happened: %d.", n)
	}
	return s
}
