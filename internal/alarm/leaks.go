package alarm

import (
	"slices"
	"time"

	"gaugewright/internal/flow"
)

// Flows takes what happened to the tank, as it is known at a moment of its levels.
func (t *Tank) Flows(at time.Time, events []flow.Event) (moves []Move) {
	for _, o := range t.alarms {
		switch o.rule.Kind {
		case Leak:
			moves = append(moves, t.leaks(o, at, events)...)
		case Fault:
			o.stuck = time.Time{}
			for _, e := range likely(events, flow.Stuck) {
				if e.Open() {
					o.stuck = e.Start
				}
			}
		}
	}
	return moves
}

// leaks looks whether it leaks, or something was taken out at once. Each event is told
// once, with its own time.
func (t *Tank) leaks(o *one, at time.Time, events []flow.Event) (moves []Move) {
	p := &o.point
	var open *flow.Event
	for _, e := range likely(events, flow.Leak, flow.Drop) {
		goes := e.Open() && e.Kind == flow.Leak
		if goes {
			open = &e
		}
		switch {
		case !e.Start.After(p.Event):
			continue // it was heard
		case o.fresh && !goes:
			p.Event, o.dirty = e.Start, true // over before there was an alarm
			continue
		}
		if p.Event, o.dirty = e.Start, true; !p.Active {
			moves = append(moves, t.do(o, Event{Act: Raise, Time: latest(e.Found, e.Start), Began: e.Start, What: t.leakWords(e)}, at)...)
		}
		if !goes {
			end := latest(e.End, e.Start)
			moves = append(moves, t.do(o, Event{Act: Return, Time: latest(latest(e.Found, end), p.Since), Began: end}, at)...)
		}
	}
	o.fresh = false
	switch {
	case open == nil && p.Active:
		end := Event{Act: Return, Time: at, Began: at} // where nothing is told of its end it turned out to be none
		for _, e := range events {
			if e.Kind == flow.Leak && e.Start.Equal(p.Raised) && !e.Open() {
				end.Began, end.What = e.End, t.leakWords(e)
			}
		}
		moves = append(moves, t.do(o, end, at)...)
	case open != nil && !p.Active: // it was doubted for a while
		moves = append(moves, t.do(o, Event{Act: Raise, Time: at, Began: open.Start, What: t.leakWords(*open)}, at)...)
	case open != nil:
		if what := t.leakWords(*open); what != p.What {
			p.What, o.dirty = what, true
		}
	}
	return moves
}

// likely gives the events of some kinds that are likelier than not, by their start.
func likely(events []flow.Event, kinds ...flow.Kind) (list []flow.Event) {
	for _, e := range events {
		if slices.Contains(kinds, e.Kind) && e.P >= Likely {
			list = append(list, e)
		}
	}
	slices.SortStableFunc(list, func(a, b flow.Event) int { return a.Start.Compare(b.Start) })
	return list
}

func latest(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}
