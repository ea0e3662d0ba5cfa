package sitting

import (
	"math"

	"gaugewright/internal/curve"
)

// pass is how far the first two sweeps have come.
type pass struct {
	marks    []float64 // the ladder
	begun    curve.Sweep
	now      curve.Sweep // of the last reading
	furthest [3]float64  // by sweep; infinite where nothing was read
	several  [3]bool     // more than one mark was read
	stands   float64     // where the sender stands now; NaN where nobody knows
}

// near is how far from a mark of the ladder a reading still counts as one of it,
// in parts of the step there.
const near = 0.25

// passOf looks at what was read. Where a reading has no sweep it has that by
// which its mark follows from the one before.
func passOf(readings []curve.Reading, marks []float64, sweep curve.Sweep, at *float64) pass {
	p := pass{marks: marks, furthest: [3]float64{curve.Up: math.Inf(-1), curve.Down: math.Inf(1)}, stands: math.NaN()}
	top, bottom := marks[len(marks)-1], marks[0]
	for i, r := range readings {
		s := r.Sweep
		switch {
		case i == 0 && r.Mark <= bottom+p.slack(0):
			s = curve.Up // from the end there is one way only, whatever led there
		case i == 0 && r.Mark >= top-p.slack(len(marks)-1):
			s = curve.Down
		case s != curve.Unstated:
		case i == 0 && (r.Mark < (top+bottom)/2 || len(readings) > 1 && readings[1].Mark > r.Mark):
			s = curve.Up
		case i == 0:
			s = curve.Down
		case r.Mark > readings[i-1].Mark:
			s = curve.Up
		case r.Mark < readings[i-1].Mark:
			s = curve.Down
		default:
			s = p.now
		}
		if p.begun == curve.Unstated {
			p.begun = s
		}
		before := p.furthest[s]
		if s == curve.Up {
			p.furthest[s] = max(before, r.Mark)
		} else {
			p.furthest[s] = min(before, r.Mark)
		}
		p.several[s] = p.several[s] || !math.IsInf(before, 0) && r.Mark != before
		p.now, p.stands = s, r.Mark
	}
	if at != nil {
		p.stands = *at
	}
	if p.begun == curve.Unstated {
		p.begun, p.now = curve.Up, curve.Up
		// Nothing was read: someone who says so, or stands at the top, goes down.
		if sweep == curve.Down || sweep == curve.Unstated && p.stands >= top-p.slack(len(marks)-1) {
			p.begun, p.now = curve.Down, curve.Down
		}
	} else if sweep != curve.Unstated && p.several[p.now] {
		p.now = sweep // the fitter has turned round
	}
	return p
}

// slack is how far from mark i of the ladder a reading still counts as one.
func (p pass) slack(i int) float64 {
	step := math.Inf(1)
	if i > 0 {
		step = p.marks[i] - p.marks[i-1]
	}
	if i+1 < len(p.marks) {
		step = min(step, p.marks[i+1]-p.marks[i])
	}
	return near * step
}

// over says whether a sweep has come to its end.
func (p pass) over(s curve.Sweep) bool {
	_, ok := p.beyond(s, p.furthest[s])
	return !ok
}

// beyond gives the first mark of the ladder that a sweep meets beyond a place;
// false where there is none.
func (p pass) beyond(s curve.Sweep, place float64) (float64, bool) {
	last := len(p.marks) - 1
	for k := range p.marks {
		i, way := k, 1.0
		if s == curve.Down {
			i, way = last-k, -1
		}
		if way*(p.marks[i]-place) > p.slack(i) {
			return p.marks[i], true
		}
	}
	return 0, false
}

func other(s curve.Sweep) curve.Sweep {
	if s == curve.Up {
		return curve.Down
	}
	return curve.Up
}

// next gives the next mark of the first two sweeps; false when both are done.
func (p pass) next(unit curve.MarkUnit) (Next, bool) {
	first, second := p.begun, other(p.begun)
	// Once turned round and back at the end, nothing is left of the first,
	// however far it went.
	if p.over(second) && p.several[first] {
		return Next{}, false
	}
	s := p.now
	if p.over(s) {
		s = other(s)
	}
	if p.over(s) {
		return Next{}, false
	}
	mark, turn, ok := p.way(s)
	if !ok {
		// What is left of this sweep lies behind: it is done, and the other follows.
		if s = other(s); p.over(s) {
			return Next{}, false
		}
		if mark, turn, ok = p.way(s); !ok {
			return Next{}, false
		}
	}
	n := Next{Known: true, Mark: mark, Sweep: s, First: true, Words: "next: " + unit.Text(mark) + going(s, mark, p.stands)}
	if turn && p.towards(mark) == s {
		n.Words = "turn round: from here go " + s.String() + " to " + unit.Text(mark)
	}
	if math.IsNaN(p.stands) {
		n.Words = "begin at " + unit.Text(mark) + going(s, mark, p.stands)
	}
	return n, true
}

// way gives the next mark of a sweep from where the sender stands, and whether
// that means turning round.
func (p pass) way(s curve.Sweep) (mark float64, turn, ok bool) {
	begun := !math.IsInf(p.furthest[s], 0)
	from := p.furthest[s]
	if !begun && !math.IsInf(p.furthest[other(s)], 0) {
		// The end where the other sweep turned is common to both.
		from = p.furthest[other(s)]
		turn = true
	}
	if !math.IsNaN(p.stands) && begun && p.now == s {
		// Someone who has gone on already isn't sent back.
		if s == curve.Up {
			from = max(from, p.stands-2*p.slackAt(p.stands))
		} else {
			from = min(from, p.stands+2*p.slackAt(p.stands))
		}
	}
	mark, ok = p.beyond(s, from)
	return mark, turn, ok
}

// slackAt is slack for the mark of the ladder nearest to a place.
func (p pass) slackAt(at float64) float64 {
	best := 0
	for i, m := range p.marks {
		if math.Abs(m-at) < math.Abs(p.marks[best]-at) {
			best = i
		}
	}
	return p.slack(best)
}

// towards gives the sweep that leads to a mark from where the sender stands.
func (p pass) towards(mark float64) curve.Sweep {
	switch {
	case mark > p.stands:
		return curve.Up
	case mark < p.stands:
		return curve.Down
	}
	return p.now
}
