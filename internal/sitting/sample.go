package sitting

import (
	"time"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
)

// State says what there is of a meter.
type State int

// What a meter may be in. Only Reading has a value, and nothing but a value is
// ever taken as a reading.
const (
	Away     State = iota // not connected, unplugged, or silent for too long
	Opening               // being connected
	Reading               // it said a value
	Overload              // it said that what it measures is beyond its range: an open circuit
	Garbled               // it answered what can't be read as a number, or half of it
	Unfit                 // it measures something else than the bench wants, or a value no sender gives
)

// String gives the word for programs: "away", "opening", "reading", "overload",
// "garbled" or "unfit".
func (s State) String() string {
	return [...]string{"away", "opening", "reading", "overload", "garbled", "unfit"}[s]
}

// MarshalText writes the state as its word.
func (s State) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// Sample is what one meter said at one moment.
type Sample struct {
	At     time.Time
	State  State
	Signal curve.Signal // what Value is in
	Value  quantity.Ohm // in the shown unit of Signal; only where State is Reading
	// Words say for a person what is the matter and what to do, where State
	// isn't Reading: "The meter at bench-1:5025 doesn't answer; look at its cable."
	Words string
	// Spell numbers the times that the value stood still: while it stands, it is
	// that spell's number, 1 and up, and 0 while it doesn't. One spell is taken
	// by itself once at most, by however many pages look at it.
	Spell int64
}
