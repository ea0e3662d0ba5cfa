package outlook

import "math"

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

// shapeOf is the shape of the day for a path: between flat and what was seen, the
// nearer the latter the more days it rests on. Hours that were never seen have between
// nothing and as much as the others: either what was seen is all there is, or they are
// like it, so the ends are likelier than the middle.
func (m *Model) shapeOf(r *reckoning, u float64) *shape {
	keep := 0.0
	if r.keep > 0 {
		keep = r.keep * math.Pow(u, 1/(1+1.5*r.days))
	}
	s := r.shape.shrunk(keep)
	if r.days >= 1.5 {
		return s
	}
	x := math.Sin((1 - u) * math.Pi / 2)
	sum := 0.0
	for h := range s.part {
		if m.hours[h].days < 0.01 {
			s.part[h] *= x * x
		}
		sum += s.part[h]
	}
	for h := range s.part {
		s.part[h] /= sum
	}
	s.add()
	return s
}

// unseen is by how much the mean use of a day changes if the day's shape is this one
// instead of that the days were reckoned with: it matters while only parts of days
// were seen.
func (m *Model) unseen(r *reckoning, s *shape) float64 {
	base := r.shape.shrunk(r.keep * r.days / (r.days + 1.5))
	var a, b float64
	for i := range m.days {
		d := &m.days[i]
		a += base.until(d.to) - base.until(d.from)
		b += s.until(d.to) - s.until(d.from)
	}
	if b <= 0 {
		return 1
	}
	return a / b
}
