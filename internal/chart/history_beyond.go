package chart

import "sort"

// beyondLong is how long the marks of what lies beyond an axis are, and beyondApart
// how far they stand apart at the least, in pixels.
const beyondLong, beyondApart = 7.0, 4.0

// side says where a figure lies: below a panel's axis (−1), on it, or above it.
func (c Panel) side(v float64) int {
	switch {
	case c.Least >= c.Most: // it goes as far as the figures
		return 0
	case v < c.Least:
		return -1
	case v > c.Most:
		return 1
	}
	return 0
}

// passes says whether some of what was read in a span lies beyond the axis.
func (c Panel) passes(s ReadSpan) bool { return c.side(s.Least) != 0 || c.side(s.Most) != 0 }

// extent is how far a panel's figures go, of those that lie on its axis. Where none
// does it is the whole axis.
func (c Panel) extent() extent {
	var seen extent
	some := false
	for _, l := range c.Lines {
		for _, s := range l.Spans {
			some = true
			for _, v := range []float64{s.Least, s.Mean, s.Most} {
				if c.side(v) == 0 {
					seen.take(v)
				}
			}
		}
	}
	if some && seen.empty() {
		seen.take(c.Least)
		seen.take(c.Most)
	}
	return seen
}

// between says whether the mean of what was read between two stretches of time lay
// beyond the axis. Nothing is drawn across that.
func (c Panel) between(beyond []ReadSpan, before, after TimeSpan) bool {
	i := sort.Search(len(beyond), func(i int) bool { return beyond[i].From >= before.To })
	for ; i < len(beyond) && beyond[i].To <= after.From; i++ {
		if c.side(beyond[i].Mean) != 0 {
			return true
		}
	}
	return false
}

// edgeMarks gives short strokes at the edge beyond which something was read.
func (c Panel) edgeMarks(beyond []ReadSpan, x mapping, g panelFrame) (list [][2]Point) {
	last := [2]float64{-beyondApart, -beyondApart} // at the foot, at the top
	for _, s := range beyond {
		for i, edge := range []struct {
			there    bool
			y, along float64
		}{{c.side(s.Least) < 0, g.bottom, -beyondLong}, {c.side(s.Most) > 0, g.top, beyondLong}} {
			if !edge.there {
				continue
			}
			for at := max(x.at(s.From), min(last[i]+beyondApart, x.at(s.To))); at <= x.at(s.To); at += beyondApart {
				if at < last[i]+beyondApart {
					break
				}
				list = append(list, [2]Point{{at, edge.y}, {at, edge.y + edge.along}})
				last[i] = at
			}
		}
	}
	return list
}

// anyBeyond says whether anything lies beyond the axis of its panel.
func (h History) anyBeyond() bool {
	for _, c := range h.Panels {
		for _, l := range c.Lines {
			for _, s := range l.Spans {
				if c.passes(s) {
					return true
				}
			}
		}
	}
	return false
}
