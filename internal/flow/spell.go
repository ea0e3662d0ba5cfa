package flow

import "gaugewright/internal/watch"

// spell is a time in which the sender can't be believed.
type spell struct {
	Since int64 // 0: none
	Last  int64 // its last reading
	Event int32 // -1: not told
	Ended int64 // when the one before ended
	Prior int32 // its event, -1 none
	Fault uint8
}

// broken takes a level that can't be shown because the sender is broken.
func (t *Tracker) broken(at int64, l *watch.Level) {
	s := &t.s
	p := &s.Spell
	if !tells(l.Fault) {
		return
	}
	s.Break.Gap = true
	s.Break.Wait = max(s.Break.Wait, 1)
	if p.Since == 0 {
		p.Since = at
		if since := l.Since.UnixNano(); since > 0 && since <= at && at-since < int64(10*s.Cadence)+hour {
			p.Since = since
		}
		p.Fault = uint8(l.Fault)
		if p.Ended != 0 && p.Since-p.Ended < max(10*minute, int64(5*s.Cadence)) && p.Prior >= 0 && int(p.Prior) < len(t.events) && t.events[p.Prior].What == aFault {
			p.Event = p.Prior
			t.events[p.Event].End = 0
		}
	}
	p.Last = at
	if p.Event < 0 {
		before := -1.0
		if s.Known {
			before = s.Last.Share
		}
		p.Event = t.open(record{What: aFault, Fault: p.Fault, Start: p.Since, Found: at, Before: before, After: -1, P: 0.95})
	}
}

// tells says whether a fault is one of the sender, and not of what nothing came from.
func tells(f watch.Fault) bool {
	switch f {
	case watch.BrokenWire, watch.ShortCircuit, watch.BeyondSpan, watch.Flicker, watch.NotAvailable, watch.SourceBroken:
		return true
	}
	return false
}

// sound ends a spell at a good level.
func (t *Tracker) sound(at int64, l *watch.Level) {
	p := &t.s.Spell
	if p.Event >= 0 {
		e := &t.events[p.Event]
		e.End = at
		e.After = 100 * float64(l.Share)
	}
	*p = spell{Event: -1, Ended: at, Prior: p.Event, Fault: p.Fault}
}
