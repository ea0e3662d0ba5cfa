package alarm

import (
	"slices"
	"time"
)

// Act is what happens to an alarm. Nothing else changes its state.
type Act uint8

// The acts. Those of the watch are Raise, Return, Suppress, Release and the end of a
// shelf; the others are people's.
const (
	Raise       Act = iota // what it is about has come, after the on-delay
	Return                 // it is over, after the off-delay
	Suppress               // another alarm tells it: suppressed by design
	Release                // no other does any more
	Withdraw               // taken out of service
	Restore                // back into service
	Unshelve               // off the shelf, by somebody or as its time is over
	Shelve                 // made silent for a time
	Acknowledge            // somebody says that they know
)

// Acts are all of them, in the order in which those of one moment are taken.
var Acts = []Act{Raise, Return, Suppress, Release, Withdraw, Restore, Unshelve, Shelve, Acknowledge}

// Event is an act with what belongs to it.
type Event struct {
	Act   Act
	Time  time.Time
	Began time.Time // of Raise: since when it is there; of Return: since when it isn't
	Until time.Time // of Shelve
	By    string
	What  string // of Raise, as Standing has it; of Return what is known better now, or nothing
}

// Owed is what people haven't been told yet of an alarm.
type Owed string

// What may be owed.
const (
	OwesNothing Owed = ""
	OwesRaised  Owed = "raised" // that it was raised; meanwhile it may be over
	OwesOver    Owed = "over"   // that it is over, where they know that it was raised
)

// Point is one alarm with all that has to be kept of it. A store keeps it as JSON.
type Point struct {
	ID    string    `json:"id"`
	State State     `json:"state"`
	Since time.Time `json:"since"`

	// Active says that what it is about is there. Until, above zero, is the end of its
	// shelf; Silent that it is suppressed by design; Out that it is out of service. More
	// than one may be, and State tells the first of Out, Until, Silent.
	Active bool      `json:"active,omitempty"`
	Until  time.Time `json:"until,omitzero"`
	Silent bool      `json:"silent,omitempty"`
	Out    bool      `json:"out,omitempty"`

	Raised  time.Time `json:"raised,omitzero"`
	Cleared time.Time `json:"cleared,omitzero"`
	What    string    `json:"what,omitempty"`
	By      string    `json:"by,omitempty"`
	// At is the time of the level by which Active was last changed, and Event the
	// latest start of an event that was looked at: what isn't newer was heard.
	At    time.Time `json:"at,omitzero"`
	Event time.Time `json:"event,omitzero"`

	Owes   Owed      `json:"owes,omitempty"`
	Times  int       `json:"times,omitempty"` // how often it was raised since people were last told
	Sent   int       `json:"sent,omitempty"`  // how often it was told since it was raised
	Next   time.Time `json:"next,omitzero"`   // when a critical one is told again
	Called time.Time `json:"called,omitzero"` // when it was last told
}

// NewPoint is an alarm of which nothing is known yet.
func NewPoint(id string) Point { return Point{ID: id, State: Normal} }

// Do takes in what happens, and gives the change of state where there is one.
func (p *Point) Do(e Event) (Move, bool) {
	from := p.State
	switch e.Act {
	case Raise:
		if !p.Active {
			p.Active, p.Raised, p.Cleared, p.What = true, e.Began, time.Time{}, e.What
		}
	case Return:
		if p.Active {
			p.Active, p.Cleared = false, e.Began
			if e.What != "" {
				p.What = e.What
			}
		}
	case Suppress:
		p.Silent = true
	case Release:
		p.Silent = false
	case Withdraw:
		p.Out, p.By = true, e.By
	case Restore:
		p.Out = false
	case Shelve:
		p.Until, p.By = e.Until, e.By
	case Unshelve:
		p.Until = time.Time{}
	}
	p.State = p.after(from, e.Act)
	if p.State == from {
		return Move{}, false
	}
	p.Since = e.Time
	p.owe(from, e)
	return Move{ID: p.ID, Time: e.Time, From: from, To: p.State, By: e.By, What: p.What}, true
}

// after gives the state after an act, by the standard's diagram (IEC 62682, ISA-18.2,
// "alarm state transition diagram", from memory).
func (p *Point) after(from State, act Act) State {
	switch {
	case p.Out:
		return OutOfService
	case !p.Until.IsZero():
		return Shelved
	case p.Silent:
		return Suppressed
	}
	switch from {
	case Shelved, Suppressed, OutOfService: // it comes back as if it were new
		if p.Active {
			return Unacknowledged
		}
		return Normal
	}
	switch {
	case act == Raise && (from == Normal || from == Returned):
		return Unacknowledged
	case act == Return && from == Unacknowledged:
		return Returned
	case act == Return && from == Acknowledged, act == Acknowledge && from == Returned:
		return Normal
	case act == Acknowledge && from == Unacknowledged:
		return Acknowledged
	}
	return from
}

// owe notes what people have to be told of a change of state.
func (p *Point) owe(from State, e Event) {
	switch p.State {
	case Unacknowledged:
		p.Owes, p.Sent, p.Next = OwesRaised, 0, time.Time{}
		p.Times++
		p.By = ""
	case Acknowledged:
		p.Owes, p.Times, p.By = OwesNothing, 0, e.By
	case Returned:
		if p.Owes != OwesRaised {
			p.Owes = OwesOver
		}
	case Normal:
		switch {
		case from == Acknowledged && p.Sent > 0:
			p.Owes = OwesOver
		case from == Returned:
			p.Owes, p.Times, p.By = OwesNothing, 0, e.By
		}
	case Shelved, OutOfService: // somebody knows
		p.Owes, p.Times, p.Next = OwesNothing, 0, time.Time{}
	}
}

// All takes in what happened, in the order of time; of what happened in one moment, in
// that of [Acts], so that the order in which it was handed over doesn't matter.
func (p *Point) All(list []Event) (moves []Move) {
	list = slices.Clone(list)
	slices.SortStableFunc(list, func(a, b Event) int {
		if c := a.Time.Compare(b.Time); c != 0 {
			return c
		}
		return int(a.Act) - int(b.Act)
	})
	for _, e := range list {
		if m, changed := p.Do(e); changed {
			moves = append(moves, m)
		}
	}
	return moves
}

// Pass lets time pass: a shelf whose time is over ends, at its own time.
func (p *Point) Pass(now time.Time) (Move, bool) {
	if p.Until.IsZero() || now.Before(p.Until) {
		return Move{}, false
	}
	return p.Do(Event{Act: Unshelve, Time: p.Until})
}

// Sound says whether a point can be: its state is the one that its facts give.
func (p *Point) Sound() bool {
	switch p.State {
	case OutOfService:
		return p.Out
	case Shelved:
		return !p.Out && !p.Until.IsZero()
	case Suppressed:
		return !p.Out && p.Until.IsZero() && p.Silent
	case Unacknowledged, Acknowledged:
		return !p.Out && p.Until.IsZero() && !p.Silent && p.Active
	case Normal, Returned:
		return !p.Out && p.Until.IsZero() && !p.Silent && !p.Active
	}
	return false
}
