package flow

import "math"

// near is how close to a rise a tap has to run to have run meanwhile, too.
func (s *state) near() int64 { return max(90*second, int64(1.5*s.Cadence)) }

// tapLeast is the least by which a level falls from a block to the next while a tap runs.
func (s *state) tapLeast() float64 { return max(0.15, 5*s.Noise) }

// run is blocks that fall one after the other at about the same rate, from a rise
// outwards.
type run struct {
	least       float64
	fell, hours float64
	most        float64 // points/h
	n           int32
	over        bool
}

func (r *run) add(a, b *block, near bool) {
	if r.over || b.At <= a.At || b.New {
		return
	}
	d, h := a.X-b.X, float64(b.At-a.At)/float64(hour)
	n := r.n
	defer func() {
		if r.n > n {
			r.most = max(r.most, d/h)
		}
	}()
	switch {
	case d < r.least:
		r.over = r.n > 0 || !near
	case r.n == 0 && near:
		r.fell, r.hours, r.n = d, h, 1
	case r.n == 0:
		r.over = true
	case d/h < 0.5*r.fell/r.hours:
		r.over = true // the tap was opened or shut within that block
	case d/h > 2*r.fell/r.hours:
		if r.over = r.n > 1; !r.over {
			r.fell, r.hours, r.n = d, h, 2 // and here in the first
		}
	default:
		r.fell += d
		r.hours += h
		r.n++
	}
}

// rate gives how fast the tap drew, points/h, and over how many blocks that was seen.
func (r *run) rate() (float64, int32) {
	if r.n == 0 {
		return 0, 0
	}
	if r.n <= 2 {
		return r.most, r.n // it was opened or shut within one of them
	}
	return r.fell / r.hours, r.n
}

// ends gives how fast it rose in the first and in the last third of a rise, points/h.
func (s *state) ends(from, to int64) (first, last float64, known bool) {
	third := (to - from) / 3
	var a, b, c, d *block
	for i := min(s.Blocks.Has, ringSize) - 1; i >= 0; i-- {
		k := s.Blocks.back(i)
		if k.At < from || k.At > to {
			continue
		}
		if a == nil {
			a = k
		}
		if k.At <= from+third {
			b = k
		}
		if c == nil && k.At >= to-third {
			c = k
		}
		d = k
	}
	if a == nil || b == nil || c == nil || b.At <= a.At || d.At <= c.At {
		return 0, 0, false
	}
	return (b.X - a.X) / (float64(b.At-a.At) / float64(hour)), (d.X - c.X) / (float64(d.At-c.At) / float64(hour)), true
}

// meanwhile gives what was drawn in the hours of a rise. A tap that runs before and
// after it ran all the time; one that runs on one side only may have run for any part of
// it, and is taken to have done so for half of it where it was seen for some minutes,
// and the level didn't rise unevenly, as it does when a tap is opened or shut meanwhile.
// One block alone that falls may be what is left of a surface that overshot.
func (s *state) meanwhile(a *after, f quietBy, hours float64, open bool) (drawn, u float64) {
	b := a.Before
	low, high := min(b.Tap, f.Tap), max(b.Tap, f.Tap)
	if open {
		low = 0
	}
	switch runs := b.Runs + f.Runs; {
	case hours > 2 || runs < 3 && s.Cadence > 150*float64(second):
	case low > 0.5*high && runs > 1:
		return hours * (0.6*low + 0.4*high), hours * (0.12*low + 0.35*(high-low))
	case low > 0.25*high && runs > 2:
		return hours * (0.8*low + 0.2*high), hours * (0.15*low + 0.35*(high-low))
	}
	longest := max(b.Long, f.Long, s.Ledger.Rate)
	if s.Cadence > 150*float64(second) {
		high = 0 // what is drawn for a moment looks like a tap that runs from a reading to the next
	}
	if high == 0 || hours > 0.6 {
		usual := max(0, min(b.Long, f.Long))
		if hours < 0.3 {
			return 0, 0.5 * hours * max(0, longest)
		}
		return hours * usual, 0.5 * hours * max(0, longest)
	}
	most := hours * high
	if max(b.Runs, f.Runs) < 2 && s.Cadence < 90*float64(second) {
		return 0, 0.2 * most
	}
	edge := min(int64(s.Cadence)+30*second, (a.End.At-a.Start.At)/5)
	first, last, known := s.ends(a.Start.At+edge, a.End.At-edge)
	if b.Tap > f.Tap {
		first, last = last, first
	}
	if known && first-last > 0.5*high {
		return 0.1 * most, 0.3 * most
	}
	if max(b.Runs, f.Runs) < 3 {
		return 0.25 * most, 0.35 * most
	}
	return 0.5 * most, 0.35 * most
}

// amount reckons what came in: the level after less the level before, and what was
// drawn meanwhile.
func (t *Tracker) amount(a *after, open bool) {
	s := &t.s
	e := &t.events[a.Event]
	f := quietBy{At: a.End.At, X: a.End.X, U: math.Hypot(a.End.U, s.Noise)}
	if !open {
		f = s.following(a.End)
	}
	hours := max(0, float64(f.At-a.Before.At)/float64(hour))
	used := a.Used
	if a.UUsed > 0 {
		// A float that was stuck.
	} else if a.Gaps < 0.6 && a.Before.Tap > 0 && f.Tap > 0 {
		used = 0 // what fills may sway so that it looks like a drive
	} else {
		hours = max(0, hours-a.Gaps)
	}
	drawn, uDrawn := s.meanwhile(a, f, hours, open)
	if !open && a.Gaps == 0 {
		if d, u := s.notches(a.Before.At, f.At); d > drawn {
			drawn, uDrawn = d, u
		}
	}
	rose := f.X - a.Before.X + drawn + used
	rose += s.sinceFirst(a)
	g := max(s.Grain.points(), s.Fall.stair(), s.Stairs.step())
	swing := 0.6 * math.Sin(math.Pi*min(hours+a.Gaps, 12)/24) * min(s.Bins.swing(), 4)
	lump := 1.0 // what is drawn at once
	if s.Fall.Taps >= 5 {
		lump = math.Exp(s.Fall.LogSize)
	}
	u := math.Sqrt(f.U*f.U + a.Before.U*a.Before.U + uDrawn*uDrawn + 0.25*used*used + used*min(lump, 3) + swing*swing + 0.17*g*g + floatPlay*floatPlay)
	if a.Gaps > 0 && a.Gaps < 3 {
		u = math.Hypot(u, 0.1*max(rose, 0)+0.5) // an engine uses more while it runs than the mean of the days
	}
	e.Amount, e.U = min(max(rose, 0), 100), u
	e.After = a.End.Share
	least := leastRise
	if a.Gaps > 0 {
		least = 2
		if open {
			least = driveRise
		}
	}
	e.P = 1 - 0.6*math.Exp(-max(0, rose-least*0.8)/(0.5*least+u))
	if rose < 3 && e.P < 0.85 {
		e.P = min(e.P, 0.5) // as much as a reading wanders by itself
	}
	if rose < 0.6 || drawn+used > 0 && f.X-a.Before.X < max(leastRise, 0.3*(drawn+used)) {
		e.P = 0 // what is thought to have been drawn alone is no sign of a filling
	}
}

// sinceFirst gives what came in between the first reading of all and the first level,
// where it was being filled then: as much as in the time after.
func (s *state) sinceFirst(a *after) float64 {
	by := a.Start.At - s.Oldest
	if by <= 0 || by > 3*minute+int64(s.Cadence) || a.Gaps > 0 {
		return 0
	}
	for i := s.Blocks.Has - 1; i >= 0; i-- {
		if b := s.Blocks.back(i); b.At >= a.Start.At+2*minute+int64(s.Cadence) {
			if b.At > a.End.At {
				break
			}
			return max(0, b.X-a.Start.X) / float64(b.At-a.Start.At) * float64(by)
		}
	}
	return 0
}
