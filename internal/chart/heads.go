package chart

import "math"

// head is a label over the graph.
type head struct {
	role     Role
	at, half float64 // its middle, half its width
	row      int     // from 0 upwards
	string   string
}

// addHeads puts the labels over the graph into as few rows as they need, at
// most three: the name of the axis, the limit, and the claims that leave the
// graph at its top. What finds no room in them is left out.
func (f *frame) addHeads(c Curve) (rows int) {
	add := func(r Role, x float64, s string) {
		if s = fitted(s, usual, f.width-8); s == "" {
			return
		}
		half := textWidth(s, usual) / 2
		h := head{role: r, at: min(f.width-half-4, max(half+4, x)), half: half, string: s}
		for h.row = 0; h.row < 3; h.row++ {
			free := true
			for _, o := range f.headings {
				free = free && (o.row != h.row || math.Abs(o.at-h.at) >= h.half+o.half+10)
			}
			if free {
				f.headings = append(f.headings, h)
				rows = max(rows, h.row+1)
				return
			}
		}
	}
	add(Caption, 0, c.OhmTitle)
	if c.Limit != nil {
		add(Strong, f.x.at(c.Limit.Mark), c.Limit.Label)
	}
	for _, l := range c.Claims {
		if part, ok := f.within(l); ok && part[1].ohm == f.ohms.hi && part[1].ohm != l.FullOhm {
			add(Caption, f.x.at(part[1].mark), l.Label)
		} else if ok && part[0].ohm == f.ohms.hi && part[0].ohm != l.EmptyOhm && l.FullOhm < f.ohms.lo {
			add(Caption, f.x.at(part[0].mark), l.Label)
		}
	}
	return max(1, rows)
}

// heads writes the labels over the graph.
func (f frame) heads(p *pen) {
	for i, h := range f.headings {
		y := f.top - 9 - float64(h.row)*(leading+2)
		if i == 0 { // the name of the axis begins at the edge
			p.text(h.role, h.at-h.half, y, Start, h.string)
			continue
		}
		p.text(h.role, h.at, y, Middle, h.string)
	}
}

// place is a point of a claim, in figures.
type place struct{ mark, ohm float64 }

// within gives the part of a claim, from its empty to its full end, whose ohms
// the graph shows; false where it shows none.
func (f frame) within(l Claim) ([2]place, bool) {
	a, b := place{l.EmptyMark, l.EmptyOhm}, place{l.FullMark, l.FullOhm}
	cut := func(p, q place, limit float64) place {
		t := (limit - p.ohm) / (q.ohm - p.ohm)
		return place{p.mark + t*(q.mark-p.mark), limit}
	}
	lo, hi := f.ohms.lo, f.ohms.hi
	if max(a.ohm, b.ohm) < lo || min(a.ohm, b.ohm) > hi {
		return [2]place{}, false
	}
	part := [2]place{a, b}
	for i, end := range [2][2]place{{a, b}, {b, a}} {
		if end[0].ohm < lo {
			part[i] = cut(end[0], end[1], lo)
		} else if end[0].ohm > hi {
			part[i] = cut(end[0], end[1], hi)
		}
	}
	return part, true
}
