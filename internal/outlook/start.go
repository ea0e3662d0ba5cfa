package outlook

import "math"

// step goes on by a day: the number of days without use, 0 after one with.
func step(run int, chance float64, x uint64) int {
	if float64(x>>44)/(1<<20) < chance {
		return 0
	}
	return run + 1
}

// positive is a draw of a rate that has a mean and a standard deviation and isn't
// below 0: of the log-normal whose
// median is the mean.
func positive(mean, u, z, floor float64) float64 {
	mean = max(mean, floor)
	if mean <= 0 {
		return 0
	}
	v := math.Log1p(u * u / (mean * mean))
	v = min(v, 4)
	return mean * math.Exp(math.Sqrt(v)*z)
}

// opened is how things stand as a walk begins.
type opened struct {
	n   int32 // the day after the last that is known
	run int   // days without use before that
	on  bool  // the tank has been used today
	off bool  // it hasn't, so far as was seen
}

// start finds out how things stand on a day.
func (m *Model) start(r *reckoning, today int32) opened {
	s := opened{n: today}
	if len(m.days) == 0 {
		return s
	}
	i := len(m.days) - 1
	if m.days[i].n == today {
		switch {
		case r.habit.state[i] == used:
			s.on = true
		case m.days[i].amount <= usedFrom*r.habit.usual:
			s.off = true
		}
		i--
	}
	if i < 0 {
		return s
	}
	s.n = m.days[i].n + 1
	for ; i >= 0 && r.habit.state[i] == idle; i-- {
		s.run++
	}
	return s
}

// today is the chance of use on the day that has begun, with what was seen of it: none
// up to now makes it less likely.
func (s *opened) today(p float64, sh *shape, gone float64) float64 {
	switch {
	case s.on:
		return 1
	case s.off:
		rest := p * (1 - sh.until(gone))
		return rest / (rest + 1 - p + 1e-9)
	}
	return p
}
