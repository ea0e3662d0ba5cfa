package outlook

import "math"

// scatters are what the use of days may scatter by, over their mean, and drifts by
// how much that mean may change from a day to the next. Which it is, is weighed by how
// likely each makes what was seen; before that, by first guesses (common practice, no
// source: people's days differ by a third to a half, an appliance's by less).
var (
	scatters     = [...]float64{0.04, 0.1, 0.2, 0.35, 0.55, 0.85, 1.3}
	scatterFirst = [...]float64{0.07, 0.12, 0.2, 0.25, 0.2, 0.11, 0.05}
	drifts       = [...]float64{0, 0.01, 0.03, 0.08, 0.2}
	driftFirst   = [...]float64{0.27, 0.33, 0.25, 0.12, 0.03}
)

// evenSteady is how much less likely much scatter is where the use goes on
// evenly through the day (common practice, no source).
const evenSteady = 6

const kinds = len(scatters) * len(drifts)

// kind is one way in which use may go, how likely it is, and what the rate is then.
type kind struct {
	p              float64
	scatter, drift float64
	rate, u        float64 // of a day on which the tank is used
	scatterI       int
}

// reckoning is what the days say, all together.
type reckoning struct {
	habit habit
	shape shape // of the day, observed
	keep  float64
	days  float64 // how many days the pattern rests on
	kinds [kinds]kind
	blind bool // whether the tank was used can't be told, so every day counts as used
}

// reckon looks at all days. It is done once for all questions until the next Add.
func (m *Model) reckon() *reckoning {
	if m.reckoning != nil {
		return m.reckoning
	}
	r := new(reckoning)
	r.shape, r.keep = m.observed()
	for _, t := range m.hours {
		r.days += t.days / 24
	}
	p := r.shape.shrunk(r.keep * r.days / (r.days + 1.5))
	r.habit = m.habits(p)
	r.blind = r.habit.clear*3 < len(m.days)
	parts := m.parts(r, p)
	m.weekdays(r, parts)
	parts = m.parts(r, p)
	r.weigh(m, parts)
	m.reckoning = r
	return r
}

// parts is what part of a usual day's use each day should have had: by whether the
// tank was used, the weekday, and how much of the day was seen.
func (m *Model) parts(r *reckoning, p *shape) []float64 {
	out := make([]float64, len(m.days))
	for i := range m.days {
		d := &m.days[i]
		part := p.until(d.to) - p.until(d.from) - d.lost
		w := r.habit.weekday[weekdayOf(d.n)]
		switch {
		case r.blind:
			w = 1
		case r.habit.state[i] == idle:
			w = 0
		case r.habit.state[i] == unclear:
			w *= r.habit.part
		}
		out[i] = max(0, part*w)
	}
	return out
}

// weigh runs a filter for each kind of scatter and drift and weighs them by how
// likely they make the days.
func (r *reckoning) weigh(m *Model, parts []float64) {
	h := &r.habit
	usual := h.usual
	if m.c.Prior > 0 && usual <= 0 {
		usual = m.c.Prior
	}
	most := math.Inf(-1)
	for i := range r.kinds {
		k := &r.kinds[i]
		si, di := i/len(drifts), i%len(drifts)
		k.scatter, k.scatterI, k.drift = scatters[si], si, drifts[di]
		f := filter{rate: usual, prr: 100 * usual * usual}
		if m.c.Prior > 0 {
			f.rate = m.c.Prior
			s := math.Exp(m.c.PriorSpread*m.c.PriorSpread) - 1
			f.prr = m.c.Prior * m.c.Prior * max(1e-6, s)
		}
		m.run(&f, parts, h, k, usual)
		k.rate, k.u = f.rate, math.Sqrt(f.prr)
		// What goes on by day and by night is an appliance, whose days are alike.
		k.p = f.like + math.Log(scatterFirst[si]*driftFirst[di]) - evenSteady*h.even*k.scatter
		most = max(most, k.p)
	}
	sum := 0.0
	for i := range r.kinds {
		r.kinds[i].p = math.Exp(r.kinds[i].p - most)
		sum += r.kinds[i].p
	}
	for i := range r.kinds {
		r.kinds[i].p /= sum
	}
}

// run takes a filter through all days.
func (m *Model) run(f *filter, parts []float64, h *habit, k *kind, usual float64) {
	seen := 0.0
	for i := range m.days {
		d := &m.days[i]
		gone := 1.0
		if i > 0 {
			gone = float64(d.n - m.days[i-1].n)
		} else {
			gone = 0
		}
		x := d.amount
		if h.state[i] == idle {
			x -= h.base * d.seen()
		}
		seen += x
		mean := min(max(f.rate, 0.2*usual), 5*usual)
		if i == 0 {
			mean = usual
		}
		part := parts[i]
		s := part * mean * k.scatter
		scatter := s * s
		if part > 0 && part < 1 {
			scatter /= part // a part of a day scatters more for its size
		}
		if h.state[i] == unclear && h.part < 1 {
			scatter += part * mean * mean * (1 - h.part) * part
		}
		if h.state[i] == idle {
			scatter += h.base*h.base + x*x // what little there was tells nothing of the rate
		}
		drift := k.drift * mean
		f.foretell(part, scatter+d.slip, gone*drift*drift)
		f.take(seen, d.u2+1e-12*usual*usual)
	}
}
