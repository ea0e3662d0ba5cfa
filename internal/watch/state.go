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

	held              held
	rest              rest
	flow              float64 // the rate of a tap or a filling, points/s
	flowAt            int64   // when it was
	drives            drives
	restSince, sureAt int64 // since when the level rests, and until when it was sure
	sure              float64
	side              side
	flat              flat
	anew              int64 // when nothing was known of the level
	ramp              ramp
	began             int64 // when the vehicle began to move
	moving            bool
	settle            int32 // good readings still to come before there is a level to show
	cadence           float64

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

// lastGood is the last good level, in points.
type lastGood struct {
	at     int64
	points float64
	u      float64 // points
	known  bool
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
