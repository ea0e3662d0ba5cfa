package history

import (
	"time"

	"gaugewright/internal/watch"
)

// Kind is what happened. Files have the name, so none may change.
type Kind string

// Kinds of events. Those of a tank come from its watch; the others have no tank.
const (
	FaultBegan Kind = "fault"   // Fault and Status say which; Last is the last good level
	FaultEnded Kind = "mended"  // Fault is the one that ended
	Began      Kind = "began"   // the watch was started
	Ended      Kind = "ended"   // the watch was stopped in order
	Cut        Kind = "cut"     // the watch before this one wasn't stopped in order
	Repaired   Kind = "repair"  // Text says what was put right at the start
	DiskFailed Kind = "disk"    // readings can't be kept; Text says why
	DiskWorks  Kind = "disk-ok" // they are kept again
	ClockMoved Kind = "clock"   // this machine's clock was set; Text says by how much
	Lost       Kind = "lost"    // something was lost for want of room; Text says what
)

// Event is something that happened.
type Event struct {
	Time   time.Time
	Tank   string // "": the watch itself
	Kind   Kind
	Fault  watch.Fault
	Status watch.Status
	// Level is the level in parts of the scale before it, -1 where there was none.
	Level float64
	Text  string // a sentence, or ""
}
