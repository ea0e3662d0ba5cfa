package flow

import (
	"math"
	"slices"
)

// stretches are the lengths, in half hours, over which the least loss is looked for.
var stretches = [...]int32{4, 6, 8, 12, 16}

// floor looks for a time since when no stretch lost as little as some did before.
func (t *Tracker) floor(f *floors) (best found) {
	since := int32(min(t.s.Bins.Cell+1-t.s.Leaking.Ended/halfHour, binsSize))
	for _, m := range stretches {
		for _, k := range spans {
			if k < 2*m {
				continue
			}
			least, _ := f.least(0, k, m)
			if k >= 48 || k > since || least < 3*f.u {
				break
			}
			if o := t.floorShort(f, k, m); o.ok && (!best.ok || o.gain > best.gain) {
				best = o
			}
		}
		for k := int32(48); k <= min(192, since); k += 24 {
			if o := t.floorDays(f, k, m); o.ok && (!best.ok || o.gain > best.gain) {
				best = o
			}
		}
	}
	for _, k := range spans {
		if k > min(48, since) {
			break
		}
		if o := f.floorStill(k); o.ok && (!best.ok || o.gain > best.gain) {
			best = o
		}
	}
	for _, k := range [...]int32{60, 72, 84, 96, 110, 130, 150} {
		if k > since {
			break
		}
		if o := t.floorIdle(f, k); o.ok && (!best.ok || o.gain > best.gain) {
			best = o
		}
	}
	return best
}

// floorShort is that for less than a day: what never pauses is held against what never
// did in as long in the days before.
func (t *Tracker) floorShort(f *floors, k, m int32) (o found) {
	after, known := f.least(0, k, m)
	hours := 0.5 * float64(m)
	if known < (k-m+1)*3/4 || after*float64(k)/float64(m) < leastFall || after < 3*f.u {
		return o
	}
	before, windows := f.most(k, m)
	if windows < 56 {
		return o
	}
	base := f.usual(k, m)
	extra := after - before
	if extra < 3*f.u || after-max(0, base) < 2.1*(before-max(0, base))+3*f.u || extra < 0.25*base {
		return o
	}
	o.span = k
	o.usual = base / hours
	o.rate = (f.calm(0, k, m) - f.calm(k, min(f.n, k+96), m)) / hours
	o.lost = o.rate * 0.5 * float64(k)
	swing, seen := f.swung(k)
	heated := f.heated(swing, base)
	o.guard = leastFall + 0.9*swing
	if seen < 20 {
		o.guard += 3 * (1 - seen/20)
	}
	o.z = extra / f.u
	o.gain = o.lost * o.lost / float64(k)
	o.ok = o.rate > 0.035 && o.lost > o.guard && !f.pauses(k, max(o.rate, extra/hours), swing, heated) && !f.before(k, f.calm(0, k, m)/hours)
	return o
}

// floorDays is that for a day and more, in which every time of day is among it.
func (t *Tracker) floorDays(f *floors, k, m int32) (o found) {
	if k+24 > f.n {
		return o
	}
	hours := 0.5 * float64(m)
	sum, low, n := 0.0, math.Inf(1), 0.0
	for at := int32(0); at < k; at += 48 {
		to := min(at+48, k)
		least, known := f.least(at, to, m)
		if known < (to-at-m)/2 {
			return o
		}
		part := float64(to-at) / 48
		sum += part * least
		n += part
		low = min(low, least)
	}
	after := sum / n
	if after < 0.6*leastFall*float64(m)/float64(k) && after < 0.5*f.u {
		return o
	}
	var x [8]float64
	was := 0
	for at := k; at+24 <= f.n && was < len(x); at += 48 {
		if least, known := f.least(at, min(at+48, f.n), m); known > 20-m {
			x[was] = least
			was++
		}
	}
	if was == 0 {
		return o
	}
	slices.Sort(x[:was])
	before := x[was-1]
	if was >= 3 && n >= 2 {
		before = x[was-2] // people were up one night
	}
	spread := before - x[0]
	swing, seen := f.swung(k)
	base := f.usual(k, m)
	need := 3 * f.u / math.Sqrt(n)
	if was < 2 {
		need = 6 * f.u
	}
	heated := f.heated(swing, base)
	if heated {
		before = max(before, 0) // what rose by the warmth then may be hidden by use now
		need += 3 * max(0, -base-f.u)
	}
	extra := after - before
	if extra < need || extra < 0.35*max(base, before) || extra < 1.5*spread || low-before < 0.5*extra {
		return o
	}
	o.span = k
	o.usual = base / hours
	rate := (f.calm(0, k, m) - f.calm(k, min(f.n, k+96), m)) / hours
	if rate < 0.5*extra/hours {
		return o
	}
	o.rate = 0.5 * (rate + extra/hours)
	o.lost = o.rate * 24 * n
	o.guard = leastFall + 0.4*swing
	if seen < 20 {
		o.guard += 3 * (1 - seen/20)
	}
	o.z = extra / f.u
	o.gain = o.lost * o.lost / float64(k)
	o.ok = o.rate > 0.035 && o.lost > o.guard && !f.pauses(k, max(rate, extra/hours), swing, heated) && !f.before(k, f.calm(0, k, m)/hours)
	return o
}

// floorIdle is that where nothing was drawn before: a day's loss against none, so that
// the warmth of the day takes nothing from it.
func (t *Tracker) floorIdle(f *floors, k int32) (o found) {
	after, known := f.least(0, k, 48)
	if known < (k-48)*3/4 || after < 0.6 || after < 4*f.u {
		return o
	}
	before, low, was := math.Inf(-1), math.Inf(1), 0
	for i := k; i+48 <= f.n; i++ {
		if v, ok := f.lost(i, 48); ok {
			before, low = max(before, v), min(low, v)
			was++
		}
	}
	if was < 12 || before > 0.5+4*f.u || before-low > 0.7*after || after < 2*before {
		return o
	}
	o.span = k
	o.rate = f.calm(0, k, 48) / 24
	o.usual = 0
	o.lost = o.rate * 0.5 * float64(k)
	swing, _ := f.swung(k)
	o.guard = leastFall + 0.4*swing
	o.z = after / f.u
	o.gain = o.lost * o.lost / float64(k)
	o.ok = o.rate > 0.035 && o.lost > o.guard && !f.pauses(k, o.rate, swing, true)
	return o
}
