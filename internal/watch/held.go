package watch

import "math"

// held is a reading that lies too far off to be believed at once.
type held struct {
	n    int32
	at   int64 // of the first
	last int64
	y    float64 // the first's
	e    entry
	v    verdict
}

// waits says that readings lie far off, and that others have to tell whether the
// level has changed; meanwhile it stands, with a doubt that holds both.
func (s *state) waits(e *entry, far float64) {
	s.fault, s.status, s.since = Jump, OutOfSpec, e.at
	s.wide = math.Abs(far) / 2
}

// gross says whether a reading lies so far from the level that one alone isn't
// believed.
func (s *state) gross(g *engine, far, dt float64) bool {
	still := s.noise.still * s.noise.still
	mu, _ := s.filter.moves()
	spread := s.filter.p + (1-mu)*still + mu*s.noise.sloshVar
	if s.settle > 1 {
		// After a spell without readings two have to agree.
		return math.Abs(far) > max(1.5, 4*math.Sqrt(spread-s.filter.p)+2*math.Sqrt(s.filter.p))
	}
	// What slow use may have come to meanwhile.
	slow := 0.05 * dt
	if dt > g.stale {
		slow = 100
	}
	if s.filter.m[running].mu+s.filter.m[tapped].mu > 0.3 {
		slow += 0.5 * g.fastest * dt
	}
	least := 3.0
	if s.moving {
		least = 20
	}
	return math.Abs(far) > max(least, 5.5*math.Sqrt(spread))+slow
}

// staying is how long readings far off have to stay in one place until the level
// is believed to have jumped, s: no vehicle speeds up for so long.
const staying = 20

// pursue follows readings that all lie far off; true where there is nothing more
// to do with this one.
func (s *state) pursue(g *engine, e *entry, v *verdict) bool {
	h := &s.held
	dt := float64(e.at-h.last) / second
	first := float64(h.at-s.at) / second
	possible := math.Abs(h.y-s.filter.x) <= g.fastest*first
	on := v.points - h.y
	if h.y < s.filter.x {
		on = -on
	}
	// A tank that is filled or drained goes on, or stays where it is.
	if noise := max(1, 6*s.noise.still); possible && on > -noise && on < noise+g.fastest*dt {
		// The level may really change: the filter finds out.
		ev, vv := h.e, h.v
		*h = held{}
		s.bring(g, &ev, &vv)
		return false
	}
	if math.Abs(v.points-h.y) > max(0.6, 6*s.noise.still) {
		// It doesn't stay there, so the surface swings.
		*h = held{}
		s.filter.swings()
		return false
	}
	h.n++
	h.last = e.at
	if long := float64(e.at-h.at) / second; long < staying || h.n < 6 && long < 6*staying || h.n < 3 {
		if s.settle > 1 {
			s.unsettled(e)
		} else {
			s.waits(&h.e, h.y-s.filter.x)
		}
		return true
	}
	// It stays: the level jumped while nobody looked.
	s.counts.Jumps++
	s.filter.begin(v.points, s.quietVar(v), s.noise.sloshVar/4)
	for j := range s.filter.m {
		s.filter.m[j].pxx += 1
	}
	s.filter.mix()
	s.at = e.at
	s.n = 0
	s.damped = v.points
	*h = held{}
	s.conclude(g, e, v, true)
	return true
}
