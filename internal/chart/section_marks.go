package chart

import "math"

// sensor draws the line along which heights are read, a head over it, a foot
// under it, and a ring where the surface meets it.
func (c cell) sensor(p *pen) {
	if c.Sensor == nil {
		return
	}
	foot, head := c.at(c.Sensor[0]), c.at(c.Sensor[1])
	dx, dy := head.X-foot.X, head.Y-foot.Y
	l := math.Hypot(dx, dy)
	if !(l > 1) {
		return
	}
	dx, dy = dx/l, dy/l
	across := func(at Point, half float64) [2]Point {
		return [2]Point{{at.X - half*dy, at.Y + half*dx}, {at.X + half*dy, at.Y - half*dx}}
	}
	p.strokes(Detail, [][2]Point{{foot, head}, across(foot, 3)})
	p.strokes(Strike, [][2]Point{across(head, 8)})
	if c.Level == nil {
		return
	}
	if y := c.up(*c.Level); (y-foot.Y)*(y-head.Y) <= 0 && head.Y != foot.Y {
		t := (y - foot.Y) / (head.Y - foot.Y)
		p.ring(Open, Point{foot.X + t*(head.X-foot.X), y}, 3.4)
	}
}

// lean draws the plumb line and the tank's own upright from one point, and the
// angle between them, and gives where they cross the middle of the section.
func (c cell) lean(p *pen) []float64 {
	if c.Lean == nil {
		return nil
	}
	sin, cos := math.Sincos(-c.Lean.Degrees * math.Pi / 180)
	const beyond = 9.0
	half := (c.plot.bottom-c.plot.top)/2 + beyond
	if s := math.Abs(sin); s > 0 {
		half = min(half/max(cos, 1e-3), max(12, (c.plot.right-c.plot.left)/2)/s)
	}
	// Away from the sensor, whose line is often the same upright.
	middle := c.plot.centre()
	if c.Sensor != nil {
		s := (c.at(c.Sensor[0]).X + c.at(c.Sensor[1]).X) / 2
		reach := half*math.Abs(sin) + 6
		for _, part := range []float64{0.5, 0.34, 0.66} {
			x := c.plot.left + part*(c.plot.right-c.plot.left)
			inside := x-reach > c.plot.left-8 && x+reach < c.plot.right+8
			if inside && math.Abs(x-s) > math.Abs(middle.X-s)+4 && math.Abs(middle.X-s) < reach+6 {
				middle.X = x
			}
		}
	}
	top := Point{middle.X + half*sin, middle.Y - half*cos}
	end := Point{middle.X - half*sin, middle.Y + half*cos}
	bob := max(c.plot.bottom+beyond, end.Y)
	p.line(Centre, top.X, top.Y, end.X, end.Y)
	p.line(Detail, top.X, top.Y, top.X, bob-7)
	p.poly(Full, []Point{{top.X - 3, bob - 7}, {top.X + 3, bob - 7}, {top.X, bob}}, true)
	if r := 0.82 * min(2*half, bob-top.Y); r*math.Abs(sin) > 2 {
		p.poly(Detail, arc(top, r, -90, -90+c.Lean.Degrees), false)
	}
	if label := fitted(c.Lean.Label, usual, c.width-8); label != "" {
		w := textWidth(label, usual) / 2
		x := min(c.x+c.width-4-w, max(c.x+4+w, top.X))
		p.text(Strong, x, c.under()+beyond+leading+1, Middle, label)
	}
	return []float64{(top.X + end.X) / 2, top.X}
}

// labels writes the view's name over it, and the level and the permitted fill
// beside or under it.
func (c cell) labels(p *pen, loops [][]Point) {
	y := c.y + leading
	for _, line := range c.names {
		line = fitted(line, usual, c.width-8)
		p.text(Caption, c.x+4, y, Start, line)
		y += leading
	}
	if !c.direct {
		c.key(p)
		return
	}
	ends := make([]float64, len(c.notes))
	notes := append([]note(nil), c.notes...)
	for i := range notes {
		at := c.up(notes[i].from)
		notes[i].from = min(c.plot.bottom, max(c.plot.top, at))
		notes[i].at = notes[i].from
	}
	notes = spreadOut(notes, c.over()-2, c.under()+2)
	x := c.plot.right + noteGap
	for i, n := range notes {
		ends[i] = x
		if list := c.surfaceChords(loops, n.from); len(list) > 0 {
			ends[i] = list[len(list)-1][1] + 3
			if n.role == Label { // the dashed line goes a little further
				ends[i] += 4
			}
		}
		p.poly(Leader, []Point{{min(ends[i], x), n.from}, {x, n.from}, {x + noteGap - 3, n.at}}, false)
	}
	for _, n := range notes {
		down := n.at - leading*float64(len(n.lines)-1)/2 + 0.36*usual
		for _, line := range n.lines {
			p.text(n.role, x+noteGap, down, Start, line)
			down += leading
		}
	}
}

// key tells under a narrow section what its lines are.
func (c cell) key(p *pen) {
	y := c.under() + 12
	if c.Lean != nil {
		y = c.under() + leanRoom
	}
	y += keyRow / 2
	row := func(r Role, label string, sample func(x float64)) {
		if label = fitted(label, usual, c.width-keyIndent-4); label == "" {
			return
		}
		sample(c.x + 4)
		p.text(r, c.x+keyIndent, y+0.36*usual, Start, label)
		y += keyRow
	}
	if c.Level != nil {
		row(Strong, c.LevelLabel, func(x float64) {
			p.line(Level, x, y+2, x+26, y+2)
			p.poly(Open, []Point{{x + 8, y - 7}, {x + 18, y - 7}, {x + 13, y + 1}}, true)
		})
	}
	if c.Limit != nil {
		row(Label, c.Limit.Label, func(x float64) { p.line(Permitted, x, y, x+26, y) })
	}
}
