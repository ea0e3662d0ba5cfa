package chart

// cell is one view with the place that it has on the drawing.
type cell struct {
	View
	left, low, right, high float64 // the part of the view's frame that is shown, mm
	margin                 margins
	direct                 bool      // labels stand beside the section; else in a key under it
	names                  []string  // the lines of the view's name
	notes                  []note    // the labels beside it
	figures                float64   // the width of the widest figure of the scale
	least                  float64   // how narrow the cell may be
	scale                  float64   // pixels to the mm
	x, y, width, height    float64   // of the whole cell, pixels
	plot                   rectangle // where the section stands, pixels
}

type margins struct{ left, right, top, bottom float64 }

type rectangle struct{ left, top, right, bottom float64 }

func (r rectangle) centre() Point { return Point{(r.left + r.right) / 2, (r.top + r.bottom) / 2} }

// at puts a place of the view's frame on the drawing.
func (c cell) at(p [2]float64) Point {
	return Point{c.plot.left + c.scale*(p[0]-c.left), c.up(p[1])}
}

// up gives where a height of the view's frame stands on the drawing.
func (c cell) up(mm float64) float64 { return c.plot.bottom - c.scale*(mm-c.low) }

const (
	cellGap   = 14.0 // between cells
	nameGap   = 6.0  // between a name and the section under it
	keyRow    = leading + 4
	keyIndent = 36.0
	leanRoom  = 2*leading + 8 // under a section, for the plumb bob and the angle
	leastCell = 124.0         // wide
	leastPlot = 36.0          // high and wide
	tooSmall  = 56.0          // longest side of a section that needs a scale of its own
	ownHigh   = 130.0         // how high it is drawn then
)

// cell reckons the room that a view needs beside its section.
func (v View) cell(width float64, beside, direct bool) cell {
	c := cell{View: v, direct: direct, least: leastCell, margin: margins{left: 12, right: 12, top: 8 + nameGap, bottom: 12}}
	c.left, c.low, c.right, c.high = bounds(v.Loops)
	if s := v.Sensor; s != nil {
		for _, p := range s {
			c.left, c.right = min(c.left, p[0]), max(c.right, p[0])
			c.low, c.high = min(c.low, p[1]), max(c.high, p[1])
		}
	}
	c.left, c.right = widened(c.left, c.right)
	c.low, c.high = widened(c.low, c.high)
	room := width - 8
	if beside {
		room = 1.35*leastCell - 8
	}
	c.names = wrapped(v.Name, usual, room, 3)
	c.margin.top += leading * float64(len(c.names))
	if v.Sensor != nil || v.Lean != nil {
		c.margin.top += 12
	}
	if len(v.Scale) > 0 {
		for _, t := range v.Scale {
			c.figures = max(c.figures, textWidth(fitted(t.Label, usual, 0.2*width), usual))
		}
		c.margin.left = 4 + c.figures + 4 + tickLong + 12
		if v.ScaleTitle != "" {
			c.margin.top += leading + 2
		}
	}
	if v.Lean != nil {
		c.margin.bottom = leanRoom
	}
	labels := 0
	side := min(150, max(72, 0.25*width))
	add := func(r Role, at float64, label string) {
		lines := wrapped(label, usual, side, 4)
		if len(lines) == 0 {
			return
		}
		labels++
		c.least = max(c.least, min(0.4*width, keyIndent+8+textWidth(label, usual)))
		if direct {
			c.notes = append(c.notes, note{role: r, lines: lines, from: at})
		}
	}
	if v.Level != nil {
		add(Strong, *v.Level, v.LevelLabel)
	}
	if v.Limit != nil {
		add(Label, v.Limit.Mark, v.Limit.Label)
	}
	for _, n := range c.notes {
		c.margin.right = max(c.margin.right, 2*noteGap+4+widest(n.lines, usual))
	}
	if !direct {
		c.margin.bottom += keyRow * float64(labels)
	}
	return c
}

// noteRoom gives the height that a section and the labels beside it need.
func (c cell) noteRoom() float64 {
	sum := 0.0
	for _, n := range c.notes {
		sum += leading * float64(len(n.lines))
	}
	return max(leastPlot, sum)
}

// place finds where the section stands in its cell: in the middle of what the
// margins leave.
func (c *cell) place(top, bottom float64) {
	w, h := c.scale*(c.right-c.left), c.scale*(c.high-c.low)
	x := c.x + c.margin.left + (c.width-c.margin.left-c.margin.right-w)/2
	y := c.y + top + (c.height-top-bottom-h)/2
	c.plot = rectangle{x, y, x + w, y + h}
}
