package outlook

import "math"

// Rate gives the use per day as it was over all that was seen: what was drawn over how
// long was watched. Its interval is for the mean use of a day in the long run, so it
// has the scatter of days, that days resemble those before them, the doubt of the
// levels, and while less than some days was seen the part of the day that wasn't.
func (m *Model) Rate() Rate {
	if m.seconds <= 0 {
		return Rate{}
	}
	long := m.seconds / 86400 // days
	mid := m.total / long
	noise := math.Sqrt(m.slips+m.lu2) / long
	if mid <= 0 || mid < 0.5*noise {
		mid = max(0, mid)
		// Nothing seen: what would have been missed, and what a day or two may
		// have been without by chance.
		return Rate{Known: long >= 1, Low: 0, Mid: mid, High: mid + 1.7*noise}.held()
	}
	r := m.reckon()
	s := m.scattering(mid, r.habit.even)
	// What scatter isn't to blame for.
	rest := noise / mid
	// The use of the hours that weren't seen: by the shape of the day, which few
	// days tell little of, it is between nothing and as much as that of the others.
	seen := 0.0
	for i := range m.days {
		d := &m.days[i]
		seen += r.shape.until(d.to) - r.shape.until(d.from)
	}
	if r.keep > 0 && seen > 0 && long < keepDays-1 {
		apart := math.Log(long / seen)
		rest = math.Hypot(rest, r.keep*math.Abs(apart)*0.6)
	}
	if long < 1 {
		rest = math.Hypot(rest, 0.7*(1-long))
	}
	t := s.within(rest, long)
	return Rate{Known: true, Low: mid * math.Exp(-t), Mid: mid, High: mid * math.Exp(t)}.held()
}

// held gives no figures where nothing is known.
func (r Rate) held() Rate {
	if !r.Known {
		return Rate{}
	}
	return r
}
