package span

import "math"

// A corridor is a row of doors, each a stretch lo..hi of y at one x, that a
// polyline has to pass through in order.
type door struct{ x, lo, hi float64 }

// vertex is a corner of a polyline.
type vertex struct{ x, y float64 }

// thread passes a rising polyline of the fewest straight links through the
// doors, or says that more than the given number of links would be needed. The
// doors rise strictly in x and have been narrowed (see narrow). Corners may
// stand anywhere, at doors and between them. To the left of its first corner
// the polyline runs level, and so it does to the right of its last, which must
// not stand before reach; neither costs a link. A pinned polyline begins at the
// first door and ends at the last, and runs level nowhere for nothing.
//
// It is greedy: a link is carried on for as long as some straight line passes
// all its doors. When the next door lies above every such line, the steepest
// of them is kept; it touches a door's upper edge last at some place, and any
// path to the next door must leave the region reached so far by crossing that
// line upwards beyond that place. So the next link needs only to pass below
// that place, below the upper edges since, and through the doors to come; no
// path of as few links reaches further. (Likewise mirrored, below.)
//
// Sources: H. Imai, M. Iri, "An optimal algorithm for approximating a piecewise
// linear function", J. Inf. Process. 9 (1986) 159–162; S. Suri, "A linear time
// algorithm for minimum link paths inside a simple polygon", CVGIP 35 (1986)
// 99–110 (both from memory: the idea, not the text).
func thread(doors []door, links int, reach float64, pinned bool) ([]vertex, bool) {
	if pinned {
		l := newLink()
		l.add(half{doors[0].x, doors[0].lo}, half{doors[0].x, doors[0].hi})
		return follow(doors, 1, l, nil, links, reach)
	}
	// The level start is kept as high as it can be: the first door's upper edge
	// is the lowest of all. It is left beyond the last door whose edge it touches.
	first := doors[0]
	j := 0
	for j < len(doors) && doors[j].lo <= first.hi {
		j++
	}
	end := doors[len(doors)-1].x
	if j == len(doors) {
		y := (doors[len(doors)-1].lo + first.hi) / 2
		return []vertex{{first.x, y}, {end, y}}, true
	}
	touch := j - 1
	for doors[touch].hi > first.hi {
		touch--
	}
	return follow(doors, j+1, leave(doors, touch, j, true), &line{first.x, first.hi, 0}, links, reach)
}

// follow carries on from a first link that has come as far as door j; previous
// is the level it left, or nil where the polyline is pinned.
func follow(doors []door, j int, l *link, previous *line, links int, reach float64) ([]vertex, bool) {
	pinned := previous == nil
	var path []vertex
	corner := func(next line) {
		if previous == nil {
			path = append(path, vertex{doors[0].x, next.at(doors[0].x)})
		} else {
			path = append(path, meet(*previous, next, l.from, l.to))
		}
		previous = &next
	}
	end := doors[len(doors)-1].x
	for ; j < len(doors); j++ {
		d := doors[j]
		if l.admits(d) {
			l.add(half{d.x, d.lo}, half{d.x, d.hi})
			continue
		}
		exit, at := l.steepest, l.steepestAt
		above := d.lo > exit.at(d.x)
		if !above {
			exit, at = l.flattest, l.flattestAt
		}
		corner(exit)
		if links--; links <= 0 && pinned {
			return nil, false
		} else if links <= 0 {
			// What is left must be passed on the level, if it can be.
			lo := max(exit.at(max(at, reach)), doors[len(doors)-1].lo)
			hi := min(d.hi, exit.at(d.x))
			if above || lo > hi || !(exit.slope > 0) {
				return nil, false
			}
			y := (lo + hi) / 2
			return level(append(path, vertex{exit.x0 + (y-exit.y0)/exit.slope, y})), true
		}
		touch := j - 1
		for doors[touch].x > at {
			touch--
		}
		l = leave(doors, touch, j, above)
	}
	last := l.middle()
	if last.slope < 0 && (previous == nil || meet(*previous, last, l.from, l.to).y > lowest(l.highs)) {
		// Lifted, it would miss a door. The steepest line never falls, so a level
		// one passes as well.
		last = line{end, (highest(l.lows) + lowest(l.highs)) / 2, 0}
	}
	corner(last)
	return level(append(path, vertex{end, last.at(end)})), true
}

// highest and lowest give the extreme ordinate of some limits.
func highest(limits []half) float64 {
	y := math.Inf(-1)
	for _, h := range limits {
		y = max(y, h.y)
	}
	return y
}

func lowest(limits []half) float64 {
	y := math.Inf(1)
	for _, h := range limits {
		y = min(y, h.y)
	}
	return y
}

// level lifts any falling link: it can only be there because a level one would
// do as well.
func level(path []vertex) []vertex {
	for i := 1; i < len(path); i++ {
		path[i].y = max(path[i].y, path[i-1].y)
	}
	return path
}

// line is y = y0 + slope·(x − x0).
type line struct{ x0, y0, slope float64 }

func (l line) at(x float64) float64 {
	if math.IsInf(l.slope, 0) {
		return l.slope * (x - l.x0)
	}
	return l.y0 + l.slope*(x-l.x0)
}

// link is the set of straight lines that pass the doors of one link so far,
// known by its steepest and its flattest member. To the right of all its doors
// no member runs above the steepest or below the flattest.
type link struct {
	lows, highs            []half // a line passes above every low, below every high
	steepest, flattest     line
	steepestAt, flattestAt float64 // where they touch on the right
	from, to               float64 // between which the link before is left
}

func newLink() *link {
	return &link{steepest: line{slope: math.Inf(1)}, flattest: line{slope: math.Inf(-1)}}
}

// leave starts the link that crosses the one before it somewhere between the
// door it touched last and door j, which it couldn't pass.
func leave(doors []door, touch, j int, above bool) *link {
	l := newLink()
	l.from, l.to = doors[touch].x, doors[j].x
	for _, d := range doors[touch:j] {
		if above {
			l.addHigh(half{d.x, d.hi})
		} else {
			l.addLow(half{d.x, d.lo})
		}
	}
	l.add(half{doors[j].x, doors[j].lo}, half{doors[j].x, doors[j].hi})
	return l
}

func (l *link) admits(d door) bool {
	return d.lo <= l.steepest.at(d.x) && d.hi >= l.flattest.at(d.x)
}

func (l *link) add(low, high half) {
	// Each is judged by what stood to its left, before either is there.
	l.cutBelow(low)
	l.cutAbove(high)
	l.addLow(low)
	l.addHigh(high)
}

func (l *link) addLow(h half)  { l.lows = append(l.lows, h) }
func (l *link) addHigh(h half) { l.highs = append(l.highs, h) }

// cutAbove takes a new upper limit into account: if the steepest line passes
// above it, the new steepest one goes through it and rests on some low.
func (l *link) cutAbove(h half) {
	if l.steepest.at(h.x) < h.y && !math.IsInf(l.steepest.slope, 1) {
		return
	}
	for _, low := range l.lows {
		if s := (h.y - low.y) / (h.x - low.x); s < l.steepest.slope {
			l.steepest, l.steepestAt = line{h.x, h.y, s}, h.x
		}
	}
}

func (l *link) cutBelow(h half) {
	if l.flattest.at(h.x) > h.y && !math.IsInf(l.flattest.slope, -1) {
		return
	}
	for _, high := range l.highs {
		if s := (h.y - high.y) / (h.x - high.x); s > l.flattest.slope {
			l.flattest, l.flattestAt = line{h.x, h.y, s}, h.x
		}
	}
}

// middle gives a line well inside the set.
func (l *link) middle() line {
	steep, flat := !math.IsInf(l.steepest.slope, 0), !math.IsInf(l.flattest.slope, 0)
	switch {
	case steep && flat:
		slope := (l.steepest.slope + l.flattest.slope) / 2
		x := (l.steepest.x0 + l.flattest.x0) / 2
		return line{x, (l.steepest.at(x) + l.flattest.at(x)) / 2, slope}
	case steep:
		return l.steepest
	default:
		return l.flattest
	}
}

// meet gives the corner of two links, which lies between from and to.
func meet(a, b line, from, to float64) vertex {
	x := to
	if b.slope != a.slope {
		x = (a.y0 - a.slope*a.x0 - b.y0 + b.slope*b.x0) / (b.slope - a.slope)
	}
	x = min(to, max(from, x))
	return vertex{x, a.at(x)}
}

// narrow merges doors at one x and draws each door in to what a rising polyline
// can use of it; false where nothing is left of one. The doors come in rising x,
// and are overwritten.
func narrow(doors []door) ([]door, bool) {
	out := doors[:0]
	for _, d := range doors {
		if n := len(out); n > 0 && d.x <= out[n-1].x {
			out[n-1].lo, out[n-1].hi = max(out[n-1].lo, d.lo), min(out[n-1].hi, d.hi)
			continue
		}
		out = append(out, d)
	}
	for i := 1; i < len(out); i++ {
		out[i].lo = max(out[i].lo, out[i-1].lo)
	}
	for i := len(out) - 2; i >= 0; i-- {
		out[i].hi = min(out[i].hi, out[i+1].hi)
	}
	for _, d := range out {
		if d.lo > d.hi {
			return nil, false
		}
	}
	return out, true
}
