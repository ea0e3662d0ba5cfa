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

// stairs learns whether the float itself moves in steps: then the level stays in places
// that are the same way apart, or twice or three times that.
type stairs struct {
	Calm  float64 // where it stayed last, points
	Begun bool
	Size  float64 // points
	Alike float64 // the part of the ways of late that are so many steps
	N     float64 // how many ways were seen
}

// see takes a block and by how much it differs from the one before.
func (s *stairs) see(x, d, noise float64) {
	if math.Abs(d) > max(0.12, 2*noise) {
		return
	}
	by := math.Abs(x - s.Calm)
	if s.Begun && by < max(0.18, 4*noise) {
		return
	}
	known := s.Begun
	s.Calm, s.Begun = x, true
	if !known || by > 4 {
		return
	}
	k := max(1, math.Round(by/max(s.Size, 0.01)))
	alike := 0.0
	if math.Abs(by-k*s.Size) < min(0.12*s.Size, 0.25) && k <= 3 {
		alike = 1
		s.Size += 0.1 * (by/k - s.Size)
	} else if s.N == 0 || s.Alike < 0.5 {
		s.Size = by
	}
	s.N = min(s.N+1, 100)
	s.Alike += (alike - s.Alike) * max(0.05, 1/s.N)
}

// step gives the size of the steps, points; 0 where it doesn't seem to move in such.
func (s *stairs) step() float64 {
	if s.N < 5 || s.Alike < 0.7 {
		return 0
	}
	return s.Size
}
