package watch

import "math"

// step is what a time step does to the modes; it is the same for all steps of a
// length, so the last one is kept.
type step struct {
	dt float64
	t  [modes][modes]float64 // probability that a mode gives way to another
	n  [modes]struct{ phi, g, qxx, qxr, qrr float64 }
}

// set works the step out for a length in seconds. Exponentials are replaced by
// rational functions that agree with them where steps are short and have the
// same limits where they are long.
func (s *step) set(dt float64) {
	s.dt = dt
	for i := range s.t {
		total := 0.0
		for j := range s.t[i] {
			total += change[i][j]
		}
		leave := total * dt / (1 + total*dt) / total
		for j := range s.t[i] {
			s.t[i][j] = change[i][j] * leave
		}
		s.t[i][i] = 1 - total*leave
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
	var out [modes]mode
	for j := range out {
		var w [modes]float64
		c, x := 0.0, 0.0
		for i := range w {
			w[i] = s.t[i][j] * f.m[i].mu
			c += w[i]
			x += w[i] * f.m[i].x
		}
		o := &out[j]
		o.mu = c
		if c < least {
			c = least
			w[j] += least // so that there is something to divide by
			x += least * f.m[j].x
			o.mu = c
		}
		inv := 1 / c
		x *= inv
		p := 0.0
		for i := range w {
			d := f.m[i].x - x
			p += w[i] * (f.m[i].pxx + d*d)
		}
		n := &s.n[j]
		prior := rates[j].sigma
		if prior == 0 {
			*o = mode{x: x, pxx: min(p*inv+n.qxx, most), mu: c}
			continue
		}
		self := &f.m[j]
		own := w[j] * inv
		r := own * self.r
		d := self.r - r
		o.x, o.r, o.pxx = x, r, p*inv
		o.prr = own*(self.prr+d*d) + (1-own)*(prior*prior+r*r)
		// The others' means about the mixed one, each with a rate of 0.
		o.pxr = own*(self.pxr+(self.x-x)*d) + own*(self.x-x)*r
		o.x += n.g * o.r
		o.r *= n.phi
		o.pxx += 2*n.g*o.pxr + n.g*n.g*o.prr + n.qxx
		o.pxr = n.phi*(o.pxr+n.g*o.prr) + n.qxr
		o.prr = n.phi*n.phi*o.prr + n.qrr
		if o.pxx > most {
			k := math.Sqrt(most / o.pxx)
			o.pxx = most
			o.pxr *= k
		}
	}
	f.m = out
}
