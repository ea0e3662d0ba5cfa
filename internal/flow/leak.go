package flow

import (
	"math"
	"time"
)

// leaking is a leak that goes on.
type leaking struct {
	Event  int32 // -1: none
	Since  int64
	Rate   float64 // points/h
	Usual  float64 // quiet rate before it, points/h
	Calm   float64 // how much less was lost of late than it would take, points
	Lost   float64
	LastAt int64
}

// spans are the lengths, in half hours, over which a fall is looked at.
var spans = [...]int32{3, 4, 5, 6, 8, 10, 12, 14, 17, 20, 24, 28, 33, 38, 44, 52, 60, 70, 82, 96, 112, 130, 150}

// swingMost is how far a reading may go down by the warmth of a day where nothing is
// known of it, points: a swing of ±2, and a bit.
const swingMost = 4.4

// found is what a look at the half hours found of a leak.
type found struct {
	span         int32
	rate, usual  float64
	lost, guard  float64
	z            float64
	ok           bool
	steady, offs bool
}

// leaks looks for a steady fall at the end of each half hour.
func (t *Tracker) leaks(b *block) {
	s := &t.s
	if t.config.Fills {
		return
	}
	if s.Leaking.Event >= 0 {
		t.leakGoesOn(b)
		return
	}
	fall, most := 0.0, 0.0
	limit := min(s.Bins.Has, spans[len(spans)-1])
	for i := range limit {
		if v := s.Bins.back(i); v.Known {
			fall += 0.5 * v.Quiet
			most = max(most, fall)
		}
	}
	if most < 1.2 {
		return
	}
	var best found
	for _, k := range spans {
		if k >= s.Bins.Has {
			break
		}
		if f := t.look(k); f.ok && (!best.ok || f.lost/f.guard > best.lost/best.guard) {
			best = f
		}
	}
	if best.ok {
		t.tellLeak(b, best)
	}
}

// look weighs the fall over the last k half hours against what was before.
func (t *Tracker) look(k int32) (f found) {
	s := &t.s
	bs := &s.Bins
	f.span = k
	n, lost, vars, compared := 0.0, 0.0, 0.0, 0.0
	usual, usualN := 0.0, 0.0
	for i := k; i < min(bs.Has, k+48*3); i++ {
		if v := bs.back(i); v.Known {
			usual += v.Quiet
			usualN++
		}
	}
	if usualN > 0 {
		usual /= usualN
	}
	strict := t.config.Steady < 0
	if t.config.Steady > 0 {
		usual = 100 * t.config.Steady
	}
	quiet := 0.0
	for i := range k {
		v := bs.back(i)
		if !v.Known {
			continue
		}
		base, m := 0.0, 0.0
		if t.config.Steady == 0 {
			// The same half hours of earlier days, before the fall began.
			for d := (k-1-i)/48*48 + 48; i+d < bs.Has && m < 9; d += 48 {
				for o := int32(-1); o <= 1; o++ {
					if i+d+o < k {
						continue
					}
					if w := bs.back(i + d + o); w.Known {
						base += w.Quiet
						m++
					}
				}
			}
		}
		if m > 0 {
			base /= m
			compared++
		} else {
			base = usual
			if strict {
				base = 0
			}
		}
		e := v.Quiet - base
		n++
		lost += 0.5 * e
		vars += 0.25 * v.U * v.U * (1 + 1/max(m, 1))
		if v.Quiet < base+0.3*v.U {
			quiet++
		}
	}
	if n < 3 || n < 0.5*float64(k) {
		return f
	}
	f.rate, f.usual, f.lost = lost/(0.5*n), usual, lost
	f.z = lost / math.Sqrt(vars+0.02)
	known := compared >= 0.8*n
	_, off := t.off(k)
	switch {
	case strict || t.config.Steady > 0:
		f.steady = true
		f.guard = 1.5
	case off:
		f.offs = true
		f.guard = 1.5
	default:
		if usualN < 8 {
			return f
		}
		f.guard = 2.6
	}
	if !known {
		if f.rate < 1.1 {
			f.guard = max(f.guard, swingMost)
		} else {
			f.guard = max(f.guard, 3.2)
		}
	} else if bs.Sways >= 1 {
		f.guard = max(f.guard, min(0.5*bs.Sway+1, swingMost))
	}
	if f.lost < f.guard || f.z < 5 || quiet > 0.12*n {
		return f
	}
	// It goes on as fast at its end as in its middle.
	late, lateN := 0.0, 0.0
	for i := range max(2, k/4) {
		if v := bs.back(i); v.Known {
			late += v.Quiet
			lateN++
		}
	}
	if lateN == 0 || late/lateN-usual < 0.5*f.rate {
		return f
	}
	f.ok = true
	return f
}

// off says whether the last k half hours lie mostly in hours in which all is off.
func (t *Tracker) off(k int32) (part float64, off bool) {
	if len(t.config.Off) == 0 {
		return 0, false
	}
	n := 0.0
	for i := range k {
		at := moment((t.s.Bins.Cell - int64(i)) * halfHour).In(t.config.Zone)
		of := time.Duration(at.Hour())*time.Hour + time.Duration(at.Minute())*time.Minute
		for _, h := range t.config.Off {
			if h.From <= h.To && of >= h.From && of < h.To || h.From > h.To && (of >= h.From || of < h.To) {
				n++
				break
			}
		}
	}
	return n / float64(k), n >= 0.9*float64(k)
}

// tellLeak tells a leak.
func (t *Tracker) tellLeak(b *block, f found) {
	s := &t.s
	since := (s.Bins.Cell + 1 - int64(f.span)) * halfHour
	reason := whyBegan
	switch {
	case f.steady:
		reason = whySteady
	case f.offs:
		reason = whyOff
	}
	p := 0.97 - 0.35*math.Exp(-(f.lost/f.guard-1)*3)
	before := -1.0
	if s.Known {
		before = min(100, s.Last.Share+f.lost)
	}
	s.Leaking = leaking{Since: since, Rate: f.rate, Usual: f.usual, Lost: f.lost, LastAt: b.At}
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
		extra := v.Quiet - l.Usual
		if extra < 0.4*l.Rate {
			l.Calm += hours * (l.Rate - extra)
		} else {
			l.Calm = max(0, l.Calm-hours*l.Rate)
		}
		if hours > 2 {
			extra = l.Rate
		}
		l.Lost += hours * extra
	}
	lasts := float64(b.At-l.Since) / float64(hour)
	l.Rate = max(l.Lost/lasts, 0.01)
	e.Amount, e.PerHour = max(0, l.Lost), l.Rate
	e.U = max(e.U, 0.1*e.Amount)
	e.P = min(0.99, e.P+0.01)
	if l.Calm > max(1, 1.5*l.Rate) {
		e.End = b.At - int64(l.Calm/l.Rate*float64(hour))
		e.After = s.Last.Share
		*l = leaking{Event: -1}
	}
}
