package chart

import "math"

const (
	arrowLong = 8.0 // of an arrowhead
	arrowHalf = 1.7 // half its width
	tailLong  = 11.0
	shoulder  = 7.0  // the level end of a leader, at its label
	axisLong  = 30.0 // the arrow of an axis
)

// draw draws everything, back to front.
func (l *draft) draw() {
	for _, e := range l.Edges {
		points := make([]Point, len(e.Points))
		for i, q := range e.Points {
			points[i] = l.at(q)
		}
		l.poly(e.Role, thinned(points), e.Closed)
	}
	for _, d := range l.Dimensions {
		l.dimension(d)
	}
	for _, r := range l.Radii {
		l.radius(r)
	}
	for _, a := range l.Angles {
		l.angle(a)
	}
	for _, n := range l.Notes {
		tip := l.at(n.Tip)
		end := Point{tip.X + n.Off[0], tip.Y - n.Off[1]}
		l.leader(tip, end, n.Off[0] < 0, n.Label)
		if n.Dot {
			l.ring(Full, tip, 1.6)
		} else {
			l.arrow(tip, end)
		}
	}
	for _, s := range l.Surfaces {
		at := l.at(s)
		l.poly(Open, []Point{{at.X - 5, at.Y - 9}, {at.X + 5, at.Y - 9}, {at.X, at.Y - 1.2}}, true)
		l.strokes(Detail, [][2]Point{{{at.X - 5, at.Y + 4}, {at.X + 5, at.Y + 4}}, {{at.X - 2.5, at.Y + 6.5}, {at.X + 2.5, at.Y + 6.5}}})
	}
	for _, a := range l.Axes {
		l.axes(a)
	}
	for _, w := range l.Words {
		at := l.at(w.At)
		if k := looks[w.Role]; k.size == 0 {
			w.Role = Label
		}
		l.words(w.Role, at.X+w.Off[0], at.Y-w.Off[1], w.Anchor, w.Text)
	}
}

// words writes lettering whose middle stands at a height, no wider than the
// drawing.
func (l *draft) words(r Role, x, y float64, a Anchor, s string) {
	l.text(r, x, y+0.36*usual, a, fitted(s, usual, l.width-12))
}

// toward gives the unit vector from a to b, and the distance; to the right
// where they are one.
func toward(a, b Point) (u Point, distance float64) {
	d := math.Hypot(b.X-a.X, b.Y-a.Y)
	if !(d > 1e-9) {
		return Point{1, 0}, 0
	}
	return Point{(b.X - a.X) / d, (b.Y - a.Y) / d}, d
}

func along(p, u Point, d float64) Point { return Point{p.X + d*u.X, p.Y + d*u.Y} }

// arrow draws an arrowhead with its tip at a place, coming from another.
func (l *draft) arrow(tip, from Point) {
	u, _ := toward(tip, from)
	back := along(tip, u, arrowLong)
	l.poly(Full, []Point{tip, {back.X - arrowHalf*u.Y, back.Y + arrowHalf*u.X}, {back.X + arrowHalf*u.Y, back.Y - arrowHalf*u.X}}, true)
}

func (l *draft) stroke(r Role, a, b Point) { l.line(r, a.X, a.Y, b.X, b.Y) }

// dimension draws a dimension line, its label in a gap of it, or on its outer
// side where it is too short.
func (l *draft) dimension(d Dimension) {
	label := fitted(d.Label, usual, l.width-12)
	w, h := textWidth(label, usual), usual+1
	from, to := l.at(d.From), l.at(d.To)
	a, b := Point{from.X + d.Off[0], from.Y - d.Off[1]}, Point{to.X + d.Off[0], to.Y - d.Off[1]}
	switch d.Measure {
	case Horizontal:
		y := max(from.Y, to.Y) - d.Off[1]
		if d.Off[1] > 0 {
			y = min(from.Y, to.Y) - d.Off[1]
		}
		a, b = Point{from.X, y}, Point{to.X, y}
	case Vertical:
		least := 0.0
		if math.Abs(from.Y-to.Y) >= 2*arrowLong+h+10 && d.Off[0] != 0 {
			least = w/2 + 7
		}
		x := max(from.X, to.X) + max(d.Off[0], least)
		if d.Off[0] < 0 {
			x = min(from.X, to.X) + min(d.Off[0], -least)
		}
		a, b = Point{x, from.Y}, Point{x, to.Y}
	}
	for _, e := range [2][2]Point{{from, a}, {to, b}} {
		if u, far := toward(e[0], e[1]); far > 5 {
			l.stroke(Leader, along(e[0], u, 2), along(e[1], u, 3))
		}
	}
	u, far := toward(a, b)
	middle := Point{(a.X + b.X) / 2, (a.Y + b.Y) / 2}
	gap := 0.0
	if label != "" {
		gap = 3 + min(w/2/max(1e-9, math.Abs(u.X)), h/2/max(1e-9, math.Abs(u.Y)))
	}
	inLine := far >= 2*gap+2*arrowLong+4
	switch {
	case inLine:
		l.stroke(Detail, a, along(middle, u, -gap))
		l.stroke(Detail, along(middle, u, gap), b)
	case far >= 2*arrowLong+4:
		l.stroke(Detail, a, b)
	default: // arrows from outside
		l.stroke(Detail, along(a, u, -tailLong-4), along(b, u, tailLong+4))
		l.arrow(a, along(a, u, -1))
		l.arrow(b, along(b, u, 1))
	}
	if far >= 2*arrowLong+4 {
		l.arrow(a, b)
		l.arrow(b, a)
	}
	switch {
	case inLine:
		l.words(Label, middle.X, middle.Y, Middle, label)
	case math.Abs(u.X) >= math.Abs(u.Y):
		side := 1.0
		if d.Off[1] > 0 {
			side = -1
		}
		l.words(Label, middle.X, middle.Y+side*(h/2+3), Middle, label)
	case d.Off[0] < 0:
		l.words(Label, min(a.X, b.X)-6, middle.Y, End, label)
	default:
		l.words(Label, max(a.X, b.X)+6, middle.Y, Start, label)
	}
}

// leader draws a leader from a tip to an end with its label, to the left of the
// end or to the right.
func (l *draft) leader(tip, end Point, left bool, label string) {
	way, anchor := 1.0, Start
	if left {
		way, anchor = -1, End
	}
	l.poly(Detail, []Point{tip, end, {end.X + way*shoulder, end.Y}}, false)
	l.words(Label, end.X+way*(shoulder+4), end.Y, anchor, label)
}

func (l *draft) radius(r Radius) {
	tip, centre := l.at(r.Tip), l.at(r.Centre)
	u, _ := toward(centre, tip)
	end := along(tip, u, r.Out)
	l.leader(tip, end, (end.X < tip.X) != (math.Abs(end.X-tip.X) < 2), r.Label)
	l.arrow(tip, end)
}

func (l *draft) angle(a Angle) {
	centre, r := l.at(a.Vertex), l.scale*a.Radius
	points := arc(centre, r, a.From, a.To)
	l.poly(Detail, thinned(points), false)
	if n := len(points) - 1; r*math.Abs(a.To-a.From)*math.Pi/180 > 2*arrowLong+4 {
		// An arrowhead is straight: it comes from where the arc is its length on.
		step := 0.9 * arrowLong / r * 180 / math.Pi
		if a.To < a.From {
			step = -step
		}
		l.arrow(points[0], arc(centre, r, a.From+step, a.To)[0])
		l.arrow(points[n], arc(centre, r, a.To-step, a.From)[0])
	}
	label := fitted(a.Label, usual, l.width-12)
	sin, cos := math.Sincos((a.From + a.To) / 2 * math.Pi / 180)
	out := r + 5 + textWidth(label, usual)/2*math.Abs(cos) + usual/2*math.Abs(sin)
	l.words(Label, centre.X+out*cos, centre.Y-out*sin, Middle, label)
}

func (l *draft) axes(a Axes) {
	at := l.at(a.At)
	at = Point{at.X + a.Off[0], at.Y - a.Off[1]}
	inside := 0.0
	if a.Out != "" || a.In != "" {
		inside = 5
	}
	arm := func(dx, dy float64, name string, anchor Anchor, offX, offY float64) {
		if name == "" {
			return
		}
		tip := Point{at.X + dx*axisLong, at.Y + dy*axisLong}
		l.stroke(Detail, Point{at.X + dx*inside, at.Y + dy*inside}, tip)
		l.arrow(tip, at)
		l.words(Label, tip.X+offX, tip.Y+offY, anchor, name)
	}
	// Names stand beside the tips, since a centre line often goes on from there.
	arm(1, 0, a.Right, Start, -5, -9)
	arm(-1, 0, a.Left, End, 5, -9)
	arm(0, -1, a.Up, Start, 6, 3)
	arm(0, 1, a.Down, Start, 6, -3)
	if inside == 0 {
		return
	}
	l.ring(Open, at, inside)
	name := a.Out
	if a.Out != "" {
		l.ring(Full, at, 1.3)
	} else {
		name = a.In
		const k = 3.5
		l.strokes(Detail, [][2]Point{{{at.X - k, at.Y - k}, {at.X + k, at.Y + k}}, {{at.X - k, at.Y + k}, {at.X + k, at.Y - k}}})
	}
	l.words(Label, at.X, at.Y+16, Middle, name)
}
