package outlook

import (
	"math"
	"time"
)

// Add takes in a stretch; each begins where the one before ended, or later. What
// isn't so, or isn't a number, changes nothing.
//
// Stretches that touch are differences of the same levels, so their errors cancel in
// a sum but for those of the first and the last level. Each level has half the
// variance of the difference. Between stretches that don't touch (a refill) the
// levels are others, and their errors add up.
func (m *Model) Add(d Drawn) {
	from, to := d.From.UnixNano(), d.To.UnixNano()
	if to <= from || from < m.last || math.IsNaN(d.Amount) || math.Abs(d.Amount) > 1e3 || !(d.U >= 0) || d.U > 1e3 ||
		d.From.Unix() <= 0 || d.To.Unix() > 1<<33 || to-from > int64(Farthest) {
		return
	}
	m.reckoning = nil
	level2 := d.U * d.U / 2
	slip := 0.0
	if from > m.last { // another run
		slip = m.lu2 + level2
		m.slips += slip
	}
	long := d.To.Sub(d.From)
	m.total += d.Amount
	m.seconds += long.Seconds()

	for at, left := d.From, d.Amount; ; {
		c := m.within(at)
		end := time.Unix(c.end, 0)
		if !end.Before(d.To) {
			m.put(c, at, d.To, left, level2, slip, d)
			break
		}
		// What was drawn before midnight is known by the hours alone. Spread
		// evenly over the stretch, a part f of it has the variance f(1-f)/3 of
		// the whole squared if the moment at which it was drawn is anywhere.
		share := m.share(at, end, d.To)
		part := left * share
		f := share
		m.put(c, at, end, part, level2+left*left*f*(1-f)/3, slip, d)
		slip = 0
		left -= part
		at = end
	}
	m.last, m.lu2 = to, level2
	m.pattern(d, level2)
}

// put adds a part of a stretch to its day.
func (m *Model) put(c clock, from, to time.Time, amount, u2, slip float64, d Drawn) {
	begin := m.wall(from, c)
	end := 1.0
	if to.Unix() < c.end {
		end = max(begin, m.wall(to, c))
	}
	n := len(m.days)
	if n == 0 || m.days[n-1].n != c.n {
		m.age(c.n)
		if n >= keepDays {
			copy(m.days, m.days[n-keepDays+1:])
			m.days = m.days[:keepDays-1]
		}
		m.days = append(m.days, day{n: c.n, from: begin, to: begin})
		n = len(m.days)
	}
	t := &m.days[n-1]
	t.lost += max(0, begin-t.to)
	t.to = max(t.to, end)
	t.amount += amount
	t.u2 = u2
	t.slip += slip
}

// share is the part of what was drawn between two moments that was drawn before a
// third between them: by the hours of the day where that is known and the stretch is
// shorter than a day, else evenly.
func (m *Model) share(from, mid, to time.Time) float64 {
	even := mid.Sub(from).Seconds() / to.Sub(from).Seconds()
	if to.Sub(from) > 24*time.Hour {
		return even
	}
	p := m.byHour()
	c := m.within(mid.Add(-time.Second))
	before := 1 - p.until(m.wall(from, c))
	after := p.until(m.wall(to, m.within(to)))
	if before+after <= 0 {
		return even
	}
	return before / (before + after)
}
