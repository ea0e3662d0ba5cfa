package watch

import "math"

// quietVar is the noise of a reading while the vehicle stands, points².
func (s *state) quietVar(v *verdict) float64 {
	q := 0.29 * v.slope * s.quantum.step()
	return max(s.noise.still*s.noise.still, q*q, leastStill*leastStill)
}

// bring hands a reading to the filter.
func (s *state) bring(g *engine, e *entry, v *verdict) {
	dt := float64(e.at-s.at) / second
	y := v.points
	f := &s.filter
	if dt > 0 {
		if dt != g.step.dt {
			g.step.set(min(dt, 1e6))
		}
		f.foretell(&g.step)
		s.at = e.at
	}
	_, x := f.moves()
	far := y - x
	q := s.quietVar(v)
	s.reverses(e.at, y, q)
	moving := s.noise.moving(max(dt, 1e-3))
	underway := s.moving && s.noise.sloshed > 2 && e.at-s.began >= 0
	f.take(y, dt, noiseVar{q, q}, moving, underway)
	s.scatter(e.at, y, far, dt)
	s.oneSided(e.at, y, far)
	s.climbs(e.at, y)
	s.flattens(e.at, y, v.slope*s.quantum.step())
	s.rests(e.at, y)
}

// scatter learns the noise from a reading and the two before it.
func (s *state) scatter(at int64, y, far, dt float64) {
	mu, _ := s.filter.moves()
	if s.n >= 2 && at > s.t1 && s.t1 > s.t2 && at-s.t2 < 600*second {
		w := float64(s.t1-s.t2) / float64(at-s.t2)
		m := &s.filter.m
		s.noise.bend(s.y1-(s.y2+w*(y-s.y2)), w, max(mu, 0.6-m[quiet].mu-m[drawing].mu))
	}
	s.turns(at)
	s.remember(at, y)
	if mu > 0.5 {
		s.noise.slosh(y, y-far, dt)
	}
	switch {
	case !s.moving && mu > 0.7:
		s.moving, s.began = true, at
		s.departs(at)
		if at-s.anew < 60*second {
			// What looked like rest, with nothing known before, was a surface aslant.
			for j := riding; j < modes; j++ {
				m := &s.filter.m[j]
				m.pxx = max(m.pxx, s.noise.sloshVar)
			}
			s.filter.mix()
		}
	case s.moving && mu < 0.3:
		s.arrives(at)
	}
}

func (s *state) remember(at int64, y float64) {
	s.t2, s.y2 = s.t1, s.y1
	s.t1, s.y1 = at, y
	s.n = min(s.n+1, 3)
}

// departs notes the beginning of a drive, and arrives its end.
func (s *state) departs(at int64) {
	d := &s.drives
	d.from, d.p, d.at, d.ended = s.filter.x, s.filter.p, at, 0
	if s.rest.known {
		d.from, d.p = s.rest.x, s.rest.p
	}
	s.filter.departs(d.share())
	if d := s.filter.x - s.sure; s.sureAt != 0 && at-s.sureAt < recently*second && math.Abs(d) > 0.7 {
		// The level has changed since it rested, and then the vehicle is seen to move:
		// the change may have been the first swing.
		for j := riding; j < modes; j++ {
			s.filter.m[j].pxx += d * d / 2
		}
		s.filter.mix()
	}
}

func (s *state) arrives(at int64) {
	s.moving = false
	s.noise.stop()
	s.drives.ended = at
}

// turns watches the direction of what is taken for a tap or a filling: none of them
// turns round within two minutes, but a surface that swings slowly does.
func (s *state) turns(at int64) {
	m := &s.filter.m
	r := m[running].r
	if m[tapped].mu+m[running].mu < 0.5 || math.Abs(r) < 0.1 {
		return
	}
	if s.flow*r < 0 && at-s.flowAt < 120*second {
		s.filter.stirs()
	}
	s.flow, s.flowAt = r, at
}
