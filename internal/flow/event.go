package flow

import (
	"time"

	"gaugewright/internal/watch"
)

// Kind is what happened to a tank. Files and programs have the names, so none may
// change.
type Kind string

// The kinds.
const (
	Refill Kind = "refill" // filled, by whatever came in
	Drain  Kind = "drain"  // let off by somebody, in one go
	Use    Kind = "use"    // a spell of use that stands out, such as an evening's cooking; of waste, what came in
	Leak   Kind = "leak"   // falls steadily though nothing should draw, or faster than what draws can
	Drop   Kind = "drop"   // fell at once by more than a tap can draw: taken out, spilt, or the sender was knocked
	Stuck  Kind = "stuck"  // the float doesn't move although the tank must
	Fault  Kind = "fault"  // the sender couldn't be believed
)

// Event is something that happened to a tank, or that goes on.
type Event struct {
	Kind  Kind
	Start time.Time // of the last reading before it, as near as it is known
	End   time.Time // zero: it goes on
	Found time.Time // of the reading at which it was first told
	// Amount is what came in or went out, in parts of what the full scale holds, 0
	// or above; Low to High is its 90 % interval. All are 0 where the kind has no
	// amount.
	Amount, Low, High float64
	// PerHour is how fast it goes, where it is a leak: in parts of the full scale.
	PerHour float64
	// Before and After are the levels on the scale before and after it, 0..1; -1
	// where there is none.
	Before, After float64
	// P is the probability that it is what Kind says, 0..1.
	P     float64
	Fault watch.Fault // of a Fault
	// Why is what it was told by, in a sentence for the fitter; "" where it needs none.
	Why string
}

// Open says that it goes on.
func (e Event) Open() bool { return e.End.IsZero() }
