package watch

import (
	"fmt"
	"math"
	"time"

	"gaugewright/internal/quantity"
)

// Config is one tank to be watched. The zero value of a field is its usual value.
type Config struct {
	Tank       string
	Instrument *Instrument
	// Stale is the age beyond which a level isn't shown any more; 0: 5 minutes.
	Stale time.Duration
	// Damping is the time constant of a first-order smoothing of what is shown,
	// after the filter; 0: none but the filter's own.
	Damping time.Duration
	// Late is how far behind the newest reading one may come in and still be placed
	// by its time; 0: 2 minutes. Older ones are counted and left out of the level.
	// The newest 8,192 readings are kept for that at most.
	Late time.Duration
	// Fastest is the fastest change that is possible, in parts of the scale per
	// second; 0: usual, which is the whole of it in 40 seconds.
	Fastest float64
}

// Usual values of [Config].
const (
	UsualStale   = 5 * time.Minute
	UsualLate    = 2 * time.Minute
	UsualFastest = 1.0 / 40
)

// mostSources is how many sources of one tank are told apart; those beyond are
// counted as too late.
const mostSources = 8

// Watch follows one tank. It isn't for several goroutines at once.
type Watch struct {
	config Config
	engine engine
	tracks []*track
	shown  *track // whose level is given
	apart  int32  // levels in a row on which the two first sources disagreed
	since  int64  // since when they do
	other  Counts
}

// New begins to watch a tank. The error says what of the configuration can't be.
func New(c Config) (*Watch, error) {
	if c.Stale == 0 {
		c.Stale = UsualStale
	}
	if c.Late == 0 {
		c.Late = UsualLate
	}
	if c.Fastest == 0 {
		c.Fastest = UsualFastest
	}
	switch {
	case c.Instrument == nil:
		return nil, fmt.Errorf("tank %q has no instrument; expected a fitted sender or its end values", c.Tank)
	case c.Stale < 0 || c.Late < 0 || c.Damping < 0:
		return nil, fmt.Errorf("tank %q: stale after %s, late up to %s, damping of %s; expected none below 0", c.Tank, c.Stale, c.Late, c.Damping)
	case !(c.Fastest > 0) || math.IsInf(c.Fastest, 0):
		return nil, fmt.Errorf("tank %q: a fastest change of %g per second; expected above 0", c.Tank, c.Fastest)
	}
	w := &Watch{config: c}
	w.engine = engine{in: c.Instrument, stale: c.Stale.Seconds(), late: int64(c.Late), damping: c.Damping.Seconds(), fastest: 100 * c.Fastest}
	return w, nil
}

// Times that int64 nanoseconds can tell, with room to reckon.
var (
	firstTime = time.Date(1700, 1, 1, 0, 0, 0, 0, time.UTC)
	lastTime  = time.Date(2240, 1, 1, 0, 0, 0, 0, time.UTC)
)

// Take takes one reading and gives the level after it. A reading that is
// doubled, or too old to be placed, changes nothing but the counts.
func (w *Watch) Take(r Reading) Level {
	e := entry{at: r.Time.UnixNano(), value: r.Value, signal: r.Signal, said: r.Said, clock: r.Clock}
	switch {
	case r.Said == Measured && notNumber(r):
		w.other.NotNumber++
		return w.level()
	case r.Time.Before(firstTime):
		w.other.TooLate++
		return w.level()
	case r.Time.After(lastTime), !r.Arrived.IsZero() && r.Time.Sub(r.Arrived) > ahead:
		w.other.Early++
		return w.level()
	}
	if t := r.Tilt; t != nil {
		e.pitch, e.roll, e.tilted = float64(t.Pitch), float64(t.Roll), true
		if math.IsNaN(e.pitch) || math.IsNaN(e.roll) {
			e.tilted = false
		}
	}
	t := w.track(r.Source)
	if t == nil {
		w.other.TooLate++
		return w.level()
	}
	t.put(&w.engine, e)
	if len(w.tracks) > 1 {
		w.choose()
	}
	return w.level()
}

// notNumber says whether a value means nothing. A resistance without end is an
// open circuit, and does mean something.
func notNumber(r Reading) bool {
	return math.IsNaN(r.Value) || math.IsInf(r.Value, -1) || math.IsInf(r.Value, 1) && r.Signal != Ohm
}

// ahead is how far a source's clock may be ahead of ours.
const ahead = 2 * time.Minute

func (w *Watch) track(source string) *track {
	for _, t := range w.tracks {
		if t.source == source {
			return t
		}
	}
	if len(w.tracks) == mostSources {
		return nil
	}
	t := &track{source: source}
	w.tracks = append(w.tracks, t)
	if w.shown == nil {
		w.shown = t
	}
	return t
}

// choose says which source's level is given: that of the first that isn't stale
// or broken. It also looks whether the first two agree.
func (w *Watch) choose() {
	var newest int64
	for _, t := range w.tracks {
		newest = max(newest, t.state.newest)
	}
	fresh := func(t *track) bool { return newest-t.state.newest <= int64(w.config.Stale) }
	best := w.shown
	for _, t := range w.tracks {
		if fresh(t) && !t.state.hides && t.state.begun {
			best = t
			break
		}
		if !fresh(best) && fresh(t) {
			best = t
		}
	}
	w.shown = best
	var first, second *track
	for _, t := range w.tracks {
		if fresh(t) && !t.state.hides && t.state.begun {
			if first == nil {
				first = t
			} else if second == nil {
				second = t
			}
		}
	}
	if second == nil {
		w.apart = 0
		return
	}
	a, b := &first.state.last, &second.state.last
	if math.Abs(a.points-b.points) > 2*math.Hypot(a.u, b.u)+1 {
		if w.apart == 0 {
			w.since = newest
		}
		w.apart++
	} else {
		w.apart = 0
	}
}

// level gives the level after the last reading taken.
func (w *Watch) level() Level {
	l := Level{Tank: w.config.Tank, Stale: w.config.Stale, Raw: math.NaN(), Ohm: quantity.Ohm(math.NaN()), Mark: math.NaN(), MarkPct: math.NaN()}
	t := w.shown
	if t == nil || len(t.ring) == 0 {
		l.Status, l.Fault = Check, Unsettled
		return l
	}
	w.describe(&l, &t.state, t.source)
	if s := &t.state; s.newest < s.clockAt && l.Shown && l.Status == Good {
		l.Status, l.Fault, l.Since = Maintenance, ClockOff, moment(s.clockAt-clockDoubted)
	}
	if w.apart >= 3 && l.Shown && l.Status == Good {
		l.Status, l.Fault, l.Since = Maintenance, SourcesDisagree, moment(w.since)
	}
	return l
}

func moment(ns int64) time.Time { return time.Unix(0, ns).UTC() }

// describe fills a level in from a state.
func (w *Watch) describe(l *Level, s *state, source string) {
	in := w.config.Instrument
	l.Source, l.Time, l.Clock, l.Signal = source, moment(s.newest), s.entry.clock, s.entry.signal
	if s.entry.said == Measured {
		l.Raw = s.entry.value
	}
	if in.own == Ohm {
		l.Ohm = quantity.Ohm(s.own)
	}
	l.Status, l.Fault = s.status, s.fault
	if s.since != 0 {
		l.Since = moment(s.since)
	}
	l.Motion = Standing
	if s.moving {
		l.Motion = Moving
		l.Slosh = quantity.Share(math.Sqrt(s.noise.sloshVar) / 100)
	} else {
		l.Slosh = quantity.Share(s.noise.still / 100)
	}
	if s.last.known {
		good := &l.Last
		good.Time = moment(s.last.at)
		share, slope := in.share.both(s.last.points)
		u := w.instrumentDoubt(s, s.last.points, slope, s.last.u)
		good.Share, good.U = quantity.Share(share), quantity.Share(u)
		good.Volume, good.Mass = in.volume.at(share, u), in.mass.at(share, u)
	}
	l.Shown = !s.hides && s.begun
	if s.begun {
		l.MarkPct = s.damped
		l.Mark = in.low + s.damped/100*(in.high-in.low)
	} else {
		l.Motion = MotionUnknown
	}
	if !l.Shown {
		return
	}
	if s.last.at == s.newest {
		l.Share, l.U, l.Volume, l.Mass = l.Last.Share, l.Last.U, l.Last.Volume, l.Last.Mass
	} else {
		w.fill(l, s, s.last.points, max(s.last.u, s.wide))
	}
	l.Low, l.High = max(0, l.Share-2*l.U), min(1, l.Share+2*l.U)
}

// fill sets the share and what goes with it.
func (w *Watch) fill(l *Level, s *state, points, u float64) {
	in := w.config.Instrument
	share, slope := in.share.both(points)
	us := w.instrumentDoubt(s, points, slope, u)
	l.Share, l.U = quantity.Share(share), quantity.Share(us)
	l.Volume, l.Mass = in.volume.at(share, us), in.mass.at(share, us)
	l.Low, l.High = max(0, l.Share-2*l.U), min(1, l.Share+2*l.U)
}

// instrumentDoubt puts the filter's doubt in points and the instrument's own
// together, as a standard uncertainty of the share.
func (w *Watch) instrumentDoubt(s *state, points, slope, u float64) float64 {
	in := w.config.Instrument
	if slope <= 0 {
		// At the end of the scale: what the slope is a little way in.
		_, slope = in.share.both(min(98, max(2, points)))
		if slope <= 0 {
			slope = 0.01
		}
	}
	own := in.uPercent
	if s.entry.signal != Percent {
		own = in.uMark.at(points)
	}
	return slope * math.Sqrt(u*u+own*own)
}

// At gives the level as it is at a moment, which is what tells how old it is: a
// level older than the stale age isn't shown.
func (w *Watch) At(now time.Time) Level {
	l := w.level()
	if l.Time.IsZero() {
		return l
	}
	s := &w.shown.state
	l.Age = max(0, now.Sub(l.Time))
	if l.Age > w.config.Stale {
		l.Shown = false
		l.Status, l.Fault, l.Since = Failure, NoReading, l.Time
		return l
	}
	if l.Shown {
		f := s.filter
		var st step
		if age := now.Sub(moment(s.at)).Seconds(); age > 0 {
			st.set(age)
			f.foretell(&st)
			f.mix()
		}
		grown := max(0, f.p-s.filter.p)
		w.fill(&l, s, s.last.points, math.Sqrt(max(s.last.u, s.wide)*max(s.last.u, s.wide)+grown))
	}
	return l
}

// Counts gives the counts since New.
func (w *Watch) Counts() Counts {
	c := w.other
	for _, t := range w.tracks {
		c = c.plus(t.state.counts).plus(t.extra)
	}
	return c
}
