package outlook

import "time"

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
