package chart

import "strings"

// Section is what a section drawing shows: a tank cut through by one or more
// upright planes, with the liquid in it.
type Section struct {
	Title, Desc string // Desc: made up from the figures where empty
	// Width and Height are in pixels; 0: 640 wide, as high as needed. A height
	// in which the drawing has no room is exceeded.
	Width, Height float64
	Accent        Accent
	Views         []View
}

// View is one section of a tank. All its places are in mm in a frame of its
// own, to the right and upwards, in which the tank already leans as it stands:
// upwards is against gravity, so that a surface is a horizontal line. Views of
// one tank share the zero of their heights, so that a level stands equally high
// in all of them.
type View struct {
	Name string // "seen from starboard, forward to the right"
	// Loops are the closed outlines of the section; what lies within an odd
	// number of them is inside the tank. A loop isn't closed by repeating its
	// first point.
	Loops [][][2]float64

	Level               *float64 // the height of the surface; nil: no level is drawn
	LevelLabel          string   // "120 mm · 11.1 L"; the same in several views is written once
	DoubtLow, DoubtHigh *float64 // heights between which the surface may be; both or neither

	Limit  *Limited       // its Mark is a height of the surface; nil: none
	Sensor *[2][2]float64 // the foot and the head of the line along which heights are read
	Lean   *Lean          // nil: the tank stands upright in this view

	Scale      []ScaleTick // at the left, in any order
	ScaleTitle string      // over it: "litres"
}

// Lean is how far the tank's own upright leans from the plumb line in a view.
type Lean struct {
	Degrees float64 // positive where its top leans to the left, as angles are counted; up to 90 either way
	Label   string  // "3° nose down"
}

// ScaleTick is one division of the scale at the left of a view.
type ScaleTick struct {
	At    float64 // the height, in the view's frame, of the surface that it stands for
	Label string  // what it comes to: "10"; a division without one is short
}

// DrawSection draws a tank in section. Views stand beside each other, to one
// scale and with their levels in line, where there is room, and else below each
// other.
func DrawSection(s Section) Drawing {
	s = s.cleaned()
	d := Drawing{Title: s.Title, Desc: s.Desc, Accent: s.Accent,
		Width: length(s.Width, 640, 260), Height: length(s.Height, 0, 120)}
	if d.Desc == "" {
		d.Desc = s.described()
	}
	var p pen
	if len(s.Views) == 0 {
		d.Height = max(d.Height, 120)
		p.text(Caption, d.Width/2, d.Height/2, Middle, fitted("Nothing to draw yet: no shape.", usual, d.Width-8))
		d.Shapes = p.shapes
		return d
	}
	l := s.laidOut(d.Width, d.Height)
	d.Height = l.height
	for _, c := range l.cells {
		c.draw(&p)
	}
	if !l.oneScale {
		p.text(Caption, d.Width-4, d.Height-5, End, fitted(scaleNote, usual, d.Width-8))
	}
	d.Shapes = p.shapes
	return d
}

// scaleNote stands under views of which one would be too small on the scale of
// the other.
const scaleNote = "the views are not to one scale"

// cleaned leaves out what can't be drawn.
func (s Section) cleaned() Section {
	var views []View
	for _, v := range s.Views {
		if v = v.cleaned(); len(v.Loops) > 0 {
			views = append(views, v)
		}
	}
	s.Views = views
	return s
}

func (v View) cleaned() View {
	var loops [][][2]float64
	for _, loop := range v.Loops {
		points := keep(loop, func(p [2]float64) bool { return drawable(p[0]) && drawable(p[1]) })
		if len(points) >= 3 {
			loops = append(loops, points)
		}
	}
	v.Loops = loops
	if v.Level != nil && !drawable(*v.Level) {
		v.Level = nil
	}
	if v.Level == nil || v.DoubtLow == nil || v.DoubtHigh == nil ||
		!drawable(*v.DoubtLow) || !drawable(*v.DoubtHigh) || *v.DoubtLow > *v.DoubtHigh {
		v.DoubtLow, v.DoubtHigh = nil, nil
	}
	if v.Limit != nil && !drawable(v.Limit.Mark) {
		v.Limit = nil
	}
	if s := v.Sensor; s != nil && !(drawable(s[0][0]) && drawable(s[0][1]) && drawable(s[1][0]) && drawable(s[1][1])) {
		v.Sensor = nil
	}
	if v.Lean != nil && !(v.Lean.Degrees >= -90 && v.Lean.Degrees <= 90) {
		v.Lean = nil
	}
	// A division beyond the tank has no meaning, and would make the tank small.
	_, low, _, high := bounds(v.Loops)
	slack := 1e-6 * (high - low)
	v.Scale = keep(v.Scale, func(t ScaleTick) bool { return t.At >= low-slack && t.At <= high+slack })
	if len(v.Scale) < 2 {
		v.Scale = nil
	}
	return v
}

// described says what the drawing shows, for those who can't see it.
func (s Section) described() string {
	if len(s.Views) == 0 {
		return "Nothing to draw yet."
	}
	var parts []string
	for _, v := range s.Views {
		var said []string
		if v.Level != nil {
			said = append(said, "the surface stands at "+orElse(v.LevelLabel, number(*v.Level)+" mm"))
		}
		if v.DoubtLow != nil {
			said = append(said, "its doubt is hatched")
		}
		if v.Limit != nil {
			said = append(said, "a dashed line marks "+orElse(v.Limit.Label, "the limit"))
		}
		if v.Lean != nil {
			said = append(said, orElse(v.Lean.Label, number(v.Lean.Degrees)+"° from the plumb line"))
		}
		name := "The tank in section"
		if v.Name != "" {
			name += ", " + v.Name
		}
		if len(said) > 0 {
			name += ": " + strings.Join(said, "; ")
		}
		parts = append(parts, name+".")
	}
	return strings.Join(parts, " ")
}
