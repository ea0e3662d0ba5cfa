package curve

import (
	"math"
	"sort"
)

// knot is one mark of an outline.
type knot struct {
	s, y  float64 // share of the way from empty to full; ohms in parts of the span, rising
	stays float64 // standard uncertainty that more readings don't lower
	n     float64 // readings
}

// outline is a curve as far as a plan has to do with it: its marks, read and
// planned, and how much may go on unseen between them. Everything is in parts
// of the scale and of the span.
//
// The square of the doubt at a place is the sum of
//
//   - that of the marks beside it, in proportion: the scatter of one reading
//     over the root of their number (JCGM 100:2008, 4.2.3), and what stays;
//   - what the course between them may be. A Brownian bridge between the marks,
//     as wide as neighbouring marks are found to stray from one straight line,
//     stands for the general run; its variance at a share t of a gap h is
//     D·h·t·(1−t). Where the slope changes from one gap to the next there may
//     be a knee: the curve may leave the straight line by as much as a triangle
//     with the neighbours' slopes reaches (the bound for a convex curve),
//     taken as a rectangular doubt. Both together are never more than the rise
//     of the gap, since the curve keeps its direction.
//
// Beyond the marks read nothing holds the curve: its slope may be anything
// from nothing to twice the usual, as a rectangular doubt.
type outline struct {
	unit        MarkUnit
	empty, full float64
	span        float64 // ohms from empty to full
	scatter     float64 // standard deviation of one reading
	stray       float64 // D
	steps       bool
	knots       []knot
	gaps        []gap // one before the first knot, one behind each
}

// gap is the greatest doubt in the stretch before a knot, that knot included,
// and the sum of its variance over the length.
type gap struct{ u, at, sum float64 }

// outline gives the curve's marks for a plan. Before anything is seen of it the
// curve is expected to stray as it is for the end values, see [endValues].
func (c *Curve) outline(empty, full float64) *outline {
	n := len(c.points)
	travel := (c.points[n-1].Mark - c.points[0].Mark) / (full - empty)
	o := &outline{
		unit: c.unit, empty: empty, full: full,
		span: float64(c.Span()) / travel,
	}
	if !c.known() {
		o.scatter = c.repeat.SD / o.span
	}
	for _, p := range c.points {
		u := float64(p.U) / o.span
		k := knot{s: (p.Mark - empty) / (full - empty), y: float64(c.direction) * float64(p.Ohm) / o.span, n: float64(max(1, p.N))}
		k.stays = math.Sqrt(max(0, u*u-o.scatter*o.scatter/k.n))
		o.knots = append(o.knots, k)
	}
	for _, f := range c.findings {
		o.steps = o.steps || f.Kind == "steps"
	}
	o.stray = o.straying(4 * square(c.bendSD()))
	o.gaps = make([]gap, len(o.knots)+1)
	for i := range o.gaps {
		o.gaps[i] = o.measure(i)
	}
	return o
}

// straying estimates D from how far each inner mark stands off the straight
// line between its neighbours: in a Brownian motion its variance is D·a·b/(a+b)
// for the distances a and b, besides what scatter does. What was expected
// beforehand counts as one more mark, and no mark counts for more than that: a
// sharp bend is a knee, which is looked at by itself and says nothing of the
// straight stretches.
func (o *outline) straying(before float64) float64 {
	sum, n := before, 1.0
	for i := 1; i < len(o.knots)-1; i++ {
		p, q, r := o.knots[i-1], o.knots[i], o.knots[i+1]
		a, b := q.s-p.s, r.s-q.s
		l, m := b/(a+b), a/(a+b)
		off := q.y - (l*p.y + m*r.y)
		scattered := o.own(q) + l*l*o.own(p) + m*m*o.own(r)
		sum += min(before, max(0, off*off-scattered)*(a+b)/(a*b))
		n++
	}
	return sum / n
}

func (o *outline) mark(s float64) float64 { return o.empty + s*(o.full-o.empty) }

// own gives the variance that scatter leaves in a knot's mean.
func (o *outline) own(k knot) float64 { return o.scatter * o.scatter / k.n }

// variance gives the square of the doubt at s in the gap before knot i.
func (o *outline) variance(i int, s float64) float64 {
	if i == 0 || i == len(o.knots) {
		end := o.knots[max(0, i-1)]
		d := math.Abs(s - end.s)
		return square(end.stays) + o.own(end) + o.stray*d + d*d/3
	}
	p, q := o.knots[i-1], o.knots[i]
	h := q.s - p.s
	t := (s - p.s) / h
	read := square((1-t)*p.stays+t*q.stays) + square(1-t)*o.own(p) + square(t)*o.own(q)
	reach, _ := o.triangle(i, t)
	return read + min(o.stray*h*t*(1-t)+reach*reach/3, square(q.y-p.y)/12)
}

// triangle gives how far a knee may take the curve from the straight line at a
// share t of the gap before knot i, and to which side: 1 upwards, −1 downwards,
// 0 where it might be either.
func (o *outline) triangle(i int, t float64) (reach, side float64) {
	left, right := o.knee(i)
	h := o.knots[i].s - o.knots[i-1].s
	reach = min(math.Abs(left)*t, math.Abs(right)*(1-t)) * h
	switch {
	case left > 0 && right > 0:
		side = -1 // growing steeper: below the straight line
	case left < 0 && right < 0:
		side = 1
	}
	return reach, side
}

// knee gives by how much the slope grows from the gap on the left to the one
// before knot i, and from there to the one on the right, as far as it is more
// than twice what scatter does; where there is no such gap, as on the other
// side.
func (o *outline) knee(i int) (left, right float64) {
	hasLeft, hasRight := i > 1, i < len(o.knots)-1
	if hasLeft {
		left = o.turn(i - 1)
	}
	if hasRight {
		right = o.turn(i)
	}
	if !hasLeft {
		left = right
	}
	if !hasRight {
		right = left
	}
	return left, right
}

// turn gives by how much the slope grows at inner knot i, less twice its
// standard uncertainty by scatter; nothing where that is more.
func (o *outline) turn(i int) float64 {
	p, q, r := o.knots[i-1], o.knots[i], o.knots[i+1]
	a, b := q.s-p.s, r.s-q.s
	grows := (r.y-q.y)/b - (q.y-p.y)/a
	if o.scatter > 0 {
		u := math.Sqrt(o.own(p)/(a*a) + o.own(q)*square(1/a+1/b) + o.own(r)/(b*b))
		return math.Copysign(max(0, math.Abs(grows)-2*u), grows)
	}
	return grows
}

// measure looks over the gap before knot i for its greatest doubt, at eight
// places, at the tip of the knee's triangle and at the knot. Stretches beyond
// the scale count for nothing.
func (o *outline) measure(i int) gap {
	from, to := 0.0, 1.0
	if i > 0 {
		from = max(0, o.knots[i-1].s)
	}
	if i < len(o.knots) {
		to = min(1, o.knots[i].s)
	}
	var g gap
	look := func(s float64) float64 {
		v := o.variance(i, s)
		if u := math.Sqrt(v); u > g.u*hair {
			g.u, g.at = u, s
		}
		return v
	}
	if i < len(o.knots) && o.knots[i].s >= 0 && o.knots[i].s <= 1 {
		look(o.knots[i].s) // first: among equals the mark itself is meant
	}
	if !(to > from) {
		return g
	}
	for k := range 9 {
		v := look(from + (to-from)*float64(k)/8)
		if k == 0 || k == 8 {
			v /= 2
		}
		g.sum += v * (to - from) / 8
	}
	if i > 0 && i < len(o.knots) {
		left, right := o.knee(i)
		if l, r := math.Abs(left), math.Abs(right); l+r > 0 {
			if tip := o.knots[i-1].s + (o.knots[i].s-o.knots[i-1].s)*r/(l+r); tip > from && tip < to {
				look(tip)
			}
		}
	}
	return g
}

// greatest gives the greatest doubt on the scale and where it is.
func (o *outline) greatest() (u, at float64) {
	for _, g := range o.gaps {
		if g.u > u*hair {
			u, at = g.u, g.at
		}
	}
	return u, at
}

// worst gives the gap to read next: that of the greatest doubt; for a sender
// that moves in steps, which stay as they are, that of most doubt on the whole.
func (o *outline) worst() int {
	worst := 0
	for i, g := range o.gaps {
		if o.steps && g.sum > o.gaps[worst].sum*hair || !o.steps && g.u > o.gaps[worst].u*hair {
			worst = i
		}
	}
	return worst
}

// take adds a reading, which is expected to fall on the curve, and measures
// again what it changes: its own two gaps, and the knees of those beside them.
func (o *outline) take(s float64, again bool) {
	i := sort.Search(len(o.knots), func(i int) bool { return o.knots[i].s >= s })
	if again {
		o.knots[i].n++
		o.refresh(i-1, i+2)
		return
	}
	o.insert(i, s)
	o.gaps = append(o.gaps, gap{})
	copy(o.gaps[i+1:], o.gaps[i:])
	o.refresh(i-1, i+2)
}

func (o *outline) refresh(from, to int) {
	for i := max(0, from); i <= min(to, len(o.gaps)-1); i++ {
		o.gaps[i] = o.measure(i)
	}
}

// insert puts the knot that a first reading at s would make into the gap before
// knot i: where it is expected to fall, by what is known so far.
func (o *outline) insert(i int, s float64) {
	k := knot{s: s, n: 1}
	switch {
	case i == 0:
		next := o.knots[0]
		k.y, k.stays = next.y-(next.s-s), next.stays
	case i == len(o.knots):
		last := o.knots[i-1]
		k.y, k.stays = last.y+(s-last.s), last.stays
	default:
		p, q := o.knots[i-1], o.knots[i]
		t := (s - p.s) / (q.s - p.s)
		k.stays = (1-t)*p.stays + t*q.stays
		switch {
		case o.steps && t <= 0.5:
			k.y = p.y // a step is on the one side or the other, never half-way
		case o.steps:
			k.y = q.y
		default:
			// Half-way to the farthest that a knee might take it.
			reach, side := o.triangle(i, t)
			k.y = min(q.y, max(p.y, p.y+t*(q.y-p.y)+side*reach/2))
		}
	}
	o.knots = append(o.knots, knot{})
	copy(o.knots[i+1:], o.knots[i:])
	o.knots[i] = k
}
