package watch

import "math"

// The filter is an interacting multiple model estimator (Blom and Bar-Shalom,
// IEEE Trans. Automatic Control 33 (1988) 780-783): six Kalman filters, each
// with an idea of its own of what goes on, mixed by how well each foretells the
// readings. The state of each is the level in points of the marks' range and its
// rate in points per second; the rate is an Ornstein-Uhlenbeck process, so it
// dies down when nothing feeds it.
const (
	quiet   = iota // nothing is drawn; the readings are as good as the sender
	drawing        // slow use
	tapped         // a tap runs
	running        // the tank is filled, or drained
	riding         // the vehicle moves, the surface swings, and nothing is drawn
	burning        // the same, with slow use
	modes
)

// rate is the spread of a mode's rate, points/s, and how long a rate lasts, s.
type rate struct{ sigma, lasts float64 }

var rates = [modes]rate{
	quiet:   {0, 1},
	drawing: {0.004, 900},
	tapped:  {0.08, 120},
	running: {0.6, 60},
	riding:  {0, 1},
	burning: {0.004, 1800},
}

// creep is what a level does of itself in any mode, as a random walk, points²/s;
// while the vehicle moves more, since slight use can't be told from none.
const (
	creep       = 6e-6
	creepRiding = 4e-5
)

// change is how often one mode gives way to another, per second.
var change = [modes][modes]float64{
	quiet:   {drawing: 1. / 1800, tapped: 1. / 3000, running: 1. / 6000, riding: 1. / 4000, burning: 1. / 4000},
	drawing: {quiet: 1. / 900, tapped: 1. / 3000, running: 1. / 6000, riding: 1. / 6000, burning: 1. / 3000},
	tapped:  {quiet: 1. / 100, drawing: 1. / 300, running: 1. / 1000, riding: 1. / 3000, burning: 1. / 6000},
	running: {quiet: 1. / 100, drawing: 1. / 300, tapped: 1. / 300, riding: 1. / 1500, burning: 1. / 3000},
	riding:  {quiet: 1. / 600, drawing: 1. / 1800, tapped: 1e-6, running: 1e-6, burning: 1. / 1800},
	burning: {quiet: 1. / 600, drawing: 1. / 1800, tapped: 1e-6, running: 1e-6, riding: 1. / 1800},
}

// mode is one Kalman filter with its weight.
type mode struct {
	x, r          float64 // points, points/s
	pxx, pxr, prr float64
	mu            float64
}

// filter is all of them and what they make together.
type filter struct {
	m    [modes]mode
	x, p float64 // mean and variance of the mixture
}

// begin starts the filter at a reading whose noise isn't known yet.
func (f *filter) begin(y, quietVar, sloshVar float64) {
	weights := [modes]float64{0.6, 0.15, 0.05, 0.05, 0.10, 0.05}
	for j := range f.m {
		v := quietVar
		if j >= riding {
			v = sloshVar
		}
		s := rates[j].sigma
		f.m[j] = mode{x: y, pxx: v, prr: s * s, mu: weights[j]}
	}
	f.mix()
}

// mix works out the mean and the variance of the mixture.
func (f *filter) mix() {
	x := 0.0
	for j := range f.m {
		x += f.m[j].mu * f.m[j].x
	}
	p := 0.0
	for j := range f.m {
		m := &f.m[j]
		d := m.x - x
		p += m.mu * (m.pxx + d*d)
	}
	f.x, f.p = x, p
}

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

// outlier is the density of readings that have nothing to do with the level, per
// point: one in a thousand, anywhere on the scale.
const outlier = 1e-5

// degrees of freedom of Student's t, by which each mode weighs a reading: a
// reading far out counts the less the farther it is.
const degrees = 4

// noiseVar is the noise that a mode expects: of one reading, and what one
// reading counts for in the long run, which differs where the noise isn't white.
type noiseVar struct{ one, lasting float64 }

// calming is how fast calm readings may speak against a vehicle that has moved for a
// while, s: at best by a factor e in so long a time, because a surface also rests,
// aslant, while a vehicle speeds up or takes a bend. Readings that a standing
// vehicle explains as well speak no faster for one that moves.
const calming = 5.0

// take brings a reading in, after foretell for its time of dt seconds; under way
// says that the vehicle has moved for a while.
func (f *filter) take(y, dt float64, still, moving noiseVar, underway bool) {
	total, best, nearest := 0.0, 0.0, 1e300
	for j := range riding {
		m := &f.m[j]
		like, z2 := m.update(y, still)
		best, nearest = max(best, like), min(nearest, z2)
		m.mu *= like
		total += m.mu
	}
	// Of the two that move, the noise of one reading says how likely they are
	// together, and the lasting noise which of them is: readings of a surface that
	// hangs aslant for half a minute tell but once that it does.
	a, b := &f.m[riding], &f.m[burning]
	both := a.mu + b.mu
	x := (a.mu*a.x + b.mu*b.x) / max(both, 1e-300)
	v := y - x
	like := density(v*v, a.pxx+moving.one) + outlier
	if underway {
		c := calm(dt)
		like = max(like, best*c)
		if nearest < 9 {
			like = min(like, best/c)
		}
	}
	va, vb := y-a.x, y-b.x
	ra := a.mu * density(va*va, a.pxx+moving.lasting)
	rb := b.mu * density(vb*vb, b.pxx+moving.lasting)
	a.update(y, moving)
	b.update(y, moving)
	if r := ra + rb; r > 0 {
		a.mu, b.mu = both*like*ra/r, both*like*rb/r
	} else {
		a.mu, b.mu = a.mu*like, b.mu*like
	}
	total += a.mu + b.mu
	inv := 1 / total
	for j := range f.m {
		f.m[j].mu *= inv
	}
	f.mix()
}

// density is that of Student's t with 4 degrees of freedom for a scale of √s, at a
// distance given by its square: 3/8·(1 + z²/4)^(-5/2)/√s.
func density(v2, s float64) float64 {
	a := 1 + v2/(s*degrees)
	return 0.375 / (a * a * math.Sqrt(a*s))
}

// update brings a reading into one mode. It gives how likely the reading was, and
// the square of its distance in standard deviations.
func (m *mode) update(y float64, n noiseVar) (like, z2 float64) {
	v := y - m.x
	s := m.pxx + n.one
	z2 = v * v / s
	a := 1 + z2/degrees
	like = 0.375/(a*a*math.Sqrt(a*s)) + outlier
	// The weight of Student's t, min(1, (ν+1)/(ν+z²)).
	lasting := n.lasting * max(1, degrees*a/(degrees+1))
	k := 1 / (m.pxx + lasting)
	kx, kr := m.pxx*k, m.pxr*k
	m.x += kx * v
	m.r += kr * v
	m.prr -= kr * m.pxr
	m.pxr *= 1 - kx
	m.pxx *= 1 - kx
	return like, z2
}

// moves gives how likely it is that the vehicle moves, and the level that is
// foretold if it does.
func (f *filter) moves() (mu, x float64) {
	a, b := &f.m[riding], &f.m[burning]
	mu = a.mu + b.mu
	if !(mu > 1e-200) {
		return 0, f.x
	}
	return mu, (a.mu*a.x + b.mu*b.x) / mu
}

// calm is exp(-dt/calming), nearly: the rational function is above it for short
// steps by less than a thousandth, and stays above 0.
func calm(dt float64) float64 {
	u := dt / calming
	return max(1/(1+u+u*u/2+u*u*u/6), 0.2)
}

// opens says that the level is where the readings are, whatever was thought: y
// with a variance, changing at a rate in points/s.
func (f *filter) opens(y, v, r float64) {
	weights := [modes]float64{0.2, 0.1, 0.2, 0.4, 0.05, 0.05}
	for j := range f.m {
		m := &f.m[j]
		s := rates[j].sigma
		*m = mode{x: y, pxx: v, prr: s * s, mu: weights[j]}
		if j == running {
			m.r, m.prr = r, 0.01
		}
	}
	f.mix()
}

// stands says that the vehicle is seen to stand, at the level that is known.
func (f *filter) stands() {
	weights := [modes]float64{0.6, 0.25, 0.03, 0.03, 0.05, 0.04}
	for j := range f.m {
		m := &f.m[j]
		if j < riding {
			s := rates[j].sigma
			*m = mode{x: f.x, pxx: f.p, prr: s * s}
		}
		m.mu = weights[j]
	}
	f.mix()
}

// burningShare is how often something is drawn while a vehicle moves.
const burningShare = 0.3

// departs forgets, at the beginning of a drive, what standing still seemed to tell
// of use while driving.
func (f *filter) departs() {
	a, b := &f.m[riding], &f.m[burning]
	both := a.mu + b.mu
	sigma := rates[burning].sigma
	*b = mode{x: a.x, pxx: a.pxx, prr: sigma * sigma, mu: burningShare * both}
	a.mu = both - b.mu
}

// stirs says that the vehicle may have begun to move.
func (f *filter) stirs() {
	for j := range f.m {
		f.m[j].mu *= 0.7
	}
	f.m[riding].mu += 0.3
	f.mix()
}

// swings says that the vehicle is seen to move: what the level was counts on.
func (f *filter) swings() {
	for j := range f.m {
		m := &f.m[j]
		m.mu *= 0.02
		if j >= riding {
			m.mu += 0.49
			m.x, m.pxx, m.pxr = f.x, f.p, 0
		}
	}
	f.mix()
}
