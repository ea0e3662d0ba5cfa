package outlook

import (
	"math"
	"slices"
	"time"
)

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
	fewOdds = 0.6
	fewUse  = 0.7
)

// walk goes along all paths. unused leaves out the use, of which nothing is known.
func (m *Model) walk(r *reckoning, s Standing, unused bool) walked {
	t, l := draws, lattice
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
		leak := 24 * positive(s.Leak, s.LeakU, l[axisLeak][p].z, 0)
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
			if unused {
				amount, expect = 0, 0
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
