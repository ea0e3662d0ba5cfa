package chart

import "math"

// Dimensioned is what a dimensioned drawing shows: the outlines of a shape,
// with dimension lines that carry the names of its sizes. Places are in mm, to
// the right and upwards, in one frame for the whole drawing; offsets are in
// pixels, to the right and upwards, so that lettering keeps its distance at any
// scale.
type Dimensioned struct {
	Title, Desc string
	// Width and Height are in pixels; 0: 360 wide, half as high again. The shape
	// is drawn as large as they allow; a drawing that needs less height takes
	// less.
	Width, Height float64
	Accent        Accent

	Edges      []Edge // back to front
	Dimensions []Dimension
	Radii      []Radius
	Angles     []Angle
	Notes      []Note
	Words      []Word
	Axes       []Axes
	Surfaces   [][2]float64 // where the triangle that marks a liquid's surface stands
}

// Edge is a line of the shape. Its role is that of a stroke or of an area:
// [Outline] for what is seen, [Hidden] for what lies behind, [Centre] for centre
// lines, [Detail] for thin lines, [Level] for a surface, [Wet] for liquid;
// others are drawn as Outline.
type Edge struct {
	Role   Role
	Points [][2]float64
	Closed bool
}

// Measure says what a dimension measures.
type Measure int

// What a dimension measures.
const (
	Distance   Measure = iota // the distance of its points
	Horizontal                // how far one lies to the side of the other
	Vertical                  // how far one lies above the other
)

// Dimension is a dimension line between extension lines. Off is how far the
// line stands from its points; of a horizontal one only the second part counts,
// of a vertical one only the first, and it stands far enough off for a label in
// its gap to keep clear of the shape.
type Dimension struct {
	From, To [2]float64
	Off      [2]float64 // pixels
	Measure  Measure
	Label    string
}

// Radius is a leader to an arc, in line with the arc's centre.
type Radius struct {
	Centre, Tip [2]float64 // Tip lies on the arc
	Out         float64    // pixels from the arc to where the label begins; negative: towards the centre
	Label       string
}

// Angle is an angle between two lines that the drawing has, in degrees
// counter-clockwise from the right.
type Angle struct {
	Vertex   [2]float64
	From, To float64
	Radius   float64 // of its arc, mm
	Label    string
}

// Note is a label with a leader.
type Note struct {
	Tip   [2]float64
	Off   [2]float64 // pixels from the tip to where the label begins
	Dot   bool       // the leader ends in a dot, as on a face, instead of an arrowhead, as on an edge
	Label string
}

// Word is lettering at a place, its middle at the height of the place.
type Word struct {
	At     [2]float64
	Off    [2]float64 // pixels
	Anchor Anchor
	Role   Role // Label, Caption or Strong; others are drawn as Label
	Text   string
}

// Axes is the cross of a frame: an arrow for each axis that lies in the view,
// with its name, and a circle for the one square to it: with a dot where it
// points out of the drawing, with a cross where it points into it.
type Axes struct {
	At                    [2]float64
	Off                   [2]float64 // pixels
	Right, Up, Left, Down string     // empty: no such arrow
	Out, In               string
}

// DrawDimensioned draws a shape with its dimensions.
func DrawDimensioned(s Dimensioned) Drawing {
	s = s.cleaned()
	d := Drawing{Title: s.Title, Desc: s.Desc, Accent: s.Accent,
		Width: length(s.Width, 360, 200), Height: length(s.Height, 0, 80)}
	if d.Desc == "" {
		d.Desc = s.described()
	}
	l := draft{Dimensioned: s, width: d.Width}
	if l.measure(0).empty() {
		d.Height = max(d.Height, 120)
		l.text(Caption, d.Width/2, d.Height/2, Middle, fitted("Nothing to draw yet: no shape.", usual, d.Width-8))
		d.Shapes = l.shapes
		return d
	}
	most := d.Height
	if most == 0 {
		most = 1.5 * d.Width
	}
	const edge = 6.0
	l.scale = l.fit(d.Width-2*edge, most-2*edge)
	box := l.measure(l.scale)
	d.Height = min(10_000, math.Ceil(box.bottom-box.top+2*edge))
	l.origin = Point{(d.Width - box.left - box.right) / 2, (d.Height - box.top - box.bottom) / 2}
	l.draw()
	d.Shapes = heldWithin(l.shapes, d.Width, d.Height)
	return d
}

// draft is a dimensioned drawing in the making: a pen that knows where places
// in mm stand, and gathers how far it has gone.
type draft struct {
	Dimensioned
	pen
	width  float64
	scale  float64 // pixels to the mm
	origin Point   // where (0, 0) stands
}

func (l *draft) at(p [2]float64) Point {
	return Point{l.origin.X + l.scale*p[0], l.origin.Y - l.scale*p[1]}
}

// measure gives how far the drawing goes at a scale.
func (l *draft) measure(scale float64) rectangle {
	trial := draft{Dimensioned: l.Dimensioned, width: l.width, scale: scale}
	trial.draw()
	box := rectangle{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	take := func(p Point) {
		box.left, box.right = min(box.left, p.X), max(box.right, p.X)
		box.top, box.bottom = min(box.top, p.Y), max(box.bottom, p.Y)
	}
	for _, s := range trial.shapes {
		switch s := s.(type) {
		case Path:
			for _, k := range s.Steps {
				if k.Kind != Close {
					take(k.To)
				}
			}
		case Text:
			w := textWidth(s.String, usual)
			left := s.At.X - w*[...]float64{0, 0.5, 1}[s.Anchor]
			take(Point{left, s.At.Y - 0.75*usual})
			take(Point{left + w, s.At.Y + 0.25*usual})
		}
	}
	return box
}

func (r rectangle) empty() bool { return !(r.left <= r.right) }

// fit gives the largest scale at which the drawing keeps within a size, or a
// very small one where its lettering alone doesn't.
func (l *draft) fit(width, height float64) float64 {
	fits := func(scale float64) bool {
		b := l.measure(scale)
		return b.right-b.left <= width && b.bottom-b.top <= height
	}
	left, low, right, high := l.Dimensioned.bounds()
	size := max(right-left, high-low, 1e-3)
	// A smaller scale doesn't always fit better, since a label leaves a line that
	// becomes too short for it: so from the largest down.
	least, hi := 1e-3/size, max(width, height)/size
	lo := hi
	for !fits(lo) {
		if lo < least {
			return lo
		}
		hi, lo = lo, lo*0.95
	}
	for range 8 {
		if m := (lo + hi) / 2; fits(m) {
			lo = m
		} else {
			hi = m
		}
	}
	return lo
}
