package outlook

import (
	"math"
	"time"
)

// hour is what was drawn in an hour of the day: the older, the less it weighs.
type hour struct {
	drawn  float64
	noise  float64 // variance of drawn
	days   float64 // how often it was seen
	newest int32   // the day that it was last seen on
}

// patternDecay is what a day counts of the one after it in the pattern: half after five
// weeks (common practice, no source). It is 0.5^(1/35).
const patternDecay = 0.9803902

// longest is the longest stretch that says at which hours something was drawn.
const longest = 4 * time.Hour

// age lets the pattern age when another day begins.
func (m *Model) age(n int32) {
	if len(m.days) == 0 {
		return
	}
	f := 1.0
	for range min(n-m.days[len(m.days)-1].n, 4000) {
		f *= patternDecay
	}
	for h := range m.hours {
		t := &m.hours[h]
		t.drawn *= f
		t.noise *= f * f
		t.days *= f
	}
}

// pattern adds a stretch to the hours of the day.
func (m *Model) pattern(d Drawn, level2 float64) {
	long := d.To.Sub(d.From)
	if long > longest {
		return
	}
	for at := d.From; at.Before(d.To); {
		c := m.within(at)
		f := m.wall(at, c)
		h := min(23, int(f*24+1e-9))
		// To the end of the hour on the wall.
		next := at.Add(time.Duration((float64(h+1)/24 - f) * 86400 * float64(time.Second)))
		if !next.After(at) {
			next = at.Add(time.Second)
		}
		if next.After(d.To) {
			next = d.To
		}
		part := float64(next.Sub(at)) / float64(long)
		t := &m.hours[h]
		t.drawn += d.Amount * part
		t.days += next.Sub(at).Hours()
		if t.newest != c.n {
			t.newest = c.n
			t.noise += 2 * level2
		}
		at = next
	}
}

// shape is how the use of a day runs: parts of it by hour, and those up to each.
type shape struct {
	part [24]float64
	sum  [25]float64
}

func (s *shape) add() {
	for h, p := range s.part {
		s.sum[h+1] = s.sum[h] + p
	}
}

// flat is a day in which each hour is like the other.
var flat = func() *shape {
	s := new(shape)
	for h := range s.part {
		s.part[h] = 1.0 / 24
	}
	s.add()
	return s
}()

// until is the part of a day's use up to a part of the day.
func (s *shape) until(f float64) float64 {
	if f >= 1 {
		return 1
	}
	if f <= 0 {
		return 0
	}
	x := f * 24
	h := int(x)
	return min(1, s.sum[h]+s.part[h]*(x-float64(h)))
}

// when is the part of the day up to which a part of its use was drawn.
func (s *shape) when(u float64) float64 {
	h := 0
	for h < 23 && s.sum[h+1] < u {
		h++
	}
	if s.part[h] <= 0 {
		return float64(h+1) / 24
	}
	return min(1, (float64(h)+(u-s.sum[h])/s.part[h])/24)
}

// observed is the pattern as it was seen, not shrunk, and how much of what makes it
// differ from a flat one isn't noise, 0..1. Hours that weren't seen have what the
// others have on average.
func (m *Model) observed() (shape, float64) {
	var s shape
	var mean, n float64
	for _, t := range m.hours {
		if t.days > 0.01 {
			mean += t.drawn / t.days
			n++
		}
	}
	if n == 0 || mean <= 0 {
		return *flat, 0
	}
	mean /= n
	var sum, apart, noise float64
	for h, t := range m.hours {
		v := mean
		if t.days > 0.01 {
			v = t.drawn / t.days
			noise += t.noise / (t.days * t.days)
		}
		apart += (v - mean) * (v - mean)
		s.part[h] = max(0, v)
		sum += s.part[h]
	}
	for h := range s.part {
		s.part[h] /= sum
	}
	s.add()
	if apart <= noise {
		return *flat, 0
	}
	return s, 1 - noise/apart // James and Stein: shrink by the noise's part
}

// byHour is the pattern of the day, shrunk towards a flat one: by its noise, and for
// few days as if a flat day and a half had been seen besides.
func (m *Model) byHour() *shape {
	s, clear := m.observed()
	days := 0.0
	for _, t := range m.hours {
		days += t.days / 24
	}
	return s.shrunk(clear * days / (days + 1.5))
}

// even is how evenly the use goes on through the day: 1 where the quarter of a day with
// the least has three quarters of the mean, 0 where one has nothing or wasn't seen. The
// least of four is below the others by its doubt; a quarter of that is allowed
// for. Where the doubt is greater than a quarter of the mean it tells less and less.
func (m *Model) even() float64 {
	var rate, noise [4]float64
	mean := 0.0
	for h, t := range m.hours {
		if t.days < 0.5 {
			return 0
		}
		q := h / 6
		rate[q] += t.drawn / t.days / 6
		// The levels within a quarter cancel, so its noise is that of one of its hours.
		noise[q] += t.noise / (t.days * t.days) / 6 / 36
	}
	for _, r := range rate {
		mean += r / 4
	}
	if mean <= 0 {
		return 0
	}
	least := 1.0
	for q, r := range rate {
		u := math.Sqrt(noise[q]) / mean
		e := min(1, (r/mean+0.25*u)/0.75)
		least = min(least, e*min(1, max(0, (0.6-u)/0.35)))
	}
	return max(0, least)
}

// shrunk mixes a shape with a flat one.
func (s *shape) shrunk(keep float64) *shape {
	var out shape
	for h, p := range s.part {
		out.part[h] = keep*p + (1-keep)/24
	}
	out.add()
	return &out
}

// ByHour gives the part of a day's use that falls into each hour of the day; all 0
// where too little is known (fewer than two whole days).
func (m *Model) ByHour() [24]float64 {
	if m.wholeDays() < 2 || m.total <= 0 {
		return [24]float64{}
	}
	return m.byHour().part
}

func (m *Model) wholeDays() int {
	n := 0
	for i := range m.days {
		if m.days[i].whole() {
			n++
		}
	}
	return n
}

// meals are the parts of a day that people count by: hours from and to, which may
// lie beyond midnight (common practice, no source).
var meals = []struct {
	name     string
	from, to int
}{
	{"evenings", 17, 24}, {"mornings", 5, 11}, {"middays", 11, 15}, {"afternoons", 13, 18}, {"nights", 21, 30},
}

// mealsFrom is what part of the use has to fall into one part of the day for people
// to count by it, and mealDays on how many whole days that has to rest.
const (
	mealsFrom = 0.70
	mealDays  = 3
)

// meal is which of meals the use falls into; -1: none.
func (m *Model) meal() int {
	if m.wholeDays() < mealDays {
		return -1
	}
	s := m.byHour()
	best, most := -1, mealsFrom
	for i, w := range meals {
		sum := 0.0
		for h := w.from; h < w.to; h++ {
			sum += s.part[h%24]
		}
		if sum >= most {
			best, most = i, sum
		}
	}
	return best
}
