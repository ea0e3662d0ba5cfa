package watch

import "math"

// oneSided watches for readings of a moving vehicle that all lie far off on one
// side of the level, and hardly scatter: no swinging surface does that for long, so
// the vehicle stands, and the level is where they are.
func (s *state) oneSided(at int64, y, far float64) {
	o := &s.side
	if !s.moving || far*o.far <= 0 || math.Abs(far) < max(4, 6*s.noise.recent) {
		*o = side{since: at, y: y, far: far, n: 1}
		return
	}
	o.n++
	long := float64(at-o.since) / second
	if long < oneSidedFor || o.n < 4 {
		return
	}
	s.filter.opens(y, s.noise.recent*s.noise.recent+0.01, (y-o.y)/long)
	s.arrives(at)
	*o = side{}
}

// oneSidedFor is how long that has to last, s.
const oneSidedFor = 60

type side struct {
	since  int64
	y, far float64 // of the first
	n      int32
}

// flat is a stretch of readings that hardly differ.
type flat struct {
	since     int64
	low, high float64
	n         int32
}

// flatFor is how long readings have to stay in one place to show that a vehicle
// which was thought to move stands, s.
const flatFor = 30

// flattens watches for readings that stay in one place while the vehicle is thought
// to move: it stands, and where the level was thought to be elsewhere, it is where
// they are. step is that in which readings come, points.
func (s *state) flattens(at int64, y, step float64) {
	f := &s.flat
	low, high := min(f.low, y), max(f.high, y)
	if !s.moving || f.n == 0 || high-low > max(0.4, min(5*s.noise.still, 1.2), 1.01*step) {
		*f = flat{at, y, y, 1}
		return
	}
	f.low, f.high, f.n = low, high, f.n+1
	if long := at - f.since; long < flatFor*second || f.n < 8 && long < 8*flatFor*second || f.n < 4 {
		return
	}
	mid := (low + high) / 2
	if math.Abs(mid-s.filter.x) < max(0.7, step, 3*math.Sqrt(s.filter.p)) {
		s.filter.stands()
	} else {
		s.filter.opens(mid, (high-low)*(high-low)/4+0.01, 0)
	}
	s.arrives(at)
	*f = flat{}
}

// ramp follows means of readings over two seconds or so that go on one way.
type ramp struct {
	since       int64 // of the mean that is being taken
	sum         float64
	n           int32
	last        float64 // the mean before
	known       bool
	run         int32 // changes in a row with one sign and about one size
	least, most float64
	begun       int64
}

const (
	rampBlock = 2 * second
	rampRun   = 8
)

// climbs watches for readings that go on one way, evenly, while the vehicle is
// thought to move: a surface that swings doesn't, so the tank is being filled or
// drained, just after a drive. Even of a walk at random eight steps in a row go one
// way in one case of 128, evenly much less often, and farther than the surface swings
// hardly ever.
func (s *state) climbs(at int64, y float64) {
	r := &s.ramp
	if !s.moving {
		*r = ramp{}
		return
	}
	if r.n == 0 {
		r.since = at
	}
	r.sum += y
	r.n++
	if at-r.since < rampBlock {
		return
	}
	mean := r.sum / float64(r.n)
	r.sum, r.n = 0, 0
	if !r.known {
		r.last, r.known = mean, true
		return
	}
	d := mean - r.last
	r.last = mean
	if r.run > 0 && d*r.least > 0 && math.Abs(d) >= 0.4*math.Abs(r.most) && math.Abs(d) <= math.Abs(r.least)/0.4 {
		r.run++
		if math.Abs(d) < math.Abs(r.least) {
			r.least = d
		}
		if math.Abs(d) > math.Abs(r.most) {
			r.most = d
		}
	} else {
		r.run, r.least, r.most, r.begun = 1, d, d, at
	}
	if r.run < rampRun || math.Abs(r.least)*float64(r.run) < max(3, 1.5*math.Sqrt(s.noise.sloshVar)) {
		return
	}
	rate := (r.least + r.most) / 2 * float64(r.run-1) / (float64(at-r.begun) / second)
	s.filter.opens(y, s.noise.recent*s.noise.recent+0.04, rate)
	s.arrives(at)
	*r = ramp{}
}
