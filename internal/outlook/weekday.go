package outlook

import "math"

// weekdays works out how much more or less than usual is used on each weekday, among
// days on which the tank is used. They are shrunk towards 1 by the part that the
// scatter of days alone explains.
func (m *Model) weekdays(r *reckoning, parts []float64) {
	h := &r.habit
	if r.blind || h.usual <= 0 {
		return
	}
	var sum, n [7]float64
	var within, deg float64
	// Compared with the days around it, so that a change over weeks isn't taken for
	// a weekday's.
	ratio := make([]float64, len(m.days))
	for i := range m.days {
		if h.state[i] != used || !m.days[i].whole() {
			continue
		}
		var s, c float64
		for j := max(0, i-10); j <= min(len(m.days)-1, i+10); j++ {
			if h.state[j] == used && m.days[j].whole() {
				s += m.days[j].amount
				c++
			}
		}
		if c < 4 || s <= 0 {
			continue
		}
		ratio[i] = m.days[i].amount / (s / c)
		wd := weekdayOf(m.days[i].n)
		w := math.Exp2(-float64(m.days[len(m.days)-1].n-m.days[i].n) / 120)
		sum[wd] += w * ratio[i]
		n[wd] += w
	}
	for i, x := range ratio {
		if x > 0 {
			wd := weekdayOf(m.days[i].n)
			e := x - sum[wd]/n[wd]
			within += e * e
			deg++
		}
	}
	groups, mean, total := 0.0, 0.0, 0.0
	for wd := range 7 {
		if n[wd] > 0 {
			groups++
			mean += sum[wd]
			total += n[wd]
		}
	}
	if deg < groups+3 || groups < 2 {
		return
	}
	within /= deg - groups
	mean /= total
	// The variance between weekdays beyond what scatter alone gives.
	between := 0.0
	for wd := range 7 {
		if n[wd] > 0 {
			e := sum[wd]/n[wd] - mean
			between += e*e - within/n[wd]
		}
	}
	between = max(0, between/(groups-1))
	norm := 0.0
	var w [7]float64
	for wd := range 7 {
		w[wd] = 1
		if n[wd] > 0 && between > 0 {
			keep := between / (between + within/n[wd])
			w[wd] = max(0.05, 1+keep*(sum[wd]/n[wd]/mean-1))
		}
		norm += w[wd] * n[wd]
	}
	for wd := range 7 {
		h.weekday[wd] = w[wd] * total / norm
	}
}

// ByWeekday gives the part of a week's use that falls into each weekday, from Sunday
// on, shrunk towards a week of equal days as far as little is known; all 0 where
// fewer than two weeks were seen.
func (m *Model) ByWeekday() [7]float64 {
	var out, drawn, n [7]float64
	if m.wholeDays() < 14 || m.total <= 0 {
		return out
	}
	var mean, all float64
	last := m.days[len(m.days)-1].n
	for i := range m.days {
		d := &m.days[i]
		if !d.whole() {
			continue
		}
		w := math.Exp2(-float64(last-d.n) / 120)
		wd := weekdayOf(d.n)
		drawn[wd] += w * d.amount
		n[wd] += w
		mean += w * d.amount
		all += w
	}
	if mean /= all; mean <= 0 {
		return out
	}
	// Each weekday's mean and what days scatter by about it.
	var within, between, deg, groups float64
	for i := range m.days {
		if d := &m.days[i]; d.whole() {
			wd := weekdayOf(d.n)
			e := d.amount/mean - drawn[wd]/n[wd]/mean
			within += e * e
			deg++
		}
	}
	for wd := range 7 {
		if n[wd] > 0 {
			groups++
		}
	}
	within /= max(1, deg-groups)
	for wd := range 7 {
		if n[wd] > 0 {
			e := drawn[wd]/n[wd]/mean - 1
			between += e*e - within/n[wd]
		}
	}
	between = max(0, between/max(1, groups-1))
	sum := 0.0
	for wd := range 7 {
		out[wd] = 1
		if n[wd] > 0 && between > 0 {
			keep := between / (between + within/n[wd])
			out[wd] = max(0, 1+keep*(drawn[wd]/n[wd]/mean-1))
		}
		sum += out[wd]
	}
	for wd := range 7 {
		out[wd] /= sum
	}
	return out
}
