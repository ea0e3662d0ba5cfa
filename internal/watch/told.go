package watch

import "math"

// conclude settles what is said of the level after a good reading.
func (s *state) conclude(g *engine, e *entry, v *verdict, brought bool) {
	if brought && s.settle > 0 {
		s.settle--
	}
	if g.damping > 0 && brought {
		s.damped += (s.filter.x - s.damped) * (1 - math.Exp(-max(0, float64(e.at-s.last.at)/second)/g.damping))
	} else {
		s.damped = s.filter.x
	}
	switch {
	case s.settle > 0:
		s.unsettled(e)
		return
	case v.fault == JustBeyond && !s.moving:
		if s.fault != JustBeyond {
			s.since = e.at
			s.counts.Faults++
		}
		s.fault, s.status = JustBeyond, OutOfSpec
	default:
		s.fault, s.status, s.since = NoFault, Good, 0
	}
	s.hides = false
	s.last = lastGood{at: e.at, points: s.damped, u: s.doubt(v.slope), known: true}
}

// clipped is by how much the mean of a swinging surface is out where an end of the
// sender cuts its swing off, points: σ·(φ(z) − z·(1 − Φ(z))) for a normal swing at z
// standard deviations from the end, here by an approximation to within a tenth.
func (s *state) clipped() float64 {
	sigma := math.Sqrt(s.noise.sloshVar)
	z := min(100-s.filter.x, s.filter.x) / sigma
	if z > 3 {
		return 0
	}
	z = max(z, 0)
	return sigma * 0.4 * fade(z*(1.25+0.32*z))
}

// fade is exp(-x) for x of 0 or more, to within a thousandth where it is above a
// thousandth: enough for a doubt, and several times as fast.
func fade(x float64) float64 {
	u := x / 32
	v := 1 / (1 + u*(1+u*(1./2+u*(1./6))))
	v *= v
	v *= v
	v *= v
	v *= v
	return v * v
}

// unsettled says that there isn't a level yet.
func (s *state) unsettled(e *entry) {
	s.hides = true
	if s.fault == Flicker && s.status == Failure {
		return
	}
	if s.fault != Unsettled {
		s.since = e.at
	}
	s.fault, s.status = Unsettled, Check
}

// ridingFactor is by how much the variance of the mixture is too large for a 95 %
// interval while the vehicle moves: much of it is that of a use that hardly ever is.
const ridingFactor = 0.95

// doubt gives half of the half width of the 95 % interval, in points, without
// the instrument's own.
func (s *state) doubt(slope float64) float64 {
	steps := 0.0
	if q := slope * s.quantum.step(); q > 0 {
		// A reading in steps of q is out by as much as q/2 either way, all the same
		// likely; 95 % of that is 0.475 q. Where noise carries it over several
		// steps the mean of many knows better, by exp(-2π²σ²/q²).
		ratio := s.noise.still / q
		part := 0.475 * q
		if ratio > 1 {
			part = 0
		} else if ratio > 0.3 && part*part > 0.01*s.filter.p {
			part *= fade(2 * math.Pi * math.Pi * (ratio*ratio - 0.09))
		}
		steps = part
	}
	spread := s.filter.p
	if s.moving {
		spread *= ridingFactor
	}
	wide := math.Sqrt(1.96*1.96*spread + steps*steps)
	if f := s.fresh(); f > 0 {
		wide = math.Sqrt(wide*wide + f*f)
	}
	if s.moving {
		wide += 2 * s.clipped()
	}
	return 0.5 * wide
}
