package outlook

import (
	"math"
	"slices"
	"time"
)

// Reasons why nothing is known.
const (
	whyNothing = "No use has been seen yet."
	whyHidden  = "The level can't be believed at present."
	whyUnused  = "Nothing has been used since it is watched."
	whyFaint   = "What was used is less than the doubt of the level."
)

// Ahead gives how it goes on: many ways in which it may, each a mean use, a habit, a
// level and a run of days that the days so far allow, and of each when the tank is
// empty (or full). The same days and standing give the same figures.
func (m *Model) Ahead(s Standing) Outlook {
	o := Outlook{At: s.Now, Fills: m.fills(s), Days: m.wholeDays()}
	if !(s.Leak >= 0) || s.Leak > 1e3 {
		s.Leak = 0
	}
	// A leak empties it whether or not the use is known.
	if o.Why = m.unknown(); o.Why != "" && s.Leak == 0 {
		return o
	}
	r := m.reckon()
	w := m.walk(r, s)
	if o.Why == "" {
		o.Rate = w.rate
	}
	o.Why = ""
	o.Idle = w.idle
	if mi := m.meal(); mi >= 0 {
		o.Meals = meals[mi].name
	}
	if !s.Shown || math.IsNaN(s.Level) || math.IsNaN(s.U) {
		o.Why = whyHidden
		return o
	}
	low, mid, high := quantile(w.times, 0.05), quantile(w.times, 0.5), quantile(w.times, 0.95)
	o.Left = Left{Known: true, Low: low, Mid: mid, High: high}
	o.FillBy = m.fillBy(s.Now, quantile(w.times, 0.10))
	o.Least, o.Most = m.count(o)
	return o
}

// unknown is why nothing is known of the use; "" where something is.
func (m *Model) unknown() string {
	switch {
	case m.c.Prior > 0:
	case len(m.days) == 0:
		return whyNothing
	case m.total <= 0:
		return whyUnused
	case m.total < 3*math.Sqrt(m.slips+m.lu2):
		return whyFaint
	}
	return ""
}

// fills says that the tank lasts until it is full.
func (m *Model) fills(s Standing) bool { return m.c.Fills || s.To >= 1 }

// fillBy is the last day whose end lies before a time from now.
func (m *Model) fillBy(now time.Time, left time.Duration) time.Time {
	if left >= Farthest {
		return time.Time{}
	}
	today := m.within(now)
	n := m.within(now.Add(left)).n - 1
	return beginning(max(n, today.n), m.zone)
}

// quantile is that of sorted times, between the two nearest.
func quantile(t []time.Duration, p float64) time.Duration {
	x := p*float64(len(t)) - 0.5
	i := int(math.Floor(x))
	if i < 0 {
		return t[0]
	}
	if i+1 >= len(t) {
		return t[len(t)-1]
	}
	return t[i] + time.Duration((x-float64(i))*float64(t[i+1]-t[i]))
}

// walked is where all paths led.
type walked struct {
	times []time.Duration // sorted
	rate  Rate
	idle  bool
}

// rateDays is over how many days ahead the present rate is taken.
const rateDays = 14

const (
	// reverts is what part of a change of the mean is still there on the day after:
	// half of it goes in five weeks (common practice, no source).
	reverts = 0.98
	daily   = 45
	// silent is how many days of which nothing is known are gone through at most.
	silent = 60
	// The same over a week: reverts^7, and the root of the sum of reverts^(2i).
	revertsWeek = 0.86813
	driftWeek   = 2.49423
	// fewOdds and fewUse are how little is known of a weekday that was never seen:
	// the standard deviation of the logarithm of the odds that the tank is used, and
	// of its use over that of other days, in scatters of days.
	fewOdds = 0.8
	fewUse  = 1.0
)

// walk goes along all paths.
func (m *Model) walk(r *reckoning, s Standing) walked {
	t, l := draws(), lattice()
	h := &r.habit
	now := m.within(s.Now)
	gone := m.wall(s.Now, now)
	begins := make([]int64, 1, 32)
	begins[0] = now.begin

	// Kinds by their probability.
	var upTo [kinds]float64
	sum := 0.0
	for i := range r.kinds {
		sum += r.kinds[i].p
		upTo[i] = sum
	}
	start := m.start(r, now.n)
	w := walked{times: make([]time.Duration, paths), idle: start.run > idleLong}
	rates := make([]float64, paths)
	full := m.fills(s)
	floor := 0.02 * h.usual
	leak := 24 * s.Leak

	var shapes [32]shape
	for i := range shapes {
		shapes[i] = *m.shapeOf(r, (float64(i)+0.5)/float64(len(shapes)))
	}

	for p := range paths {
		k := 0
		for k < kinds-1 && upTo[k] < l[axisKind][p].u*sum {
			k++
		}
		kind := &r.kinds[k]
		mean := positive(kind.rate, kind.u, l[axisRate][p].z, floor)
		shape := &shapes[int(l[axisShape][p].u*float64(len(shapes)))]
		if r.days < 6 {
			mean *= m.unseen(r, shape)
		}
		level := s.Level + s.U*l[axisLevel][p].z
		there := level - s.To
		if full {
			there = s.To - level
		}
		// Of a weekday that was seen a few times only, little is known.
		var odd, more [7]float64
		for wd := range 7 {
			few := 1 / math.Sqrt(1+h.counted[wd])
			x := mix(p, -1000-wd)
			odd[wd] = math.Exp(fewOdds * few * few * t.normal[x&(fineness-1)])
			more[wd] = h.weekday[wd] * math.Exp(fewUse*few*kind.scatter*t.normal[x>>20&(fineness-1)])
		}
		var chance [contexts][7]float64
		for c := range contexts {
			shift := math.Exp(h.shaky[c] * l[axisAfterUse+c][p].z)
			for wd := range 7 {
				o := shift * odd[wd] * h.chance[c][wd] / (1 - h.chance[c][wd])
				chance[c][wd] = o / (1 + o)
			}
		}
		dayTable := &t.day[kind.scatterI]
		mean0, walked := mean, 0.0
		run := start.run
		// Days since the last that was seen, of which nothing is known.
		for n := max(start.n, now.n-silent); n < now.n; n++ {
			run = step(run, chance[contextOf(run)][weekdayOf(n)], mix(p, int(n-now.n)))
		}
		drawn, rate, found := 0.0, 0.0, there <= 0
		for d := 0; ; d++ {
			wd := weekdayOf(now.n + int32(d))
			x := mix(p, d)
			amount := h.base
			on := true
			if !r.blind {
				pUse := chance[contextOf(run)][wd]
				if d == 0 {
					pUse = start.today(pUse, shape, gone)
				}
				next := step(run, pUse, x)
				on = next == 0
				run = next
			}
			expect := h.base
			if on {
				expect = mean * more[wd]
				amount = expect * dayTable[x>>20&(fineness-1)]
			}
			from, leaks := 0.0, leak
			if d == 0 {
				from = shape.until(gone)
				amount *= 1 - from
				leaks *= 1 - gone
			}
			if d < rateDays {
				rate += expect
			}
			if !found && drawn+amount+leaks >= there {
				part := (there - drawn) / (amount + leaks)
				f := gone // only where it is a leak alone
				if leaks < amount {
					z := t.normal[x>>40&(fineness-1)]
					part = min(1, part*math.Exp(0.25*z))
					f = shape.when(from + (1-from)*part)
				} else if d == 0 {
					f += (1 - gone) * part
				} else {
					f = part
				}
				for len(begins) <= d+1 {
					begins = append(begins, beginning(now.n+int32(len(begins)), m.zone).Unix())
				}
				at := float64(begins[d]) + f*float64(begins[d+1]-begins[d])
				w.times[p] = time.Duration(max(0, at-float64(s.Now.UnixNano())*1e-9) * 1e9)
				found = true
			}
			drawn += amount + leaks
			// Far ahead a change a week is as good as one a day.
			if kind.drift > 0 && d < daily {
				walked = reverts*walked + kind.drift*t.normal[x>>30&(fineness-1)]
				mean = mean0 * math.Exp(walked)
			} else if kind.drift > 0 && d%7 == 0 {
				walked = revertsWeek*walked + driftWeek*kind.drift*t.normal[x>>30&(fineness-1)]
				mean = mean0 * math.Exp(walked)
			}
			if found && d >= rateDays-1 {
				break
			}
			if d > int(Farthest/(24*time.Hour)) {
				w.times[p] = Farthest
				break
			}
		}
		rates[p] = rate / rateDays
	}
	for i := range w.times {
		w.times[i] = min(w.times[i], Farthest)
	}
	slices.Sort(w.times)
	slices.Sort(rates)
	at := func(q float64) float64 { return rates[int(q*paths)] }
	w.rate = Rate{Known: true, Low: at(0.05), Mid: at(0.5), High: at(0.95)}
	return w
}

// step goes on by a day: the number of days without use, 0 after one with.
func step(run int, chance float64, x uint64) int {
	if float64(x>>44)/(1<<20) < chance {
		return 0
	}
	return run + 1
}

// positive is a draw of a rate that has a mean and a standard deviation and isn't
// below 0: of the log-normal whose
// median is the mean.
func positive(mean, u, z, floor float64) float64 {
	mean = max(mean, floor)
	if mean <= 0 {
		return 0
	}
	v := math.Log1p(u * u / (mean * mean))
	v = min(v, 4)
	return mean * math.Exp(math.Sqrt(v)*z)
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

// opened is how things stand as a walk begins.
type opened struct {
	n   int32 // the day after the last that is known
	run int   // days without use before that
	on  bool  // the tank has been used today
	off bool  // it hasn't, so far as was seen
}

// start finds out how things stand on a day.
func (m *Model) start(r *reckoning, today int32) opened {
	s := opened{n: today}
	if len(m.days) == 0 {
		return s
	}
	i := len(m.days) - 1
	if m.days[i].n == today {
		switch {
		case r.habit.state[i] == used:
			s.on = true
		case m.days[i].amount <= usedFrom*r.habit.usual:
			s.off = true
		}
		i--
	}
	if i < 0 {
		return s
	}
	s.n = m.days[i].n + 1
	for ; i >= 0 && r.habit.state[i] == idle; i-- {
		s.run++
	}
	return s
}

// today is the chance of use on the day that has begun, with what was seen of it: none
// up to now makes it less likely.
func (s *opened) today(p float64, sh *shape, gone float64) float64 {
	switch {
	case s.on:
		return 1
	case s.off:
		rest := p * (1 - sh.until(gone))
		return rest / (rest + 1 - p + 1e-9)
	}
	return p
}
