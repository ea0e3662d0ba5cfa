package watch

import (
	"math"

	"gaugewright/internal/quantity"
)

func radian(v float64) quantity.Radian { return quantity.Radian(v) }

// state is all that the readings of one source so far have come to. It holds no
// pointers, so a copy is a snapshot.
type state struct {
	filter  filter
	noise   noise
	quantum quantum
	begun   bool
	at      int64 // of the filter
	newest  int64 // of the newest reading, good or not
	entry   entry // the newest reading
	own     float64

	// The two readings before this one that were brought in, for the noise.
	t1, t2 int64
	y1, y2 float64
	n      int32

	held    held
	rest    rest
	side    side
	flat    flat
	anew    int64 // when nothing was known of the level
	ramp    ramp
	began   int64 // when the vehicle began to move
	moving  bool
	settle  int32 // good readings still to come before there is a level to show
	cadence float64

	fault   Fault // of the newest reading or of the spell that it is in
	status  Status
	since   int64
	bad     int32 // readings of a broken spell so far
	bouts   float64
	spell   bool // the spell was counted
	hides   bool // no level is shown
	damped  float64
	last    lastGood
	counts  Counts
	wide    float64 // a doubt that is taken on while a reading far off waits for another, points
	clockAt int64   // until when the clock is doubted
}

// held is a reading that lies too far off to be believed at once.
type held struct {
	n    int32
	at   int64 // of the first
	last int64
	y    float64 // the first's
	e    entry
	v    verdict
}

// lastGood is the last good level, in points.
type lastGood struct {
	at      int64
	points  float64
	u       float64 // points
	known   bool
	damping bool
}

const second = 1e9

// engine is what doesn't change: the instrument and the settings in seconds.
type engine struct {
	in      *Instrument
	stale   float64
	late    int64
	damping float64
	fastest float64 // points/s
	step    step    // the last time step's
}

// take brings one reading in. Readings come in the order of their times.
func (s *state) take(g *engine, e *entry) {
	s.counts.Taken++
	if s.newest != 0 && s.begun {
		d := float64(e.at-s.newest) / second
		if s.cadence == 0 {
			s.cadence = d
		}
		s.cadence += 0.1 * (min(d, 3*s.cadence+0.01) - s.cadence)
		if d > max(g.stale, 20*s.cadence) {
			s.settle = max(s.settle, 2)
			s.anew = e.at
		}
	}
	s.newest, s.entry = e.at, *e
	v := g.in.judge(e)
	s.own = v.own
	if v.fault == NoFault || v.fault == JustBeyond {
		if s.shorted(g, e, &v) {
			v.fault = ShortCircuit
		}
	}
	switch v.fault {
	case NoFault, JustBeyond:
		s.good(g, e, &v)
	case TooTilted:
		s.lean(e)
	default:
		s.broken(e, v.fault)
	}
}

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

// good brings a reading with a value in.
func (s *state) good(g *engine, e *entry, v *verdict) {
	s.wide = 0
	s.bouts *= 0.97
	mended := s.bad >= 2
	s.bad = 0
	s.quantum.see(e.value)
	if !s.begun {
		s.noise.begin()
		s.filter.begin(v.points, s.quietVar(v), s.noise.sloshVar)
		s.begun, s.at, s.settle = true, e.at, 1
		s.anew = e.at
		s.remember(e.at, v.points)
		s.damped = v.points
		s.conclude(g, e, v, false)
		return
	}
	if mended || s.settle > 1 {
		s.n = 0
	}
	dt := float64(e.at-s.at) / second
	far := v.points - s.filter.x
	gross := s.gross(g, far, dt)
	switch {
	case s.held.n == 0 && gross:
		s.held = held{n: 1, at: e.at, last: e.at, y: v.points, e: *e, v: *v}
		if s.settle > 1 {
			s.unsettled(e)
			return
		}
		if math.Abs(far) <= g.fastest*dt {
			s.waits(e, far)
		}
		return
	case s.held.n > 0 && !gross:
		s.counts.Spikes += uint64(s.held.n)
		if math.Abs(s.held.y-s.filter.x) < 25 {
			// It may have been the first swing of a surface.
			s.filter.stirs()
		}
		s.held = held{}
	case s.held.n > 0:
		if s.pursue(g, e, v) {
			return
		}
	}
	s.bring(g, e, v)
	s.conclude(g, e, v, true)
}

// waits says that readings lie far off, and that others have to tell whether the
// level has changed; meanwhile it stands, with a doubt that holds both.
func (s *state) waits(e *entry, far float64) {
	s.fault, s.status, s.since = Jump, OutOfSpec, e.at
	s.wide = math.Abs(far) / 2
}

// gross says whether a reading lies so far from the level that one alone isn't
// believed.
func (s *state) gross(g *engine, far, dt float64) bool {
	still := s.noise.still * s.noise.still
	mu, _ := s.filter.moves()
	spread := s.filter.p + (1-mu)*still + mu*s.noise.sloshVar
	if s.settle > 1 {
		// After a spell without readings two have to agree.
		return math.Abs(far) > max(1.5, 4*math.Sqrt(spread-s.filter.p)+2*math.Sqrt(s.filter.p))
	}
	// What slow use may have come to meanwhile.
	slow := 0.05 * dt
	if dt > g.stale {
		slow = 100
	}
	if s.filter.m[running].mu+s.filter.m[tapped].mu > 0.3 {
		slow += 0.5 * g.fastest * dt
	}
	least := 3.0
	if s.moving {
		least = 20
	}
	return math.Abs(far) > max(least, 5.5*math.Sqrt(spread))+slow
}

// staying is how long readings far off have to stay in one place until the level
// is believed to have jumped, s: no vehicle speeds up for so long.
const staying = 20

// pursue follows readings that all lie far off; true where there is nothing more
// to do with this one.
func (s *state) pursue(g *engine, e *entry, v *verdict) bool {
	h := &s.held
	dt := float64(e.at-h.last) / second
	first := float64(h.at-s.at) / second
	possible := math.Abs(h.y-s.filter.x) <= g.fastest*first
	on := v.points - h.y
	if h.y < s.filter.x {
		on = -on
	}
	// A tank that is filled or drained goes on, or stays where it is.
	if noise := max(1, 6*s.noise.still); possible && on > -noise && on < noise+g.fastest*dt {
		// The level may really change: the filter finds out.
		ev, vv := h.e, h.v
		*h = held{}
		s.bring(g, &ev, &vv)
		return false
	}
	if math.Abs(v.points-h.y) > max(0.6, 6*s.noise.still) {
		// It doesn't stay there, so the surface swings.
		*h = held{}
		s.filter.swings()
		return false
	}
	h.n++
	h.last = e.at
	if h.n < 3 || float64(e.at-h.at)/second < staying {
		if s.settle > 1 {
			s.unsettled(e)
		} else {
			s.waits(&h.e, h.y-s.filter.x)
		}
		return true
	}
	// It stays: the level jumped while nobody looked.
	s.counts.Jumps++
	s.filter.begin(v.points, s.quietVar(v), s.noise.sloshVar/4)
	for j := range s.filter.m {
		s.filter.m[j].pxx += 1
	}
	s.filter.mix()
	s.at = e.at
	s.n = 0
	s.damped = v.points
	*h = held{}
	s.conclude(g, e, v, true)
	return true
}

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
	s.flattens(e.at, y)
	s.rests(e.at, y)
}

// scatter learns the noise from a reading and the two before it.
func (s *state) scatter(at int64, y, far, dt float64) {
	mu, _ := s.filter.moves()
	if s.n >= 2 && at > s.t1 && s.t1 > s.t2 && at-s.t2 < 600*second {
		w := float64(s.t1-s.t2) / float64(at-s.t2)
		s.noise.bend(s.y1-(s.y2+w*(y-s.y2)), w, mu)
	}
	s.remember(at, y)
	if mu > 0.5 {
		s.noise.slosh(y, y-far, dt)
	}
	switch {
	case !s.moving && mu > 0.7:
		s.moving, s.began = true, at
		if at-s.anew < 60*second {
			// What looked like rest, with nothing known before, was a surface aslant.
			for j := riding; j < modes; j++ {
				m := &s.filter.m[j]
				m.pxx = max(m.pxx, s.noise.sloshVar)
			}
			s.filter.mix()
		}
	case s.moving && mu < 0.3:
		s.moving = false
		s.noise.stop()
	}
}

// oneSided watches for readings of a moving vehicle that all lie on one side of
// the level, and hardly scatter: no swinging surface does that for long, so the
// vehicle stands, and the level is where they are.
func (s *state) oneSided(at int64, y, far float64) {
	o := &s.side
	if !s.moving || far*o.sum <= 0 {
		*o = side{since: at, y: y, sum: far, n: 1}
		return
	}
	o.sum += far
	o.n++
	long := float64(at-o.since) / second
	if long < oneSidedFor || o.n < 4 || math.Abs(o.sum)/float64(o.n) < max(6, 10*s.noise.recent) {
		return
	}
	s.filter.opens(y, s.noise.recent*s.noise.recent+0.01, (y-o.y)/long)
	s.moving = false
	s.noise.stop()
	*o = side{}
}

// oneSidedFor is how long that has to last, s.
const oneSidedFor = 60

type side struct {
	since  int64
	y, sum float64
	n      int32
}

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
		*c = rest{known: true, x: s.filter.x, p: s.filter.p, at: at, last: y}
		return
	}
	c.n++
}

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
		m.x, m.pxx = c.x, c.p+0.0004*long
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

// flat is a stretch of readings that hardly differ.
type flat struct {
	since     int64
	low, high float64
	n         int32
}

// flatFor is how long readings have to stay in one place to show that a vehicle
// which was thought to move stands, s, where the level was thought to be elsewhere.
const flatFor = 30

// flattens watches for readings that stay in one place, away from the level, while
// the vehicle is thought to move: it stands, and the level is where they are.
func (s *state) flattens(at int64, y float64) {
	f := &s.flat
	low, high := min(f.low, y), max(f.high, y)
	if !s.moving || f.n == 0 || high-low > max(0.4, min(5*s.noise.still, 1.2)) {
		*f = flat{at, y, y, 1}
		return
	}
	f.low, f.high, f.n = low, high, f.n+1
	if f.n < 5 || at-f.since < flatFor*second {
		return
	}
	mid := (low + high) / 2
	if math.Abs(mid-s.filter.x) < max(0.7, 3*math.Sqrt(s.filter.p)) {
		return
	}
	s.filter.opens(mid, (high-low)*(high-low)/4+0.01, 0)
	s.moving = false
	s.noise.stop()
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
	rampRun   = 6
)

// climbs watches for readings that go on one way, evenly, while the vehicle is
// thought to move: a surface that swings doesn't, so the tank is being filled or
// drained, just after a drive. Of numbers in no order six in a row rise in one
// case of 5,040, and hardly ever evenly.
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
	if r.run > 0 && d*r.least > 0 && math.Abs(d) >= 0.3*math.Abs(r.most) && math.Abs(d) <= math.Abs(r.least)/0.3 {
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
	if r.run < rampRun || math.Abs(r.least)*rampRun < 3 {
		return
	}
	rate := (r.least + r.most) / 2 * float64(r.run-1) / (float64(at-r.begun) / second)
	s.filter.opens(y, s.noise.recent*s.noise.recent+0.04, rate)
	s.moving = false
	s.noise.stop()
	*r = ramp{}
}

func (s *state) remember(at int64, y float64) {
	s.t2, s.y2 = s.t1, s.y1
	s.t1, s.y1 = at, y
	s.n = min(s.n+1, 3)
}

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

// friction is how far a float may stand off the surface for all that is known of
// it, points: half the width of the interval that is never undercut. Bearings and
// seals hold a float by a few tenths of a percent of its travel (common practice,
// no source), and no reading shows it.
const friction = 0.24

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

// doubt gives half of the half width of the 95 % interval, in points, without
// the instrument's own.
func (s *state) doubt(slope float64) float64 {
	steps := friction
	if q := slope * s.quantum.step(); q > 0 {
		// A reading in steps of q is out by as much as q/2 either way, all the same
		// likely; 95 % of that is 0.475 q. Where noise carries it over several
		// steps the mean of many knows better, by exp(-2π²σ²/q²).
		ratio := s.noise.still / q
		part := 0.475 * q
		if ratio > 1 {
			part = 0
		} else if ratio > 0.3 {
			part *= fade(2 * math.Pi * math.Pi * (ratio*ratio - 0.09))
		}
		steps = max(steps, part)
	}
	wide := math.Sqrt(1.96*1.96*s.filter.p + steps*steps)
	if f := s.fresh(); f > 0 {
		wide = math.Sqrt(wide*wide + f*f)
	}
	if s.moving {
		wide += 2 * s.clipped()
	}
	return 0.5 * wide
}
