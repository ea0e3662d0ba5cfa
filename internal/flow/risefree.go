package flow

import "math"

// tooFast is the time, minutes, in which a change is faster than anything flows: a float
// that stuck and comes free does that.
const tooFast = 0.45

// took gives in how many minutes the level went from one to another, between the last of
// the spots about as it was and the first about as it is; not ok where they come too
// seldom to tell, or don't reach back so far.
func (t *Tracker) took(from, to mark) (minutes float64, ok bool) {
	p := &t.s.Spots
	way := to.X - from.X
	last, first := int64(0), int64(0)
	for i := int32(1); i <= p.Has; i++ {
		v := p.All[(p.N-i+spotsSize)%spotsSize]
		if v.At < from.At-3*minute {
			break
		}
		if v.At > to.At+2*minute {
			continue
		}
		part := (t.content(v.X) - from.X) / way
		if part >= 0.85 {
			first = v.At
		} else if part < 0.15 {
			last = v.At
			break
		}
	}
	if last == 0 || first <= last {
		return 0, false
	}
	return float64(first-last) / float64(minute), true
}

// leastStill is for how long a level has to have stayed for a float to have stuck, hours.
const leastStill = 0.75

// freed says whether a level that had stayed in one place and then changed was that of a
// float that stuck, how likely that is, and what must have been drawn meanwhile, points.
// At a reading every few seconds the change tells: nothing flows that fast. Where levels
// come each minute, it has to have stood still for longer than ever, too.
func (t *Tracker) freed(from, to mark, still float64) (p, drawn, u float64) {
	s := &t.s
	least := max(1.5, 10*s.Noise, 2.5*max(s.Grain.points(), s.Stairs.step()))
	if still < leastStill || math.Abs(to.X-from.X) < least {
		return 0, 0, 0
	}
	minutes, ok := t.took(from, to)
	jumped := s.Jumped > from.At-minute && s.Jumped < to.At+2*minute
	drawn = s.rateBefore(still) * still
	p = 0.85
	// That nothing is drawn while people sleep says nothing.
	awake := t.awake(&fall{From: from, Rest: still})
	switch seldom := s.Cadence > 15*float64(second); {
	case !seldom && ok && minutes <= tooFast && !jumped:
	case !seldom && jumped && awake > max(1, 1.2*s.Fall.Calm) && drawn > 1:
		// Farther than any tank fills, says the watch; but a small one may be filled as fast.
		p = 0.75
	case seldom && s.Cadence < 90*float64(second) && to.X > from.X && (jumped || ok && minutes < 2) &&
		awake > max(2, 1.5*s.Fall.Calm) && drawn > max(2, 2*s.Fall.Largest) && s.Ledger.Weight >= 6:
		// It may have been filled that fast, but it never stood still for so long.
		p = 0.75
	default:
		return 0, 0, 0
	}
	if by := from.X - to.X; by > 0 {
		// A tap that is opened for a moment falls as fast: it has to be more than that, and
		// about what it owed.
		p = 0.75
		if by < max(2.5, 2*s.Fall.Largest) || by > 2.5*drawn+1 || by < 0.3*drawn || s.Ledger.Weight < 10 || awake < max(1.5, 1.2*s.Fall.Calm) {
			return 0, 0, 0
		}
	}
	drawn = min(drawn, t.holds(from.X))
	return p, drawn, (1.3-p)*drawn + 0.3
}

// freedUp tells of a float that was stuck while a tank was filled: it is seen when it comes
// free, and what was drawn meanwhile came in too.
func (t *Tracker) freedUp(a *after, b *block) {
	if a.Gaps > 0 {
		return
	}
	p, drawn, u := t.freed(a.Start, a.End, a.Still)
	if p == 0 {
		return
	}
	a.Used, a.UUsed = drawn, u
	t.open(record{What: aStuck, Why: whyConstantAnyway, Start: a.Start.At - int64(a.Still*float64(hour)), End: a.Start.To, Found: b.To,
		Before: a.Start.Share, After: a.End.Share, P: p})
}

// rateBefore gives how fast it was used before a time in which nothing was seen to be,
// which is in what the books have, points/h.
func (s *state) rateBefore(still float64) float64 {
	l := &s.Ledger
	return l.Rate * min(3, l.Weight/max(l.Weight-still, 0.25*l.Weight, 1))
}
