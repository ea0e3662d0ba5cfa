package job

import (
	"encoding/json"
	"slices"
)

// Struck is a reading that was struck out. Nothing is made of it: it is in no
// [Tank.Sheet] and no curve.
type Struck struct {
	Reading
	Reason string // one line; may be empty
	When   string // RFC 3339; "" where it isn't known
	// At is its place among all readings of the bench in the order taken, the
	// struck ones counted, from 0; nil: behind the others.
	At *int
}

// Taken is one line of the strip of a bench: a reading that stands, or one that
// was struck out.
type Taken struct {
	Reading
	Index  int  // in the bench's Readings, or in its Struck
	Struck bool // with the reason and the time in Struck[Index]
}

// Strip gives all readings of the bench, those that stand and those that were
// struck out, in the order taken. Places that can't be, as after a change by
// hand, are come as near to as there are readings.
func (b Bench) Strip() []Taken {
	order := make([]int, len(b.Struck))
	for i := range order {
		order[i] = i
	}
	place := func(i int) int {
		if at := b.Struck[i].At; at != nil {
			return *at
		}
		return MaxReadings + MaxStruck
	}
	slices.SortStableFunc(order, func(i, k int) int { return place(i) - place(k) })
	out := make([]Taken, 0, len(b.Readings)+len(b.Struck))
	next := 0
	for len(out) < cap(out) {
		if len(order) > 0 && (next == len(b.Readings) || place(order[0]) <= len(out)) {
			out = append(out, Taken{b.Struck[order[0]].Reading, order[0], true})
			order = order[1:]
			continue
		}
		out = append(out, Taken{b.Readings[next], next, false})
		next++
	}
	return out
}

// struckFields is the form of a struck reading in the file: that of a reading,
// and its own.
type struckFields struct {
	readingFields
	Reason string `json:"reason"`
	Struck string `json:"struck,omitempty"`
	At     *int   `json:"at,omitempty"`
}

// MarshalJSON writes the reading's fields and its own in one object.
func (s Struck) MarshalJSON() ([]byte, error) {
	return plainJSON(struckFields{s.Reading.fields(), s.Reason, s.When, s.At})
}

// UnmarshalJSON reads what MarshalJSON writes.
func (s *Struck) UnmarshalJSON(text []byte) error {
	var own struckFields
	if err := json.Unmarshal(text, &own); err != nil {
		return err
	}
	var r Reading
	if err := r.UnmarshalJSON(text); err != nil {
		return err
	}
	*s = Struck{Reading: r, Reason: own.Reason, When: own.Struck, At: own.At}
	return nil
}
