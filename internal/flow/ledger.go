package flow

import (
	"math"

	"gaugewright/internal/outlook"
)

// ledger keeps the books: what was drawn is what the level fell by and what came in,
// less what leaked, was let off or taken out.
type ledger struct {
	From    int64   // of the level that the next stretch begins with; 0: none yet
	X, U    float64 // that level, points
	Events  float64 // what all events had brought in by then, points
	Past    float64 // of events that aren't kept any more
	Rate    float64 // use of late, points/h
	Weight  float64 // hours that rests on
	Drawn   float64 // of all stretches
	Unknown float64 // what went in leaps of which nothing is known
	Begun   float64 // the level that the first began with, less what events had brought in by then
	Started bool
}

func (t *Tracker) first(b *block) {
	l := &t.s.Ledger
	in := t.broughtIn()
	if l.Started {
		l.Unknown += l.X - b.X + in - l.Events
	} else {
		l.Begun, l.Started = b.X-in, true
	}
	l.From, l.X, l.U, l.Events = b.At, b.X, b.U, in
}

// broughtIn gives what all events have brought in so far, points.
func (t *Tracker) broughtIn() float64 {
	sum := t.s.Ledger.Past
	for i := range t.events {
		sum += t.events[i].signed()
	}
	return sum
}

// book hands a stretch to the model of the use, at the end of each hour, where nothing
// is undecided.
func (t *Tracker) book(b *block) {
	s := &t.s
	l := &s.Ledger
	if l.From == 0 {
		t.first(b)
		return
	}
	if b.At/hour == l.From/hour {
		return
	}
	if t.undecided() {
		return
	}
	d, amount := t.stretch(b)
	hours := float64(b.At-l.From) / float64(hour)
	in := t.broughtIn()
	if hours > 45*24 {
		// A leap of the clock, or a winter: nothing is known of the use in it.
		l.Unknown += amount
		l.From, l.X, l.U, l.Events = b.At, b.X, b.U, in
		return
	}
	t.model.Add(d)
	l.Drawn += amount
	l.Weight = min(l.Weight+hours, 72)
	l.Rate += (amount/hours - l.Rate) * min(1, hours/max(l.Weight, 6))
	l.Rate = max(l.Rate, 0)
	l.From, l.X, l.U, l.Events = b.At, b.X, b.U, in
}

// undecided says that what goes on now may be use, or may not.
func (t *Tracker) undecided() bool {
	s := &t.s
	return s.Rise.Event >= 0 || s.Rise.Sum > 0.6 || s.Rise.After.Event >= 0 || s.Fall.N > 0
}

// stretch gives what was drawn since the books were made up last, also in points.
func (t *Tracker) stretch(b *block) (outlook.Drawn, float64) {
	s := &t.s
	l := &s.Ledger
	amount := l.X - b.X + t.broughtIn() - l.Events
	u := math.Sqrt(l.U*l.U + b.U*b.U + 2*s.Noise*s.Noise)
	return outlook.Drawn{From: moment(l.From), To: moment(b.At), Amount: amount / 100, U: u / 100}, amount
}

// uptodate is the model with the stretch since the books were made up last.
type uptodate struct {
	at    int64
	model *outlook.Model
}

// Model gives what is known of the use, up to the newest level.
func (t *Tracker) Model() *outlook.Model {
	s := &t.s
	l := &s.Ledger
	b := &s.Last
	if l.From == 0 || b.At <= l.From || b.At-l.From > 45*day {
		return t.model
	}
	if s.Fall.N == 0 && s.Rise.Event < 0 && t.now.at == b.At && t.now.model != nil {
		return t.now.model
	}
	kept, err := t.model.MarshalBinary()
	if err != nil {
		return t.model
	}
	m := outlook.New(t.config.ahead())
	if m.UnmarshalBinary(kept) != nil {
		return t.model
	}
	d, _ := t.stretch(b)
	m.Add(d)
	t.now = uptodate{b.At, m}
	return m
}

// closeAll ends what goes on, where the clock is set back.
func (t *Tracker) closeAll() {
	s := &t.s
	for _, i := range []*int32{&s.Rise.Event, &s.Leaking.Event, &s.Spell.Event} {
		if *i >= 0 {
			if e := &t.events[*i]; e.End == 0 {
				e.End = max(e.Start, s.Newest)
			}
			*i = -1
		}
	}
	s.Spell = spell{Event: -1, Prior: -1}
	s.Leaking = leaking{Event: -1}
}
