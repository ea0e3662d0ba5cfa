package watch

import (
	"time"

	"gaugewright/internal/quantity"
)

// Signal is what a source measured.
type Signal uint8

// Signals, with the unit of a reading's Value.
const (
	Ohm     Signal = iota // the sender's resistance, Ω
	Volt                  // the voltage at an input, V
	Count                 // an analogue to digital converter's count, 1
	Percent               // a level that something else worked out, %
)

// Clock says whose time a reading bears.
type Clock uint8

const (
	SourceClock  Clock = iota // the source said when it was measured
	ArrivalClock              // the source has no clock, or one that can't be right; the time goes by the arrival
)

// Said is what a source says of its own value.
type Said uint8

const (
	Measured    Said = iota // there is a value
	Unavailable             // the source has no value
	Broken                  // the source says that its sender, or itself, is at fault
)

// Reading is one measurement in service.
type Reading struct {
	Tank   string    // by its name in the watch
	Source string    // who says so: "mqtt", "modbus/bay"
	Time   time.Time // when it was measured, as far as Clock can tell
	// Arrived is when it came in; zero where that isn't known, as in a recording.
	Arrived time.Time
	Clock   Clock
	// Behind is by how much the source's clock was found to be behind; Time is put right
	// by it already. 0: it isn't, or nobody knows.
	Behind time.Duration
	Signal Signal
	Said   Said
	Value  float64 // in the signal's unit; means nothing unless Said is Measured
	Tilt   *Tilt   // how the vehicle stood; nil: not known
}

// Tilt is how a vehicle stands: pitch is positive nose up, roll positive
// starboard down.
type Tilt struct{ Pitch, Roll quantity.Radian }

// String gives "ohm", "volt", "count" or "percent".
func (s Signal) String() string {
	return [...]string{"ohm", "volt", "count", "percent", "unknown"}[min(s, 4)]
}

// String gives "source" or "arrival".
func (c Clock) String() string { return [...]string{"source", "arrival"}[min(c, 1)] }
