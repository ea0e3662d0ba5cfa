package watch

import "math"

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

// aliased is the time between readings, s, from which on the swing of a surface may
// look like something slow.
const aliased = 2.5

// take brings a reading in, after foretell for its time of dt seconds; under way
// says that the vehicle has moved for a while.
func (f *filter) take(y, dt float64, still, moving noiseVar, underway bool) {
	// Of the two that move, the noise of one reading says how likely they are
	// together, and the lasting noise which of them is: readings of a surface that
	// hangs aslant for half a minute tell but once that it does.
	a, b := &f.m[riding], &f.m[burning]
	both := a.mu + b.mu
	x := (a.mu*a.x + b.mu*b.x) / max(both, 1e-300)
	v := y - x
	like := density(v*v, a.pxx+moving.one) + outlier
	c, flowing := 1.0, math.Inf(1)
	if underway {
		c = calm(dt)
		if dt > aliased {
			flowing = like
		}
	}
	total, best, nearest := 0.0, 0.0, 1e300
	for j := range riding {
		m := &f.m[j]
		l, z2 := m.update(y, still)
		if j >= tapped {
			// What looks like a flow in a drive is mostly a surface that comes and goes.
			l = min(l, flowing)
		}
		best, nearest = max(best, l), min(nearest, z2)
		m.mu *= l
		total += m.mu
	}
	if underway {
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
