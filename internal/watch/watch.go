package watch

import "time"

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
	Late time.Duration
	// Fastest is the fastest change that is possible, in parts of the scale per
	// second; 0: usual.
	Fastest float64
}

// Watch follows one tank. It isn't for several goroutines at once.
type Watch struct {
	config Config
}

// New begins to watch a tank. The error says what of the configuration can't be.
func New(c Config) (*Watch, error) { panic("not written yet") }

// Take takes one reading and gives the level after it. A reading that is
// doubled, or too old to be placed, changes nothing but the counts.
func (w *Watch) Take(r Reading) Level { panic("not written yet") }

// At gives the level as it is at a moment, which is what tells how old it is: a
// level older than the stale age isn't shown.
func (w *Watch) At(now time.Time) Level { panic("not written yet") }

// Counts are what came in and what became of it.
type Counts struct {
	Taken     uint64 // readings that count
	Doubled   uint64 // the same time and value again
	Late      uint64 // placed by their time, behind a newer one
	TooLate   uint64 // too old to be placed
	Early     uint64 // from a time that can't be yet
	NotNumber uint64 // NaN and infinities
	Spikes    uint64 // set aside by the filter
	Jumps     uint64
	Open      uint64
	Short     uint64
	Beyond    uint64
	NoValue   uint64 // the source said that it has none
	Faults    uint64 // spells of a fault that were found
}

// Counts gives the counts since New.
func (w *Watch) Counts() Counts { panic("not written yet") }

// Named gives the counts above 0 with their names, for logs and pages.
func (c Counts) Named() []struct {
	Name string
	N    uint64
} {
	panic("not written yet")
}
