package flow

import "math"

// grain learns in what steps a sender is read, and what a step is of the level: one
// step more or less is no use, and no pause either.
type grain struct {
	Raw    float64 // the reading before
	Least  float64 // the least difference of two readings, in the reading's unit
	Fewer  int32   // readings that differed by less of late
	AtRaw  float64 // a reading and its level, from which the slope is taken
	AtX    float64
	Slope  float64 // points per unit; 0: not known yet
	Begun  bool
	Placed bool
}

// see takes a reading's own value.
func (g *grain) see(raw float64) {
	if !g.Begun {
		g.Raw, g.Begun = raw, true
		return
	}
	d := math.Abs(raw - g.Raw)
	g.Raw = raw
	if !(d > 1e-7*math.Abs(raw)) || d > 1e12 {
		return
	}
	switch {
	case g.Least == 0:
		g.Least = d
	case d < 0.75*g.Least:
		if g.Fewer++; g.Fewer >= 3 {
			g.Least, g.Fewer = d, 0
		}
	}
}

// place learns the slope from the reading and the level at the end of a minute.
func (g *grain) place(x float64) {
	switch {
	case !g.Placed:
		g.AtRaw, g.AtX, g.Placed = g.Raw, x, true
	case math.Abs(x-g.AtX) > 2.5:
		if d := math.Abs(g.Raw - g.AtRaw); d > 0 {
			g.Slope = math.Abs(x-g.AtX) / d
		}
		g.AtRaw, g.AtX = g.Raw, x
	}
}

// points gives the step, at most 3 points; 0 where it isn't known.
func (g *grain) points() float64 {
	return min(g.Least*g.Slope, 3)
}
