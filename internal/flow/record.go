package flow

import (
	"slices"
	"time"

	"gaugewright/internal/watch"
)

// what is a kind as it is kept.
type what uint8

const (
	aRefill what = iota + 1 // of a tank that fills up: a drain
	aDrain
	aUse
	aLeak
	aDrop
	aStuck
	aFault
)

var kindOf = [...]Kind{aRefill: Refill, aDrain: Drain, aUse: Use, aLeak: Leak, aDrop: Drop, aStuck: Stuck, aFault: Fault}

// record is an event as it is kept: of a fixed size, amounts in points.
type record struct {
	What              what
	Fault             uint8
	Why               why
	Start, End, Found int64 // ns; End 0: it goes on
	Amount, U         float64
	PerHour           float64
	Before, After     float64 // on the scale, points; below 0: none
	P                 float64
	Told              float64 // a figure for the reason
}

// z90 is half of the width of a 90 % interval of a normal distribution.
const z90 = 1.645

func (r *record) event(fills bool) Event {
	e := Event{Kind: kindOf[r.What], Start: moment(r.Start), Found: moment(r.Found), P: r.P, Fault: watch.Fault(r.Fault), Before: -1, After: -1}
	if r.End != 0 {
		e.End = moment(r.End)
	}
	if fills && r.What == aRefill {
		e.Kind = Drain
	}
	w := r.Why
	if fills {
		w = w.ofWaste()
	}
	if r.Amount > 0 {
		amount := min(r.Amount, 100)
		e.Amount = amount / 100
		e.Low, e.High = max(0, amount-z90*r.U)/100, min(amount+z90*r.U, 100)/100
	}
	e.PerHour = r.PerHour / 100
	if r.Before >= 0 {
		e.Before = min(r.Before/100, 1)
	}
	if r.After >= 0 {
		e.After = min(r.After/100, 1)
	}
	e.Why = w.sentence(r)
	return e
}

func moment(ns int64) time.Time { return time.Unix(0, ns).UTC() }

func byStart(e []Event) {
	slices.SortStableFunc(e, func(a, b Event) int { return a.Start.Compare(b.Start) })
}

// mostEvents is how many are kept, and mostStored how many of them in the bytes.
const (
	mostEvents = 4096
	mostStored = 192
)

// open adds an event and gives its place.
func (t *Tracker) open(r record) int32 {
	if len(t.events) >= mostEvents {
		t.forget(mostEvents / 4)
	}
	t.events = append(t.events, r)
	return int32(len(t.events) - 1)
}

// forget drops the oldest events; what they came to stays in the books.
func (t *Tracker) forget(n int) {
	for i := range t.events[:n] {
		t.s.Ledger.Past += t.events[i].signed()
	}
	t.events = append(t.events[:0], t.events[n:]...)
	t.shift(func(i *int32) {
		if *i >= 0 {
			*i = max(*i-int32(n), -1)
		}
	})
}

// shift changes every place of an event that is held.
func (t *Tracker) shift(f func(*int32)) {
	s := &t.s
	f(&s.Rise.Event)
	f(&s.Rise.After.Event)
	f(&s.Fall.Event)
	f(&s.Spell.Event)
	f(&s.Spell.Prior)
	f(&s.Leaking.Event)
}

// signed is what an event brought in, points; below 0 what it took. Events that
// aren't told count for nothing, and so does what is use.
func (r *record) signed() float64 {
	if r.P <= 0.5 {
		return 0
	}
	switch r.What {
	case aRefill:
		return r.Amount
	case aDrain, aDrop, aLeak:
		return -r.Amount
	}
	return 0
}
