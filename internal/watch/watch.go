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
	// Doubt is a standard uncertainty of what the sender shows, in parts of the
	// scale, that its instrument doesn't know of: friction of a float that is known
	// by its end values alone. 0: none.
	Doubt quantity.Share
}

// Usual values of [Config].
const (
	UsualStale   = 5 * time.Minute
	UsualLate    = 2 * time.Minute
	UsualFastest = 1.0 / 40
)

// Watch follows one tank. It isn't for several goroutines at once. Nothing of it has
// to be kept: after a restart the readings of the last while, taken again, bring it
// to where it was, but for what it has learned of the vehicle over days.
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
	case !(c.Doubt >= 0 && c.Doubt <= 0.5):
		return nil, fmt.Errorf("tank %q has a doubt of %g of the scale; expected 0 to 0.5", c.Tank, float64(c.Doubt))
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
	t := w.track(r.Source, e.at)
	if t == nil {
		w.other.Crowd++
		return w.level()
	}
	t.put(&w.engine, e)
	if r.Behind > 0 {
		t.behindhand(e.at)
	}
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

// Counts gives the counts since New.
func (w *Watch) Counts() Counts {
	c := w.other
	for _, t := range w.tracks {
		c = c.plus(t.state.counts).plus(t.extra)
	}
	return c
}
