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
	Calm   float64 // how much less was lost of late than half of what it would take, points
	CalmAt int64   // since when
	Lost   float64
	LastAt int64
	Ended  int64 // when the leak before ended: none begins before that
}

// spans are the lengths, in half hours, over which a fall is looked at.
var spans = [...]int32{4, 5, 6, 7, 8, 9, 10, 12, 14, 16, 18, 20, 22, 24, 27, 30, 33, 36, 40, 44, 48, 53, 58, 64, 70, 77, 84, 92, 101, 110, 120, 130, 140, 150}

// A fall has to come to more than leastFall before it may be called a leak, and where
// nothing is known of how far the warmth of a day moves the reading, to more than
// swingMost: a swing of ±2 points, and a bit.
const (
	leastFall = 1.6
	swingMost = 4.3
	// fastestWarmth is how far the warmth of a day moves a reading in half an hour, points:
	// a sine of ±2 moves by 0.26.
	fastestWarmth = 0.4
)

// found is what a look at the half hours found of a leak.
type found struct {
	span         int32
	rate, usual  float64
	lost, guard  float64
	z            float64
	gain         float64 // of the likelihood by a fall that began then, but for a factor
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
	limit := min(s.Bins.Has, spans[len(spans)-1])
	fall, most := 0.0, 0.0
	for i := range limit {
		if v := s.Bins.back(i); v.Known {
			fall += 0.5 * v.Quiet
			most = max(most, fall)
		}
	}
	if most < 1 {
		return
	}
	var w view
	s.Bins.view(&w, t.config.Zone)
	var best found
	for _, k := range spans {
		if k >= s.Bins.Has && !(t.config.Steady != 0 && k == s.Bins.Has) {
			break
		}
		if f := t.look(&w, k); f.ok && (!best.ok || f.gain > best.gain) {
			best = f
		}
	}
	if best.ok {
		t.tellLeak(b, best)
	}
}

// look weighs the fall over the last k half hours against what was before. Only half
// hours speak of which it is known what is drawn at that time of day: by the days
// before, by what is fitted to the tank, or as everything is off. So a draw that goes on
// all day is no leak before the night, nor on the next day.
func (t *Tracker) look(w *view, k int32) (f found) {
	s := &t.s
	bs := &s.Bins
	f.span = k
	if (bs.Cell+1-int64(k))*halfHour < s.Leaking.Ended {
		return f
	}
	known := t.config.Steady != 0
	floor := max(0, 100*t.config.Steady)
	_, f.offs = t.off(k)
	f.steady = known
	var c compared
	days, net, nights := 9.0, 0.0, 0.0
	for i := range k {
		v := bs.back(i)
		if !v.Known {
			c.unknown++
			continue
		}
		net += v.Net
		if known {
			c.whole(v, floor)
		} else {
			c.whole(v, 0)
		}
		if h := (w.hour + 48 - i/2%24) % 24; h >= 22 || h < 6 {
			nights++
		}
		switch {
		case known:
			c.add(v, floor, 0)
		case f.offs:
			c.add(v, 0, 0)
		default:
			base, m, apart := w.same(bs, i, k)
			if m == 0 {
				c.alone(v)
				continue
			}
			days = min(days, m)
			c.add(v, base, apart)
		}
	}
	n := float64(c.n)
	if c.n < 10 || n < 0.35*float64(k) || n+c.others < 0.5*float64(k) {
		return f
	}
	f.lost = c.lost
	f.rate = c.lost / (0.5 * n)
	f.usual = c.base / n
	if f.rate <= 0.02 || c.lost < leastFall {
		return f
	}
	if net < 0.75*0.5*f.rate*(n+c.others) {
		return f // what fell rose again
	}
	idle := c.base*0.5 < 0.25*c.lost
	if !f.offs && k < 40 && nights < 6 && (known || !(idle && k >= 16)) {
		return f // people cook, wash and heat for as long as that
	}
	f.gain = c.lost * c.lost / n
	f.z = c.lost / math.Sqrt(c.spread+2*c.u*c.u+0.01)
	// What the warmth of the day can do besides: what rose by itself before, fell by
	// itself too. Over whole days it comes back to where it was.
	swing, seen := bs.rose(k)
	f.guard = leastFall
	switch {
	case k >= 54 && seen < 20:
		f.guard = 2.2
	case seen < 6:
		f.guard = swingMost
	case k < 54 && seen < 20:
		f.guard += 0.9*swing + 3*(1-seen/20)
	case k < 54:
		f.guard += 0.9 * swing
	default:
		f.guard += 0.4 * swing
	}
	// And what is drawn isn't the same on any two days.
	if !known && !f.offs {
		f.guard += 0.5 * max(0, c.base) * 0.5 * map[bool]float64{true: 0.5, false: 0.2}[days < 4]
	}
	if f.z < 4 || f.lost < f.guard {
		return f
	}
	if !c.steady(f.rate) || c.rests(f.rate, swing) {
		return f
	}
	if !known && !f.offs && c.lost < 0.7+1.1*w.before(bs, k) {
		return f // as much has been drawn beyond the usual before
	}
	f.ok = true
	return f
}

// compared is the fall over half hours of which it is known what is drawn then.
type compared struct {
	n       int32
	unknown float64
	others  float64
	lost    float64 // beyond what is usual, points
	base    float64 // what is usual, sum of rates
	spread  float64 // variance of lost by what differs from day to day
	u       float64
	extra   [160]float64 // by half hours, the newest first, points
	all     [160]float64 // all that was lost in known half hours
	doubt   [160]float64
	m       int32 // how many
}

func (c *compared) whole(v *bin, floor float64) {
	c.all[c.m], c.doubt[c.m] = 0.5*(v.Quiet-floor), v.U
	c.m++
}

// rests says whether there is a stretch in which less is lost in all than a leak would
// lose by itself: usual draws come on top of a leak, and never in its place. The warmth
// of the day may hide it for some hours.
func (c *compared) rests(rate, swing float64) bool {
	for i := range c.m {
		if rest, long := c.restsAt(i, rate, swing); long == 0 {
			return false
		} else if rest {
			return true
		}
	}
	return false
}

// restsAt says whether the stretch that ends with a half hour is such a rest. It is as
// long as a leak has to have lost nothing for, to be seen to rest beyond the doubt of its
// levels; long is 0 where there aren't so many half hours.
func (c *compared) restsAt(i int32, rate, swing float64) (rest bool, long int32) {
	sum, u := 0.0, 0.0
	for j := i; j < c.m; j++ {
		sum += c.all[j]
		u = max(u, c.doubt[j])
		long = j - i + 1
		if long >= 5 && 0.5*rate*float64(long) >= 4*u+0.3 {
			return sum < 0.33*0.5*rate*float64(long)-hides(swing, long), long
		}
	}
	return false, 0
}

// hides is by how much the warmth may raise the reading in so many half hours, of a swing
// from peak to peak.
func hides(swing float64, long int32) float64 {
	if swing < 0.3 {
		return 0
	}
	return swing * min(1, float64(long)/16)
}

func (c *compared) add(v *bin, base, apart float64) {
	e := 0.5 * (v.Quiet - base)
	c.extra[c.n] = e
	c.n++
	c.lost += e
	c.base += base
	// Neighbours differ alike: four of them count as one.
	c.spread += 4 * 0.25 * apart * apart
	c.u = max(c.u, v.U)
}

func (c *compared) alone(v *bin) {
	c.others++
	c.u = max(c.u, v.U)
}

// before gives how much more than usual was lost at the most over as many half hours,
// in the days before the newest k.
func (w *view) before(b *bins, k int32) float64 {
	most := 0.0
	for at := (k + 23) / 24 * 24; at+k < w.n; at += 24 {
		lost, n := 0.0, int32(0)
		for i := at; i < at+k; i++ {
			v := b.back(i)
			if !v.Known {
				continue
			}
			if base, m, _ := w.same(b, i, at+k); m > 0 {
				lost += 0.5 * (v.Quiet - base)
				n++
			}
		}
		if 2*n >= k {
			most = max(most, lost)
		}
	}
	return most
}

// steady says whether it falls all the time, as far as that can be told: over stretches
// long enough for the fall to stand out of the noise, hardly any has less than a third of
// it, and the last doesn't.
func (c *compared) steady(rate float64) bool {
	long := int32(max(2, math.Ceil(6*c.u/(0.5*rate))))
	if c.n < 3*long {
		return false
	}
	sum, all, low := 0.0, 0.0, 0.0
	for i := range c.n {
		sum += c.extra[i]
		if i >= long {
			sum -= c.extra[i-long]
		}
		if i >= long-1 {
			all++
			if sum < 0.35*0.5*rate*float64(long) {
				if i == long-1 {
					return false
				}
				low++
			}
		}
	}
	return low <= 0.2*all
}

// rose gives by how much the quiet level rose by itself at the most in the two days
// before the newest k half hours, and how many hours of them are known.
func (b *bins) rose(k int32) (most, hours float64) {
	q, high := 0.0, 0.0
	// From the newest back the quiet level is what was lost since, so that a rise in time
	// is a fall here.
	for i := k; i < min(b.Has, k+96); i++ {
		v := b.back(i)
		if !v.Known {
			continue
		}
		q += max(v.Net, -fastestWarmth) // a filling begins before it is found
		high = max(high, q)
		most = max(most, high-q)
		hours += 0.5
	}
	return most, hours
}

// began gives the half hours since when the quiet rate has been what it is, near to
// a given number of them.
func (b *bins) began(span int32) int32 {
	var x [2*150 + 8]float64
	n := 0
	for i := min(b.Has, 2*span+8) - 1; i >= 0; i-- {
		if v := b.back(i); v.Known {
			x[n] = v.Quiet
			n++
		} else if n > 0 {
			x[n] = x[n-1]
			n++
		}
	}
	k, _, _ := shift(x[:n], 3)
	if int32(k) < span*2/3 || int32(k) > span*3/2+2 {
		return span
	}
	return int32(k)
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
	p := 0.97 - 0.35*math.Exp(-(f.lost/f.guard-1)*3)
	before := -1.0
	if s.Known {
		before = min(100, s.Last.Share+f.lost)
	}
	s.Leaking = leaking{Since: since, Rate: f.rate, Usual: f.usual, Lost: f.lost, LastAt: b.At, CalmAt: b.At, Ended: s.Leaking.Ended}
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
		// A sum that falls while it leaks, and rises once it doesn't (Page, Biometrika 41
		// (1954) 100-115).
		if l.Calm += hours * (0.5*l.Rate - extra); l.Calm <= 0 {
			l.Calm, l.CalmAt = 0, b.At
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
	swing := 0.0
	if k := s.Bins.Cell + 1 - l.Since/halfHour; k < int64(s.Bins.Has) {
		swing, _ = s.Bins.rose(int32(k))
	}
	over := int64(0)
	if l.Calm > max(0.8, l.Rate)+0.7*swing {
		over = l.CalmAt
	}
	if over == 0 && v.Known {
		var c compared
		for i := range int32(min(60, s.Bins.Cell+1-l.Since/halfHour)) {
			if o := s.Bins.back(i); o.Known {
				c.whole(o, max(0, 100*t.config.Steady))
			}
		}
		if rest, long := c.restsAt(0, l.Rate, swing); rest {
			over = b.At - int64(long)*halfHour
		}
	}
	if over != 0 {
		e.End = min(max(over, l.Since+halfHour), b.At)
		e.After = s.Last.Share
		if e.End-e.Start < 30*hour && len(t.config.Off) == 0 {
			e.P = 0.3 // a leak doesn't stop by itself: it was use
		}
		*l = leaking{Event: -1, Ended: b.At}
	}
}
