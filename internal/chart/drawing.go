package chart

import "math"

// Limit is the largest size of a figure that is drawn; what lies beyond it is
// left out, like NaN.
const Limit = 1e9

// Point is a place on a drawing: X to the right, Y downwards, in CSS pixels
// (96 to the inch on paper).
type Point struct{ X, Y float64 }

// Drawing is a finished drawing, ready to be written.
type Drawing struct {
	Title  string // its name, for those who can't see it and for standalone files
	Desc   string // what it shows, in a sentence or two
	Width  float64
	Height float64
	Accent Accent
	Shapes []Shape // back to front; every point lies within Width and Height
}

// Shape is a [Path] or a [Text].
type Shape interface{ role() Role }

// Path is one or more strokes that are drawn alike.
type Path struct {
	Role  Role
	Steps []Step
}

// StepKind is what the pen does.
type StepKind int

// What the pen can do.
const (
	Move  StepKind = iota // lift and go to To
	Line                  // draw straight to To
	Cubic                 // draw to To by the Bézier points C1 and C2
	Close                 // draw straight back to where this stroke began
)

// Step is one movement of the pen.
type Step struct {
	Kind       StepKind
	C1, C2, To Point
}

// Anchor says which part of a line of lettering stands at its point.
type Anchor int

// The parts of a line of lettering.
const (
	Start Anchor = iota
	Middle
	End
)

// Text is one line of lettering, its baseline at At.
type Text struct {
	Role   Role
	At     Point
	Anchor Anchor
	String string
}

func (p Path) role() Role { return p.Role }
func (t Text) role() Role { return t.Role }

// pen collects shapes.
type pen struct{ shapes []Shape }

func (p *pen) line(r Role, x1, y1, x2, y2 float64) {
	p.strokes(r, [][2]Point{{{x1, y1}, {x2, y2}}})
}

// strokes draws separate straight strokes as one shape; none draws nothing.
func (p *pen) strokes(r Role, strokes [][2]Point) {
	if len(strokes) == 0 {
		return
	}
	steps := make([]Step, 0, 2*len(strokes))
	for _, s := range strokes {
		steps = append(steps, Step{Kind: Move, To: s[0]}, Step{Kind: Line, To: s[1]})
	}
	p.shapes = append(p.shapes, Path{r, steps})
}

func (p *pen) poly(r Role, points []Point, closed bool) {
	if len(points) < 2 {
		return
	}
	steps := make([]Step, 0, len(points)+1)
	for i, q := range points {
		kind := Line
		if i == 0 {
			kind = Move
		}
		steps = append(steps, Step{Kind: kind, To: q})
	}
	if closed {
		steps = append(steps, Step{Kind: Close})
	}
	p.shapes = append(p.shapes, Path{r, steps})
}

func (p *pen) text(r Role, x, y float64, a Anchor, s string) {
	if s != "" {
		p.shapes = append(p.shapes, Text{r, Point{x, y}, a, s})
	}
}

// drawable says whether a figure can be drawn.
func drawable(v float64) bool { return math.Abs(v) <= Limit } // false for NaN

// length gives a size that can be drawn with: the usual one where none was
// asked for, and never less than the least.
func length(asked, usual, least float64) float64 {
	if !(asked > 0 && asked <= 10_000) {
		return usual
	}
	return max(asked, least)
}

// mapping puts figures from lo to hi onto pixels from a to b, and holds what
// lies outside to the ends.
type mapping struct{ lo, hi, a, b float64 }

func (m mapping) at(v float64) float64 {
	return m.a + (m.b-m.a)*min(1, max(0, (v-m.lo)/(m.hi-m.lo)))
}
