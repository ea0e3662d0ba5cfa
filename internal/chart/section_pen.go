package chart

import "math"

// arc gives the points of an arc round a centre, its angles in degrees
// counter-clockwise from the right, fine enough for the eye.
func arc(centre Point, radius, from, to float64) []Point {
	// A chord of an arc of r pixels is off it by r(1 − cos(step/2)).
	step := 2 * math.Acos(1-min(1, 0.04/max(radius, 0.05)))
	n := int(min(720, max(2, math.Ceil(math.Abs(to-from)*math.Pi/180/step))))
	points := make([]Point, n+1)
	for i := range points {
		sin, cos := math.Sincos((from + (to-from)*float64(i)/float64(n)) * math.Pi / 180)
		points[i] = Point{centre.X + radius*cos, centre.Y - radius*sin}
	}
	return points
}

// ring draws a circle of four cubic curves.
func (p *pen) ring(r Role, c Point, radius float64) {
	k := radius * 0.5522847498 // 4/3 · (√2 − 1)
	p.shapes = append(p.shapes, Path{r, []Step{
		{Kind: Move, To: Point{c.X + radius, c.Y}},
		{Kind: Cubic, C1: Point{c.X + radius, c.Y + k}, C2: Point{c.X + k, c.Y + radius}, To: Point{c.X, c.Y + radius}},
		{Kind: Cubic, C1: Point{c.X - k, c.Y + radius}, C2: Point{c.X - radius, c.Y + k}, To: Point{c.X - radius, c.Y}},
		{Kind: Cubic, C1: Point{c.X - radius, c.Y - k}, C2: Point{c.X - k, c.Y - radius}, To: Point{c.X, c.Y - radius}},
		{Kind: Cubic, C1: Point{c.X + k, c.Y - radius}, C2: Point{c.X + radius, c.Y - k}, To: Point{c.X + radius, c.Y}},
		{Kind: Close},
	}})
}

// heldWithin moves what would leave the drawing to its edge.
func heldWithin(shapes []Shape, width, height float64) []Shape {
	held := func(p Point) Point { return Point{min(width, max(0, p.X)), min(height, max(0, p.Y))} }
	for i, s := range shapes {
		switch s := s.(type) {
		case Path:
			for k := range s.Steps {
				t := &s.Steps[k]
				t.C1, t.C2, t.To = held(t.C1), held(t.C2), held(t.To)
			}
		case Text:
			w := textWidth(s.String, usual)
			before := w * [...]float64{0, 0.5, 1}[s.Anchor]
			s.At.X = min(width-w+before, max(before, s.At.X))
			s.At.Y = min(height-0.25*usual, max(0.75*usual, s.At.Y))
			shapes[i] = s
		}
	}
	return shapes
}
