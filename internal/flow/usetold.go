package flow

import (
	"math"
	"slices"
)

// drawn is a spell of use as it is kept: of a fixed size, amounts in points.
type drawn struct {
	Start, End, Found int64 // ns
	Amount, U         float32
	Before, After, P  float32 // levels on the scale, points; below 0: none
}

// Of spells of use [Config.Uses] are kept, fewUses where that says nothing, and
// mostUses of them in the bytes.
const (
	fewUses  = 256
	mostUses = 64
)

func (d *drawn) event() Event {
	r := record{What: aUse, Start: d.Start, End: d.End, Found: d.Found, Amount: float64(d.Amount), U: float64(d.U), Before: float64(d.Before), After: float64(d.After), P: float64(d.P)}
	return r.event(false)
}

// tellUse tells a spell that has come to rest, where that stands out beyond doubt.
func (t *Tracker) tellUse(w *spate, until int64) {
	s := &t.s
	if w.Idle {
		return
	}
	end, after, n := s.settled(w, until)
	if n < 2 {
		return
	}
	amount := w.Before - after
	hours := max(float64(end.At-w.Start.At), s.Cadence) / float64(hour)
	// Neighbours are alike, so that more than four of them tell little more.
	g := s.Grain.points()
	swing := 0.6 * math.Sin(math.Pi*min(hours, 12)/24) * min(s.Bins.swing(), 4)
	u := max(s.Noise*math.Sqrt(1/min(n, 4)+1/min(w.Blocks, 4)), 0.7*s.wavers(0))
	u = math.Sqrt(u*u + 0.17*g*g + swing*swing + 0.1*0.1)
	least := max(leastUse, sureUse*u, 2.5*s.Rough)
	for _, c := range s.Use.Chance[:min(w.class()+2, len(s.Use.Chance))] {
		least = max(least, 1.5*c)
	}
	// What takes longer has to go beyond what the warmth does in that time, as a filling
	// has to.
	beyond := leastUse + (leastRise-leastUse)*min(1, hours/0.5)
	if over := amount - w.Allow*hours; amount > leastUse && over < beyond {
		least = max(least, amount*beyond/max(over, 0.01))
	}
	if short := max(10*minute, int64(6*s.Cadence)); amount > max(leastUse, sureUse*u) && end.At-w.Start.At <= short {
		s.Use.learn(fell{float32(amount), float32(w.Before)})
		if g := s.Use.stair(); g > 0 {
			least = max(least, 1.6*g)
			t.takeBack(func(d *drawn) bool {
				return float64(d.Amount) < 1.6*g && float64(d.Amount) > g/1.6 && d.End-d.Start <= short
			})
		}
	}
	if amount < least || amount/hours < 3*w.Pace || t.otherwise(w.Start.To, end.To) {
		return
	}
	t.keepUse(drawn{Start: w.Start.To, End: end.To, Found: s.Newest, Amount: float32(min(amount, 100)), U: float32(u),
		Before: float32(w.Start.Share), After: float32(end.Share), P: float32(0.98 - 0.08*math.Exp(-1.5*(amount/least-1)))})
}

// settled gives the first block of a spell that is about as low as it came to be, and
// the mean level thereafter, of how many blocks.
func (s *state) settled(w *spate, until int64) (end mark, after, n float64) {
	for i := int32(0); i < s.Blocks.Has; i++ {
		b := s.Blocks.back(i)
		if b.At < w.CrestAt.At {
			break
		}
		if b.At <= until {
			n++
			after += b.X
		}
	}
	after /= max(n, 1)
	end = w.CrestAt
	near := max(0.1, 2*s.Noise)
	for i := int32(0); i < s.Blocks.Has; i++ {
		b := s.Blocks.back(i)
		if b.At <= w.Start.At {
			break
		}
		if b.At <= w.CrestAt.At {
			if b.X > after+near {
				break
			}
			end = b.mark()
		}
	}
	return end, after, n
}

// otherwise says whether what went out in a time is told as something else already.
func (t *Tracker) otherwise(from, to int64) bool {
	for i := range t.events {
		if e := &t.events[i]; e.P > 0.5 && e.Start < to && (e.End == 0 || e.End > from) {
			return true
		}
	}
	return false
}

// learn takes a short fall.
func (u *use) learn(f fell) {
	u.Short[u.Shorts%int32(len(u.Short))] = f
	if u.Shorts++; u.Shorts == 1<<30 {
		u.Shorts = int32(len(u.Short)) << 20
	}
}

// stair gives the size of the steps in which a sender moves that is a chain of
// resistors, points: half of what falls at once or more falls by the same then, and from
// levels that lie such steps apart. 0 where there are none.
func (u *use) stair() float64 {
	n := min(u.Shorts, int32(len(u.Short)))
	most, size := 0.0, 0.0
	for _, v := range u.Short[:n] {
		near, sum := 0.0, 0.0
		for _, w := range u.Short[:n] {
			if w.By > v.By/1.12 && w.By < v.By*1.12 {
				near++
				sum += float64(w.By)
			}
		}
		if near > most {
			most, size = near, sum/near
		}
	}
	if most < max(4, 0.5*float64(n)) {
		return 0
	}
	off, pairs := 0.0, 0.0
	for i := range n - 1 {
		a, b := u.Short[(u.Shorts-1-i)%int32(len(u.Short))], u.Short[(u.Shorts-2-i)%int32(len(u.Short))]
		if apart := float64(b.From-a.From) / size; math.Abs(apart) < 5 {
			pairs++
			off += math.Abs(apart - math.Round(apart))
		}
	}
	if pairs < 4 || off > 0.12*pairs {
		return 0
	}
	return size
}

// keepUse adds a spell, and drops the earliest where there are too many.
func (t *Tracker) keepUse(d drawn) {
	most := t.config.Uses
	if most <= 0 {
		most = fewUses
	}
	if len(t.drawn) >= most+most/4 {
		t.drawn = append(t.drawn[:0], t.drawn[len(t.drawn)-most:]...)
	}
	t.drawn = append(t.drawn, d)
}

// takeBack drops the spells that turned out to be something else.
func (t *Tracker) takeBack(is func(*drawn) bool) {
	t.drawn = slices.DeleteFunc(t.drawn, func(d drawn) bool { return is(&d) })
}

// isOther says that from a time on what went out is something else than use, so that no
// spell of use is told that ends after it.
func (t *Tracker) isOther(from int64) {
	t.takeBack(func(d *drawn) bool { return d.End > from })
	t.s.usesAnew(&t.s.Last)
}

// endUses ends what was drawn before a filling that began at a mark: a spell that rested
// before it is told, and one that goes on with it is a part of what came in.
func (t *Tracker) endUses(m mark) {
	s := &t.s
	if w := &s.Use.Out; w.Open && m.At-w.CrestAt.At >= int64(s.Cadence)+minute {
		t.tellUse(w, m.At)
	}
	t.isOther(m.To)
}
