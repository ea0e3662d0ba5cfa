package watch

import "math"

// shorted says whether a value at the very end of the scale that no ohms are
// needed for is a short circuit: it is, where the level was elsewhere a moment
// ago, and as long as it stays there.
func (s *state) shorted(g *engine, e *entry, v *verdict) bool {
	in := g.in
	if in.own != Ohm || e.signal == Percent || !math.IsInf(in.short, -1) || !s.begun {
		return false
	}
	if v.own > max(0.005*(in.most-in.least), 0.3) {
		return false
	}
	if s.bad > 0 && s.fault == ShortCircuit {
		return true
	}
	far := math.Abs(v.points - s.filter.x)
	dt := float64(e.at-s.at) / second
	reach := 3 * math.Sqrt(s.filter.p)
	if s.moving {
		reach = max(reach, 3.5*math.Sqrt(s.noise.sloshVar))
	}
	return far > max(6, reach) && (far > g.fastest*dt || dt < 600)
}

// lean notes that the vehicle leans too far; the level stands as it was.
func (s *state) lean(e *entry) {
	if s.fault != TooTilted {
		s.since = e.at
		s.counts.Faults++
	}
	s.fault, s.status = TooTilted, OutOfSpec
	s.hides = s.hides || !s.begun
}

// broken notes a reading without a value.
func (s *state) broken(e *entry, f Fault) {
	switch f {
	case BrokenWire:
		s.counts.Open++
	case ShortCircuit:
		s.counts.Short++
	case BeyondSpan:
		s.counts.Beyond++
	default:
		s.counts.NoValue++
	}
	s.held = held{}
	s.rest = rest{}
	s.bad++
	s.hides = true
	if s.bad == 1 {
		s.bouts++
		if !(s.fault == Flicker && s.settle > 0) {
			s.since = e.at
			s.spell = false
		}
	}
	s.bouts *= 0.97
	s.fault = f
	switch {
	case s.bouts > 2.5 && f != NotAvailable:
		s.fault, s.status = Flicker, Failure
		s.settle = 3
	case s.bad >= 2:
		s.status = Failure
		s.settle = 2
	default:
		s.status = Check
	}
	if s.status == Failure && !s.spell {
		s.spell = true
		s.counts.Faults++
	}
}
