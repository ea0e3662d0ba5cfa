package span

import (
	"math"
	"sort"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
)

// tabler holds what the doors are made of. For a falling sender the percents
// are turned, 100 − target, so that they rise with the ohms.
type tabler struct {
	p      *problem
	sign   float64
	marks  []slot  // rising in ohms
	reach  float64 // the ohms before which the last entry must not stand
	pinned bool    // the first entry stands at the first slot, the last at the last

	room []door // where doors are made, again and again
}

// slot is one place on the ohms axis with a target that rises along it.
type slot struct {
	ohm, target float64
	kind        slotKind
	// How far above and below the target may be shown for a score of one, and
	// what is allowed besides.
	up, down, above, below float64
}

type slotKind int

const (
	reading slotKind = iota // the table is judged here
	between                 // the curve passes here
	reach                   // the table must reach to here, no more
)

func newTabler(p *problem, c *curve.Curve, s scale.Scale) *tabler {
	t := &tabler{p: p, sign: p.sign}
	for _, r := range p.readings {
		t.add(slot{ohm: r.ohm, target: r.target, kind: reading, up: r.up, down: r.down, above: r.slack})
	}
	points := c.Points()
	// Enough places between the readings to hold the table to the curve there,
	// and no more than keeps this quick.
	pieces := min(16, max(2, 400/len(points)))
	for i := range len(points) - 1 {
		for k := range pieces {
			mark := points[i].Mark + float64(k)/float64(pieces)*(points[i+1].Mark-points[i].Mark)
			t.add(slot{ohm: p.sign * float64(c.Ohm(mark, curve.Refuse).Ohm), target: float64(s.Target(mark)) * 100, kind: between, up: 1, down: 1})
		}
	}
	// Where the greatest ohms stand, with their margin; any share will do there.
	target := 100.0
	if p.sign < 0 {
		target = 0
	}
	t.add(slot{ohm: p.sign * p.inside, target: target, kind: reach, up: 1, down: 1})
	t.reach = p.inside
	sort.SliceStable(t.marks, func(a, b int) bool { return t.marks[a].ohm < t.marks[b].ohm })
	return t
}

// add takes a slot in the rising orientation; what can't be keyed in is shown
// as the end entry's share, so it counts at the limit.
func (t *tabler) add(m slot) {
	if t.sign < 0 {
		m = slot{-m.ohm, 100 - m.target, m.kind, m.down, m.up, m.below, m.above}
	}
	m.ohm = min(t.p.mostOhm, max(t.p.leastOhm, m.ohm))
	t.marks = append(t.marks, m)
}

// doors gives the doors for a score of e points at the readings and an error of
// d points along the curve between them. They stand until it is asked again.
func (t *tabler) doors(e, d float64) []door {
	doors := t.room[:0]
	for _, m := range t.marks {
		height := 100.0
		switch m.kind {
		case reading:
			height = e
		case between:
			if d >= 100 {
				continue
			}
			height = d
		}
		doors = append(doors, door{m.ohm, max(0, m.target-height*m.down-m.below), min(100, m.target+height*m.up+m.above)})
	}
	t.room = doors
	return doors
}

// table turns a path into entries in rising order of ohms.
func (t *tabler) table(path []vertex) []Entry {
	var table []Entry
	for _, v := range path {
		e := Entry{quantity.Ohm(v.x), quantity.Share(min(100, max(0, v.y)) / 100)}
		if t.sign < 0 {
			e.Share = 1 - e.Share
		}
		if n := len(table); n > 0 && float64(e.Ohm-table[n-1].Ohm) < 1e-9 {
			table[n-1] = e
			continue
		}
		table = append(table, e)
	}
	return table
}

// score gives the score of a table at the readings, in points.
func (t *tabler) score(table []Entry) float64 {
	score, squares, n := 0.0, 0.0, 0.0
	for _, m := range t.marks {
		if m.kind != reading {
			continue
		}
		shown := float64(Table(table).Show(quantity.Ohm(m.ohm))) * 100
		a := at{target: m.target, up: m.up, down: m.down}
		if t.sign < 0 {
			a = at{target: 100 - m.target, up: m.down, down: m.up}
		}
		high, low := a.score(shown)
		score = max(score, high, low)
		squares += (shown - a.target) * (shown - a.target)
		n++
	}
	if t.p.objective == RMS {
		return math.Sqrt(squares / n)
	}
	return score
}
