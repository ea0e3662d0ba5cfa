package flow

import (
	"time"

	"gaugewright/internal/outlook"
	"gaugewright/internal/watch"
)

// Config is what is known of a tank besides its levels. The zero value of a field
// means that it isn't known.
type Config struct {
	// Content turns a level on the scale, 0..1, into what there is, in parts of what
	// the full scale holds; nil: they are the same.
	Content func(share float64) float64
	// Steady is the greatest rate, in parts of the full scale an hour, at which what is
	// fitted to the tank can draw without a pause (a fridge, a heater): what falls
	// steadily faster than that leaks. Below 0: nothing draws steadily, as with
	// water. 0: not known.
	Steady float64
	// Off are hours of the day in which everything is known to be off; none: not known.
	Off []Hours
	// Breathes says that the contents grow and shrink with their warmth so that it
	// shows, as liquefied gas does.
	Breathes bool
	// Fills says that what comes in is use and what goes out is a drain: a tank of
	// waste water.
	Fills bool
	// To is to what level it can be drawn, in parts of what the full scale holds: the
	// heel; for a tank that fills up, 1.
	To float64
	// Prior and PriorSpread are what use is expected before any was seen, as
	// [outlook.Config] has them.
	Prior, PriorSpread float64
	// Zone is the people's time zone; nil: UTC.
	Zone *time.Location
}

// Hours are hours of the day in the zone, from one to another; To may be the smaller
// where midnight lies between.
type Hours struct{ From, To time.Duration }

// Tracker follows the levels of one tank. It isn't for several goroutines at once.
type Tracker struct {
	model *outlook.Model
}

// New begins to follow a tank.
func New(c Config) *Tracker { return &Tracker{model: outlook.New(outlook.Config{Zone: c.Zone, Prior: c.Prior, PriorSpread: c.PriorSpread})} }

// Take takes the level after a reading, or at a moment at which nothing came (its
// age tells). Levels that aren't newer than the one before change nothing.
func (t *Tracker) Take(l watch.Level) {}

// Events gives what happened so far that is more likely than not, by rising start; what
// goes on is among it. An event keeps its kind and start once it was told, but for one
// that turns out not to be real, which is gone.
func (t *Tracker) Events() []Event { return nil }

// Ahead gives how it goes on from the newest level.
func (t *Tracker) Ahead() outlook.Outlook { return t.model.Ahead(outlook.Standing{}) }

// Model gives what is known of the use.
func (t *Tracker) Model() *outlook.Model { return t.model }

// MarshalBinary gives all that is known, for a store; UnmarshalBinary takes it back
// into a tracker that was made with the same configuration. Taking levels again that
// were taken before it was given changes nothing.
func (t *Tracker) MarshalBinary() ([]byte, error) { return nil, nil }

// UnmarshalBinary is the reverse. Damaged bytes give an error and change nothing.
func (t *Tracker) UnmarshalBinary(b []byte) error { return nil }
