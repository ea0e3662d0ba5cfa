package watch

import "math"

// rest is the level at which the readings last rested, and what has come since.
type rest struct {
	known bool
	x, p  float64
	at    int64
	last  float64 // the reading before
	first float64 // the first telling change since, points; 0: none
	n     int32   // readings since
}

// rests keeps the level at which a standing vehicle's readings rest.
func (s *state) rests(at int64, y float64) {
	c := &s.rest
	m := &s.filter.m
	c.last = y
	if !s.moving && m[quiet].mu+m[drawing].mu > 0.9 && math.Abs(y-s.filter.x) < max(0.7, 4*s.noise.still) {
		s.drives.look(at, s.filter.x, s.filter.p)
		if s.restSince == 0 {
			s.restSince = at
		}
		if at-s.restSince >= sureFor*second {
			s.sure, s.sureAt = s.filter.x, at
		}
		*c = rest{known: true, x: s.filter.x, p: s.filter.p, at: at, last: y}
		return
	}
	c.n++
	s.restSince = 0
}

// sureFor is how long a level has to rest to be beyond doubt, s, and recently how
// long that still tells against a change when a drive begins.
const (
	sureFor  = 60
	recently = 300
)

// reverses looks for a change that is undone within some readings: no tank is drawn
// from and filled, or filled and drained, so soon, so a surface swings, and the level
// is what it was before.
func (s *state) reverses(at int64, y, q float64) {
	c := &s.rest
	if !c.known || s.moving {
		return
	}
	d := y - c.last
	telling := max(1, 6*math.Sqrt(q))
	if math.Abs(d) < telling {
		return
	}
	if c.first == 0 {
		c.first = d
		return
	}
	if c.first*d > 0 || c.n > 8 || at-c.at > 900*second {
		return
	}
	long := float64(at-c.at) / second
	s.filter.swings()
	for j := riding; j < modes; j++ {
		m := &s.filter.m[j]
		m.x, m.pxx, m.pxr = c.x, c.p+0.0004*long, 0
	}
	s.filter.mix()
	*c = rest{}
}

// fresh is how much wider the interval gets by a change that has only begun, in
// points either way: a swing of the surface begins as a tap or a filling does, and
// each reading more that goes on halves what may still be taken back.
func (s *state) fresh() float64 {
	c := &s.rest
	if !c.known || s.moving || c.n == 0 || c.n > 8 {
		return 0
	}
	return math.Abs(s.filter.x-c.x) / float64(int32(1)<<(c.n-1))
}
