package watch

import (
	"time"

	"gaugewright/internal/gauge"
	"gaugewright/internal/quantity"
)

// Status is how far a level can be believed: the four kinds of fault status of
// NAMUR NE 107, and none of them.
type Status uint8

const (
	Good        Status = iota
	Failure            // the value isn't valid: a fault of the sender, its wire, or what reads it; nothing came for too long
	Check              // function check: for the moment the value isn't valid
	OutOfSpec          // there is a value, outside of what the sender was calibrated for, or under conditions that make it doubtful
	Maintenance        // there is a value; someone should look before long
)

// String gives the status as files and the network have it: "good", "failure",
// "check", "out-of-spec", "maintenance".
func (s Status) String() string {
	switch s {
	case Good:
		return "good"
	case Failure:
		return "failure"
	case Check:
		return "check"
	case OutOfSpec:
		return "out-of-spec"
	case Maintenance:
		return "maintenance"
	}
	return "unknown"
}

// Motion says whether the vehicle is thought to stand still.
type Motion uint8

const (
	MotionUnknown Motion = iota
	Standing
	Moving
)

// String gives "standing", "moving" or "unknown".
func (m Motion) String() string { return [...]string{"unknown", "standing", "moving"}[min(m, 2)] }

// Level is what the watch makes of the readings up to one of them.
type Level struct {
	Tank    string
	Source  string    // of the reading
	Time    time.Time // of the reading that it rests on
	Clock   Clock
	Signal  Signal
	Raw     float64      // the reading's value, in the signal's unit; NaN where there was none
	Ohm     quantity.Ohm // NaN where the signal doesn't tell it
	Mark    float64      // in the marks' unit, NaN where unknown: the mark at which the sender stands, after the filter
	MarkPct float64      // the same in percent of the marks' range

	// Shown says that there is a level to show; otherwise all that follows up to
	// Mass means nothing, and Last stands instead.
	Shown     bool
	Share     quantity.Share // on the instrument's scale, 0..1
	U         quantity.Share // half of the half width of the 95 % interval, the sender's and the filter's doubt together
	Low, High quantity.Share // the 95 % interval, Share ± 2U held to 0..1
	Volume    gauge.Figure   // of the liquid, m³; Mid and U are NaN where the capacity isn't known
	Mass      gauge.Figure   // kg; NaN where the density isn't known

	Motion Motion
	Slosh  quantity.Share // standard deviation of the surface about its mean, as seen of late

	Status Status
	Fault  Fault         // the worst of what is amiss; NoFault where nothing is
	Since  time.Time     // since when, in the readings' time
	Last   LastGood      // the last level that was good; its Time is zero where there was none
	Age    time.Duration // of Time, at the moment asked about; 0 right after a reading
	Stale  time.Duration // the age beyond which it isn't shown any more
}

// LastGood is the last level that could be believed.
type LastGood struct {
	Time   time.Time
	Share  quantity.Share
	U      quantity.Share
	Volume gauge.Figure
	Mass   gauge.Figure
}

// Fault is what is amiss. Each has a status and words.
type Fault uint8

const (
	NoFault         Fault = iota
	BrokenWire            // the circuit is open
	ShortCircuit          // the circuit is shorted
	BeyondSpan            // a resistance that this sender doesn't have, and no open or shorted wire has
	JustBeyond            // a little outside of the calibrated span
	Jump                  // a change faster than any tank fills or empties
	Unsettled             // not yet enough readings to tell: at the start, or after a fault
	Flicker               // open or shorted again and again: a loose contact
	NoReading             // nothing came for longer than the stale age
	NotAvailable          // the source says that it has no value
	SourceBroken          // the source says that its sender or itself is at fault
	SourcesDisagree       // two sources for one tank, and they don't agree
	ClockOff              // the source's clock can't be right
	TooTilted             // the vehicle leans so far that the level can't be told
)
