package span

import "math"

// lattice is the question whether a rising polyline whose corners stand on
// given abscissas passes a row of doors with so many links. The corners'
// ordinates are given too (rows), or free.
//
// It's answered by going from corner to corner: where a first corner may stand,
// where one link leads from there, and so on, each place being kept with the
// fewest links that reach it; a place reached with few links leads wherever the
// same place reached with more does. With rows a place is a point; without them
// the places at one abscissa are a few stretches, since the lines through a
// stretch and some doors reach a stretch again (a convex set of lines, seen at
// one abscissa). So nothing on the steps is left out, and when no last corner
// is reached there is none.
//
// Where the steps are on the shown figure alone, the plane is laid on its side:
// the doors, upright stretches, become one-sided limits, and a level run becomes
// a jump, which costs a link as well.
type lattice struct {
	at     []float64 // abscissas on which corners may stand, rising
	rows   []float64 // ordinates on which they may stand, rising; none: any
	lo, hi []float64 // between which a corner may stand, at each abscissa
	// Where the first corner may stand and where the last.
	startLo, startHi, endLo, endHi []float64
	lows, highs                    []half // the polyline passes above, and below, by rising x
	jumps                          bool
	// before is the abscissa up to which a first link leads nowhere new.
	before float64
	work   *int
}

// nowhere is a stretch with nothing in it.
const (
	nowhereLo = 1.0
	nowhereHi = 0.0
)

func newLattice(at []float64) *lattice {
	n := len(at)
	room := make([]float64, 6*n)
	return &lattice{at: at, lo: room[:n], hi: room[n : 2*n], startLo: room[2*n : 3*n], startHi: room[3*n : 4*n],
		endLo: room[4*n : 5*n], endHi: room[5*n:], before: math.Inf(-1)}
}

// upright makes the lattice of doors as they stand. They have been narrowed.
func upright(doors []door, at []float64, reach float64, pinned bool) *lattice {
	l := newLattice(at)
	first, last := doors[0], doors[len(doors)-1]
	for _, d := range doors {
		if d.lo > 0 {
			l.lows = append(l.lows, half{d.x, d.lo})
		}
		if d.hi < 100 {
			l.highs = append(l.highs, half{d.x, d.hi})
		}
	}
	if !pinned {
		l.before = first.x
	}
	const near = 1e-9 // an abscissa reckoned a hair beside a door stands on it
	below, above := 0, 0
	for i, x := range at {
		for below < len(doors) && doors[below].x <= x+near {
			below++
		}
		for above < len(doors) && doors[above].x < x-near {
			above++
		}
		l.lo[i], l.hi[i] = 0, 100
		if below > 0 {
			l.lo[i] = doors[below-1].lo
		}
		if above < len(doors) {
			l.hi[i] = doors[above].hi
		}
		l.startLo[i], l.startHi[i] = l.lo[i], l.hi[i]
		if below > 0 {
			l.startHi[i] = min(l.hi[i], first.hi)
		}
		l.endLo[i], l.endHi[i] = l.lo[i], l.hi[i]
		if above < len(doors) {
			l.endLo[i] = max(l.lo[i], last.lo)
		}
		if pinned {
			l.startHi[i], l.endLo[i] = l.hi[i], l.lo[i]
			if i > 0 {
				l.startLo[i], l.startHi[i] = nowhereLo, nowhereHi
			}
			if i < len(at)-1 {
				l.endLo[i], l.endHi[i] = nowhereLo, nowhereHi
			}
		} else if x < reach-near {
			l.endLo[i], l.endHi[i] = nowhereLo, nowhereHi
		}
	}
	return l
}

// lying makes the lattice of doors laid on their side, for corners on given
// shares and at any ohms between two limits. A rising polyline passes the door
// lo..hi at x if it hasn't come beyond x where it reaches lo, and has come as
// far as x where it leaves hi.
func lying(doors []door, at []float64, from, to, reach float64, pinned bool) *lattice {
	l := newLattice(at)
	l.jumps = true
	first, last := doors[0], doors[len(doors)-1]
	for _, d := range doors {
		if d.lo > 0 {
			l.highs = append(l.highs, half{d.lo, d.x})
		}
		if d.hi < 100 {
			l.lows = append(l.lows, half{d.hi, d.x})
		}
	}
	for i, y := range at {
		l.lo[i], l.hi[i] = from, to
		for _, d := range doors {
			if d.hi < y {
				l.lo[i] = max(l.lo[i], d.x)
			}
			if d.lo > y {
				l.hi[i] = min(l.hi[i], d.x)
			}
		}
		l.startLo[i], l.startHi[i] = nowhereLo, nowhereHi
		l.endLo[i], l.endHi[i] = nowhereLo, nowhereHi
		switch {
		case pinned:
			if l.lo[i] <= from {
				l.startLo[i], l.startHi[i] = from, from
			}
			if l.hi[i] >= to {
				l.endLo[i], l.endHi[i] = to, to
			}
			continue
		case y <= first.hi:
			l.startLo[i], l.startHi[i] = l.lo[i], l.hi[i]
		}
		if y >= last.lo {
			l.endLo[i], l.endHi[i] = max(l.lo[i], reach), l.hi[i]
		}
	}
	return l
}

// find gives a polyline of at most so many links, if there is one; not ended
// where the work was used up first.
func (l *lattice) find(links int) (path []vertex, ok, ended bool) {
	if len(l.at) == 0 {
		return nil, false, true
	}
	if *l.work -= len(l.at); *l.work < 0 {
		return nil, false, false
	}
	if l.rows != nil {
		return l.findPoints(links)
	}
	return l.findRuns(links)
}
