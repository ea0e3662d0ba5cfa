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
	Ended  int64 // when the leak before ended: none begins before that
}

// spans are the lengths, in half hours, over which a fall is looked at.
var spans = [...]int32{3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 14, 16, 18, 20, 22, 24, 27, 30, 33, 36, 40, 44, 48, 53, 58, 64, 70, 77, 84, 92, 101, 110, 120, 130, 140, 150}

// swingMost is how far a reading may go down by the warmth of a day where nothing is
// known of it, points: a swing of ±2, and a bit. swiftMost is how fast it may, over
// some hours, points/h.
const (
	swingMost = 4.3
	swiftMost = 1.1
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
	var w view
	s.Bins.view(&w, t.config.Zone)
	var best found
	for _, k := range spans {
		if k >= s.Bins.Has {
			break
		}
		// Most spans have too little of a fall, or hardly any at their end.
		if fell := 0.5 * w.sum[k]; k <= 48 && fell < 1.2 || 0.5*w.sum[max(2, k/4)] < 0.1*fell {
			continue
		}
		if f := t.look(&w, k); f.ok && (!best.ok || f.gain > best.gain) {
			best = f
		}
	}
	if best.ok {
		t.tellLeak(b, best)
	}
}

// look weighs the fall over the last k half hours against what was before.
func (t *Tracker) look(w *view, k int32) (f found) {
	s := &t.s
	bs := &s.Bins
	f.span = k
	if (bs.Cell+1-int64(k))*halfHour < s.Leaking.Ended {
		return f
	}
	strict, allowed := t.config.Steady < 0, t.config.Steady > 0
	far := min(w.n, k+48*3)
	usual, usualN := w.sum[far]-w.sum[k], w.count[far]-w.count[k]
	if usualN > 0 {
		usual /= usualN
	}
	switch {
	case strict:
		usual = 0
	case allowed:
		usual = 100 * t.config.Steady
	case usualN < 48:
		usual = max(usual, 0) // it may have been a swing that rose
	}
	scatter := w.scatter(k, far)
	n, compared, vars := 0.0, 0.0, 0.0
	way := &course{}
	nights, doubt := 0.0, 0.0
	var extra [256]float64
	for i := range k {
		v := bs.back(i)
		if !v.Known {
			continue
		}
		base, m := 0.0, 0.0
		if !strict && !allowed {
			base, m = w.same(i, k)
		}
		if m > 0 {
			compared++
		} else {
			base = usual
		}
		extra[int(n)] = v.Quiet - base
		n++
		way.add(v, base)
		if h := (w.hour + 48 - i/2%24) % 24; h >= 22 || h < 6 {
			nights++
		}
		vars += 0.25 * scatter * (1 + 1/max(m, 1))
		doubt = max(doubt, v.U)
	}
	if n < 3 || n < 0.5*float64(k) {
		return f
	}
	e := extra[:int(n)]
	lost := 0.0
	for _, v := range e {
		lost += 0.5 * v
	}
	f.rate, f.usual, f.lost, f.gain = lost/(0.5*n), usual, lost, lost*lost/n
	f.z = lost / math.Sqrt(vars+4*doubt*doubt+0.02)
	if f.rate <= 0 || f.lost < 1.5 || f.z < 5 {
		return f
	}
	part, long := way.pauses(f.rate)
	if part > 0.22 || way.crooked() > 0.2 {
		return f // it pauses
	}
	if allowed && way.rests(f.rate) {
		return f // cooking by day, with nights between
	}
	if compared < 0.8*n && long > 2 && usual*0.5*usualN > 1 && !strict {
		return f // it may be use, as far as can be seen
	}
	_, off := t.off(k)
	f.guard = 2.6
	switch {
	case strict || allowed:
		f.steady, f.guard = true, 1.5
	case off:
		f.offs, f.guard = true, 1.5
	case usualN < 8, k < 7 && (k < 5 || nights < 0.8*n):
		return f // people cook, wash and heat for as long as that
	}
	if f.lost < f.guard || !f.steady && !f.offs && f.rate*0.5*usualN < 1.5 {
		return f // or it may have been there before
	}
	// What the warmth of the day can do besides.
	sway, hours := bs.sway(k, usual)
	most := swingMost
	if hours >= 22 {
		most = min(most, f.guard+2*max(0, sway-0.4))
	}
	if compared < 0.8*n && f.rate > swiftMost {
		most = min(most, 3.2)
	}
	if f.lost+bs.above(k, usual) < most {
		return f
	}
	f.guard = min(f.guard, most)
	// It goes on at its end.
	late, lateN := 0.0, 0.0
	for i := range max(2, k/4) {
		if v := bs.back(i); v.Known {
			late += v.Quiet
			lateN++
		}
	}
	f.ok = lateN > 0 && late/lateN-usual > 0.5*f.rate
	return f
}

// course is the fall over ten minutes each, from the newest back.
type course struct {
	n    int
	fall [3 * 160]float64
	step float64
}

func (c *course) add(v *bin, base float64) {
	for i := 2; i >= 0; i-- {
		c.fall[c.n] = v.Falls[i] - base/6
		c.n++
	}
	c.step = max(c.step, v.Step)
}

// pauses says in how many, in parts, of the stretches over which a steady fall could be
// told from none it fell by less than a third of what it should, and how many of ten
// minutes such a stretch has. Noise alone makes that one in ten.
func (c *course) pauses(rate float64) (part float64, w int) {
	w = max(1, int(math.Ceil(12*c.step/rate)))
	if c.n < 3*w {
		return 1, w
	}
	short, long := 0.0, 0.0
	n, low := 0.0, 0.0
	wide := max(2*w, 9)
	for i := range c.n {
		short += c.fall[i]
		long += c.fall[i]
		if i >= w {
			short -= c.fall[i-w]
		}
		if i >= wide {
			long -= c.fall[i-wide]
		}
		if i >= wide-1 && long < 0.4*rate*float64(wide)/6-c.step {
			return 1, w
		}
		if i >= w-1 {
			n++
			if short < 0.35*rate*float64(w)/6 {
				low++
			}
		}
	}
	return low / n, w
}

// rests says whether there are eight hours, of sixteen or more, in which it fell by far
// less than it does on the average: a leak doesn't stop for the night.
func (c *course) rests(rate float64) bool {
	const eight = 8 * 6
	if c.n < 2*eight {
		return false
	}
	sum := 0.0
	for i := range c.n {
		sum += c.fall[i]
		if i >= eight {
			sum -= c.fall[i-eight]
		}
		if i >= eight-1 && sum < 0.4*rate*8-c.step {
			return true
		}
	}
	return false
}

// crooked gives how far the level strays from the straight line between its ends, less
// what the sender's steps and noise make of one, in parts of the fall.
func (c *course) crooked() float64 {
	total := 0.0
	for _, v := range c.fall[:c.n] {
		total += v
	}
	sum, most := 0.0, 0.0
	for i, v := range c.fall[:c.n] {
		sum += v
		most = max(most, math.Abs(sum-total*float64(i+1)/float64(c.n)))
	}
	return (most - 2*c.step) / max(total, 1e-9)
}

// above gives by how much the highest quiet level of the day before the newest k half
// hours lies above that at their beginning, less a steady rate.
func (b *bins) above(k int32, rate float64) float64 {
	q, high := 0.0, 0.0
	for i := k; i < min(b.Has, k+48); i++ {
		if v := b.back(i); v.Known {
			q += 0.5 * (v.Quiet - rate)
			high = max(high, q)
		}
	}
	return high
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
	s.Leaking = leaking{Since: since, Rate: f.rate, Usual: f.usual, Lost: f.lost, LastAt: b.At, Ended: s.Leaking.Ended}
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
			if mean, m := w.same(0, int32(k)); m > 0 {
				base = mean
			}
		}
		extra := v.Quiet - base
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
		e.End = max(e.Start+minute, b.At-int64(l.Calm/l.Rate*float64(hour)))
		e.After = s.Last.Share
		*l = leaking{Event: -1, Ended: b.At}
	}
}
