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
	Told   float64 // the rate when it was told
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
	leastFall = 1.8
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
	fall, all, most := 0.0, 0.0, 0.0
	for i := range limit {
		if v := s.Bins.back(i); v.Known {
			fall += 0.5 * v.Quiet
			all += v.Fall // a step of a sender that moves in steps looks like a spell of use
			most = max(most, fall, all)
		}
	}
	if most < 1 {
		return
	}
	var w view
	s.Bins.view(&w, t.config.Zone)
	var best found
	var f floors
	s.Bins.floors(&f, s.Stairs.step())
	for _, k := range spans {
		if k >= s.Bins.Has && !(t.config.Steady != 0 && k == s.Bins.Has) {
			break
		}
		o := t.look(&w, k)
		if o.ok && !o.offs {
			swing, _ := f.swung(k)
			o.ok = !f.pauses(k, o.rate, swing, f.heated(swing, 0)) && (o.steady || !f.before(k, o.rate+max(0, o.usual)))
		}
		if o.ok && (!best.ok || o.gain > best.gain) {
			best = o
		}
	}
	if !best.ok && t.config.Steady == 0 {
		best = t.floor(&f)
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
	if (bs.Cell+1-int64(k))*halfHour < s.Leaking.Ended || w.net[k] < 0.75*leastFall {
		return f
	}
	known := t.config.Steady != 0
	floor := max(0, 100*t.config.Steady)
	_, f.offs = t.off(k)
	f.steady = known
	var c compared
	days, net, nights, asleep, tied := 9.0, 0.0, 0.0, 0.0, 0.0
	for i := range k {
		v := bs.back(i)
		if !v.Known {
			continue
		}
		net += v.Net
		c.whole(v, floor)
		if h := (w.hour + 48 - i/2%24) % 24; h >= 22 || h < 6 {
			nights++
			if v.Tied {
				asleep += v.Fall
				tied++
			}
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
	c.settle()
	f.lost = c.lost
	f.rate = c.lost / (0.5 * n)
	f.usual = c.base / n
	if f.rate <= 0.03 || c.lost < leastFall {
		return f
	}
	if net < 0.75*0.5*f.rate*(n+c.others) {
		return f // what fell rose again
	}
	idle := c.base*0.5 < 0.25*c.lost
	if !f.offs && k < 40 && nights < 6 && (known || !(idle && k >= 16) && !(w.n-k >= 96 && w.before(bs, k) < 0.25*c.lost)) {
		return f // people cook, wash and heat for as long as that
	}
	if known && !f.offs && (tied < 0.5*nights || asleep-0.5*floor*tied < max(0.6*0.5*f.rate*tied, 3*c.u)) {
		return f // what people draw all day long rests while they sleep
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
		part := 0.2
		if days < 4 {
			part = 0.5
		}
		f.guard += part * 0.25 * max(0, c.base)
	}
	sure := 5.0
	if idle {
		sure = 4
	}
	if f.z < sure || f.lost < f.guard {
		return f
	}
	if !c.steady(f.rate) || c.rests(f.rate, swing) {
		return f
	}
	if !known && !f.offs && c.lost < 0.9+1.4*w.before(bs, k) {
		return f // as much has been drawn beyond the usual before
	}
	f.ok = true
	return f
}

// began gives the half hours since when the quiet rate has been what it is, near to
// a given number of them.
func (b *bins) began(span int32) int32 {
	var x [binsSize]float64
	n := 0
	for i := min(b.Has, 2*span+8, binsSize) - 1; i >= 0; i-- {
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
