package watch

import "math"

// step is what a time step does to the modes; it is the same for all steps of a
// length, so the last one is kept.
type step struct {
	dt float64
	to [modes][modes]float64 // probability that a mode, the first index, is come to from another
	n  [modes]struct{ phi, g, qxx, qxr, qrr float64 }
}

// set works the step out for a length in seconds. Exponentials are replaced by
// rational functions that agree with them where steps are short and have the
// same limits where they are long.
func (s *step) set(dt float64) {
	s.dt = dt
	for i := range change {
		total := 0.0
		for j := range change[i] {
			total += change[i][j]
		}
		leave := total * dt / (1 + total*dt) / total
		for j := range change[i] {
			s.to[j][i] = change[i][j] * leave
		}
		s.to[i][i] = 1 - total*leave
	}
	for j := range s.n {
		r, n := rates[j], &s.n[j]
		u := dt / r.lasts
		v := r.sigma * r.sigma
		n.phi = 1 / (1 + u)
		n.g = dt * n.phi
		w := 1 + u/math.Sqrt(3)
		n.qxx = v*r.lasts*r.lasts*(2./3)*u*u*u/(w*w) + creep*dt
		if j >= riding {
			n.qxx += (creepRiding - creep) * dt
		}
		n.qxr = v * r.lasts * (1 - n.phi) * (1 - n.phi)
		n.qrr = v * (1 - n.phi*n.phi)
	}
}

// most is the largest variance that is worth telling: nothing at all is known.
const most = 50 * 50

// least is the least weight of a mode: below it numbers would get too small to be
// reckoned with fast.
const least = 1e-30

// foretell moves the filter on by a step: what each mode takes over from the
// others, and then what time does to it. A rate isn't taken over: a mode that
// begins knows nothing of it.
func (f *filter) foretell(s *step) {
	// Moments of the modes about the mixture's mean, weighted. Mixing adds them up.
	base := f.x
	var w, wx, wp [modes]float64
	for i := range f.m {
		m := &f.m[i]
		d := m.x - base
		w[i], wx[i], wp[i] = m.mu, m.mu*d, m.mu*(m.pxx+d*d)
	}
	for j := range f.m {
		t := &s.to[j]
		c, x, p := 0.0, 0.0, 0.0
		for i := range t {
			c += t[i] * w[i]
			x += t[i] * wx[i]
			p += t[i] * wp[i]
		}
		m, n := &f.m[j], &s.n[j]
		own := t[j] * w[j]
		if c < least {
			// So that there is something to divide by.
			d := m.x - base
			own, c, x, p = least, least, least*d, least*(m.pxx+d*d)
		}
		inv := 1 / c
		x *= inv
		p = max(p*inv-x*x, 1e-9)
		prior := rates[j].sigma
		m.mu = c
		if prior == 0 {
			m.x, m.pxx = base+x, min(p+n.qxx, most)
			m.r, m.pxr, m.prr = 0, 0, 0
			continue
		}
		own *= inv
		off := m.x - base - x
		r := own * m.r
		d := m.r - r
		// The others' means lie about the mixed one, each with a rate of 0.
		pxr := own * (m.pxr + off*m.r)
		prr := own*(m.prr+d*d) + (1-own)*(prior*prior+r*r)
		m.x = base + x + n.g*r
		m.r = r * n.phi
		m.pxx = p + 2*n.g*pxr + n.g*n.g*prr + n.qxx
		m.pxr = n.phi*(pxr+n.g*prr) + n.qxr
		m.prr = n.phi*n.phi*prr + n.qrr
		if m.pxx > most {
			m.pxr *= math.Sqrt(most / m.pxx)
			m.pxx = most
		}
	}
}
