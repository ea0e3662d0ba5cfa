package flow

import (
	"math"
)

// compared is the fall over half hours of which it is known what is drawn then.
type compared struct {
	n      int32
	others float64
	lost   float64 // beyond what is usual, points
	base   float64 // what is usual, sum of rates
	spread float64 // variance of lost by what differs from day to day
	u      float64
	sums   weighted
	extra  [160]float64 // by half hours, the newest first, points
	apart  [160]float64 // by how much such a half hour differs from day to day, points/h
	all    [160]float64 // all that was lost in known half hours
	doubt  [160]float64
	m      int32 // how many
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
		if rest, long := c.restsAt(i, rate, swing, 1); long == 0 {
			return false
		} else if rest {
			return true
		}
	}
	return false
}

// restsAt says whether the stretch that ends with a half hour is such a rest. It is as
// long as a leak has to have lost nothing for, to be seen to rest beyond the doubt of its
// levels, sure times over; long is 0 where there aren't so many half hours.
func (c *compared) restsAt(i int32, rate, swing, sure float64) (rest bool, long int32) {
	sum, u := 0.0, 0.0
	for j := i; j < c.m; j++ {
		sum += c.all[j]
		u = max(u, c.doubt[j])
		long = j - i + 1
		if long >= 5 && 0.5*rate*float64(long) >= sure*(3.5*u+0.3) {
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
	c.extra[c.n], c.apart[c.n] = 0.5*(v.Quiet-base), apart
	c.n++
	c.sums.add(v.Quiet-base, base, apart)
	c.u = max(c.u, v.U)
}

// settle works out what was lost.
func (c *compared) settle() {
	half := 0.5 * float64(c.n)
	c.lost, c.base = c.sums.extra/c.sums.weight*half, c.sums.base/c.sums.weight*float64(c.n)
	// Neighbours differ alike: four of them count as one.
	c.spread = 4 * c.sums.spread / (c.sums.weight * c.sums.weight) * half * half
}

// weighted is sums over half hours, of which those count most that are alike from day to
// day: by the reciprocal of their variance.
type weighted struct{ weight, extra, base, spread float64 }

// alike is by how much a half hour may differ from day to day, points an hour, and count
// as much as one that doesn't at all.
const alike = 0.15

func (w *weighted) add(extra, base, apart float64) {
	by := 1 / (apart*apart + alike*alike)
	w.weight += by
	w.extra += by * extra
	w.base += by * base
	w.spread += by * by * apart * apart
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
		var sums weighted
		n := int32(0)
		for i := at; i < at+k; i++ {
			v := b.back(i)
			if !v.Known {
				continue
			}
			if base, m, apart := w.same(b, i, at+k); m > 0 {
				sums.add(v.Quiet-base, base, apart)
				n++
			}
		}
		if 2*n >= k {
			most = max(most, sums.extra/sums.weight*0.5*float64(n))
		}
	}
	return most
}

// steady says whether it falls all the time, as far as that can be told: over stretches
// long enough for the fall to stand out of the noise, hardly any has less than a third of
// it, and the last doesn't.
func (c *compared) steady(rate float64) bool {
	// Half hours that differ by more than the leak from day to day say nothing of that.
	var alike [160]float64
	n := int32(0)
	for i := range c.n {
		if c.apart[i] <= max(0.3, rate) {
			alike[n] = c.extra[i]
			n++
		}
	}
	long := int32(max(2, math.Ceil(6*c.u/(0.5*rate))))
	if n < 3*long {
		return false
	}
	sum, all, low := 0.0, 0.0, 0.0
	for i := range n {
		sum += alike[i]
		if i >= long {
			sum -= alike[i-long]
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
