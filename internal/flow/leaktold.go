package flow

import (
	"math"
)

// waned is by how much less than at first is lost in all of what isn't a leak any more.
const waned = 0.3

// tellLeak tells a leak.
func (t *Tracker) tellLeak(b *block, f found) {
	s := &t.s
	span := f.span
	if sway, _ := s.Bins.sway(span, f.usual); sway < 0.8 && !f.steady {
		span = s.Bins.began(span)
	}
	since := (s.Bins.Cell + 1 - int64(span)) * halfHour
	reason := whyBegan
	switch {
	case f.steady:
		reason = whySteady
	case f.offs:
		reason = whyOff
	}
	if !f.steady && !f.offs && t.again(since) {
		s.Leaking.Ended = b.At
		return
	}
	p := 0.97 - 0.35*math.Exp(-(f.lost/f.guard-1)*3)
	before := -1.0
	if s.Known {
		before = min(100, s.Last.Share+f.lost)
	}
	s.Leaking = leaking{Since: since, Rate: f.rate, Told: f.rate, Usual: max(0, f.usual), Lost: f.lost, LastAt: b.At, CalmAt: b.At, Ended: s.Leaking.Ended}
	t.isOther(since)
	s.Leaking.Event = t.open(record{What: aLeak, Why: reason, Start: since, Found: b.To, Before: before, After: -1,
		Amount: f.lost, U: f.lost/f.z + 0.1*f.lost + 0.2, PerHour: f.rate, P: p})
}

// leakGoesOn brings a leak up to date, or ends it.
func (t *Tracker) leakGoesOn(b *block) {
	s := &t.s
	l := &s.Leaking
	e := &t.events[l.Event]
	v := s.Bins.back(0)
	hours := float64(b.At-l.LastAt) / float64(hour)
	l.LastAt = b.At
	if !v.Known {
		l.Lost += hours * l.Rate
	} else {
		base := l.Usual
		if k := s.Bins.Cell + 1 - l.Since/halfHour; t.config.Steady == 0 && k < int64(s.Bins.Has) {
			var w view
			s.Bins.view(&w, t.config.Zone)
			if mean, m, _ := w.same(&s.Bins, 0, int32(k)); m > 0 {
				base = mean
			}
		}
		extra := v.Quiet - base
		if hours > 2 {
			extra = l.Rate
		}
		l.Lost += hours * extra
	}
	var f floors
	s.Bins.floors(&f, s.Stairs.step())
	if k := s.Bins.Cell + 1 - l.Since/halfHour; t.config.Steady == 0 && k >= 48 && k+48 <= int64(f.n) {
		// By its quiet stretches, and those of as many hours of the day before it.
		const long = 12
		if rate := (f.calm(0, int32(k), long) - f.calm(int32(k), f.n, long)) / (long / 2); rate > 0 {
			l.Lost = rate * float64(b.At-l.Since) / float64(hour)
		}
	}
	// A sum that falls while it leaks, and rises once it doesn't (Page, Biometrika 41
	// (1954) 100-115). What people draw makes it fall too.
	if v.Tied {
		if l.Calm += 0.25*l.Told + 0.5*l.Usual - v.Fall; l.Calm <= 0 {
			l.Calm, l.CalmAt = 0, b.At
		}
	}
	lasts := float64(b.At-l.Since) / float64(hour)
	l.Rate = max(l.Lost/lasts, 0.01)
	e.Amount, e.PerHour = max(0, l.Lost), l.Rate
	e.U = max(e.U, 0.1*e.Amount)
	e.P = min(0.99, e.P+0.01)
	swing := 0.0
	if k := s.Bins.Cell + 1 - l.Since/halfHour; k < int64(s.Bins.Has) {
		swing, _ = f.swung(int32(k))
	}
	over := int64(0)
	if l.Calm > max(0.5, 6*f.u, 0.5*l.Told)+swing {
		over = l.CalmAt
	}
	if over == 0 && v.Known {
		if long, rests := f.rests(int32(min(s.Bins.Cell+1-l.Since/halfHour, binsSize)), l.Told, l.Usual, swing); rests {
			over = b.At - int64(long)*halfHour
		}
	}
	if over == 0 && l.Rate < waned*l.Told {
		over = b.At
	}
	if over != 0 {
		e.End = min(max(over, l.Since+halfHour), b.At)
		e.After = s.Last.Share
		t.ended(e)
		*l = leaking{Event: -1, Ended: l.Ended}
		if e.P > 0.5 {
			l.Ended = b.At
		}
	}
}
