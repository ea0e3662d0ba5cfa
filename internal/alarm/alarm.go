package alarm

import (
	"context"
	"time"
)

// Kind is what an alarm is about. Files and programs have the names.
type Kind string

// The kinds.
const (
	Low   Kind = "low"   // the level is at the setpoint or below
	High  Kind = "high"  // or above
	Leak  Kind = "leak"  // it leaks, or somebody took some
	Fault Kind = "fault" // the sender can't be believed
	Stale Kind = "stale" // nothing comes in
	Rate  Kind = "rate"  // it falls faster than the setpoint, in parts of the scale an hour
)

// Priority is how soon somebody has to do something.
type Priority string

// The priorities, as the standard has them.
const (
	PriorityCritical Priority = "critical" // sent again until it is acknowledged, quiet hours or not
	PriorityHigh    Priority = "high"
	PriorityMedium Priority = "medium"
	PriorityLow     Priority = "low"
)

// State is the state of an alarm in the standard's diagram.
type State string

// The states.
const (
	Normal         State = "normal"
	Unacknowledged State = "unacknowledged" // it is there, and nobody said that they know
	Acknowledged   State = "acknowledged"   // it is there, and somebody knows
	Returned       State = "returned"       // it went away before anybody acknowledged it
	Shelved        State = "shelved"        // by somebody, for a time
	Suppressed     State = "suppressed"     // by design: it would tell what another alarm tells already
	OutOfService   State = "out-of-service" // by somebody, until taken back
)

// Rule is one alarm as it was set up.
type Rule struct {
	ID       string // "TANK/low" unless there are several of a kind
	Tank     string
	Kind     Kind
	Priority Priority
	Setpoint float64       // of Low and High on the scale 0..1; of Rate in parts an hour
	Deadband float64       // by how much it has to come back
	On, Off  time.Duration // the delays
	Says     string        // what to do, in a sentence; ""
}

// Standing is an alarm as it stands.
type Standing struct {
	Rule  Rule
	State State
	Since time.Time // in this state
	// Raised is when what it is about began, of the last time it was raised; zero:
	// never.
	Raised, Cleared time.Time
	Until           time.Time // of a shelved one
	By              string    // who acknowledged, shelved, or took it out of service
	Sentence        string    // how it stands, in words
	What            string    // what it is about at this moment: "Fresh water is at 12 %, below 15 %."
	Sent            int       // how often it was sent since it was raised
}

// Move is one change of an alarm's state, as it is kept.
type Move struct {
	ID       string
	Time     time.Time
	From, To State
	By       string // who; "": the watch
	What     string
}

// Board is what pages and programs do with alarms. It may be asked by many at once.
type Board interface {
	Alarms(ctx context.Context) ([]Standing, error) // what needs somebody first
	Moves(ctx context.Context, id string, most int) ([]Move, error)
	Acknowledge(ctx context.Context, id, by string) error
	Shelve(ctx context.Context, id, by string, until time.Time) error // zero: unshelve
	Service(ctx context.Context, id, by string, in bool) error
}
