package alarm

import (
	"cmp"
	"context"
	"slices"
	"strings"
	"time"
)

// Kind is what an alarm is about. Files and programs have the names.
type Kind string

// The kinds.
const (
	Low   Kind = "low"   // the level is below the setpoint, or lasts less long
	High  Kind = "high"  // or above
	Leak  Kind = "leak"  // it leaks, or fell at once
	Fault Kind = "fault" // the sender can't be believed
	Stale Kind = "stale" // nothing comes in
	Rate  Kind = "rate"  // it falls faster than the setpoint, in parts of the full scale an hour
)

// Kinds are all of them, in the order in which they are looked at: what makes another
// one silent first.
var Kinds = []Kind{Fault, Stale, Leak, Low, High, Rate}

// Priority is how soon somebody has to do something.
type Priority string

// The priorities, as the standard has them.
const (
	PriorityCritical Priority = "critical" // sent again until it is acknowledged, quiet hours or not
	PriorityHigh     Priority = "high"
	PriorityMedium   Priority = "medium"
	PriorityLow      Priority = "low"
)

// Priorities are all of them, the most urgent first.
var Priorities = []Priority{PriorityCritical, PriorityHigh, PriorityMedium, PriorityLow}

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

// States are all of them, what needs somebody first.
var States = []State{Unacknowledged, Returned, Acknowledged, Shelved, OutOfService, Suppressed, Normal}

// Rule is one alarm as it was set up.
type Rule struct {
	ID       string // "TANK/low", or "TANK/NAME" where it has a name of its own
	Tank     string
	Kind     Kind
	Priority Priority
	Setpoint float64       // of Low and High on the scale 0..1; of Rate in parts of what the full scale holds, an hour
	Left     time.Duration // above 0: a Low that is about the time left, and not about the level
	Deadband float64       // by how much it has to come back, as Setpoint; of Left in parts of it
	On, Off  time.Duration // the delays
	Setting  string        // the setpoint as people read it: "15 %", "20 L", "a day"
	Says     string        // what to do, in a sentence; ""
}

// Standing is an alarm as it stands.
type Standing struct {
	Rule  Rule
	Label string // of the tank, for people
	State State
	Since time.Time // in this state
	// Raised is when what it is about began, of the last time it was raised; zero:
	// never. Cleared is when that was over.
	Raised, Cleared time.Time
	Active          bool      // what it is about is there, whatever was done about the alarm
	Until           time.Time // of a shelved one
	By              string    // who acknowledged, shelved, or took it out of service
	Sentence        string    // how it stands, in words: "Nobody has acknowledged it."
	What            string    // what it is about: "Fresh water fell to 12 %, below 15 %."
	Sent            int       // how often it was sent since it was raised
}

// Needs says whether somebody has to do something about it: nobody acknowledged it.
func (s Standing) Needs() bool { return s.State == Unacknowledged || s.State == Returned }

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
	// Alarms gives all of them, what needs somebody first.
	Alarms(ctx context.Context) ([]Standing, error)
	// Moves gives what an alarm did, the latest first; "": all alarms.
	Moves(ctx context.Context, id string, most int) ([]Move, error)
	// Acknowledge says that somebody knows. Of an alarm that needs nobody it changes
	// nothing.
	Acknowledge(ctx context.Context, id, by string) error
	// Shelve makes one silent until a time, at most [LongestShelf] ahead. The zero
	// time takes it off the shelf.
	Shelve(ctx context.Context, id, by string, until time.Time) error
	// Service takes one out of service, or back into it.
	Service(ctx context.Context, id, by string, in bool) error
}

// LongestShelf is for how long an alarm may be shelved: who wants it silent for longer
// takes it out of service, so that it can be seen that they did.
const LongestShelf = 7 * 24 * time.Hour

// Sort puts what needs somebody first: by state, by priority, by when it began, the
// latest first.
func Sort(list []Standing) {
	slices.SortStableFunc(list, func(a, b Standing) int {
		return cmp.Or(cmp.Compare(slices.Index(States, a.State), slices.Index(States, b.State)),
			cmp.Compare(slices.Index(Priorities, a.Rule.Priority), slices.Index(Priorities, b.Rule.Priority)),
			b.Raised.Compare(a.Raised), cmp.Compare(a.Rule.ID, b.Rule.ID))
	})
}

// TankOf gives the tank in an alarm's ID.
func TankOf(id string) string {
	tank, _, _ := strings.Cut(id, "/")
	return tank
}
