package flow

import "math"

// rise watches for what comes in: a cumulative sum (Page, Biometrika 41 (1954)
// 100-115) of the changes of the level, less what the warmth of a day may raise it by
// in that time, which begins anew when it comes down to 0.
type rise struct {
	Sum     float64 // points
	Start   mark    // where the sum was last about 0
	Crest   float64 // its largest
	CrestAt mark
	Gaps    float64 // hours within it without good levels
	Used    float64 // what is thought to have been drawn in those, points
	Event   int32   // -1: none is told
	Before  quietBy
	After   after
}

// mark is a block's place in time and its level.
type mark struct {
	At, To   int64
	X, Share float64
	U        float64
}

func (b *block) mark() mark { return mark{b.At, b.To, b.X, b.Share, b.U} }

// quietBy is the level beside a rise, and how fast it fell there.
type quietBy struct {
	At          int64
	X, U        float64
	Short, Long float64 // points/h over the nearest 4 minutes and over the nearest hour
}

// after is a refill that has ended, whose amount the levels that come after it
// may still change.
type after struct {
	Event      int32
	Start, End mark
	Before     quietBy
	Gaps, Used float64
	Left       int32 // blocks to come
}

// Of a rise.
const (
	steepest  = 0.75 // points/h by which a swing of ±2 points a day may rise, and a bit: 2·2π/24 is 0.52
	pause     = 15 * minute
	leastRise = 1.2 // points
	driveRise = 3.0 // after a drive the vehicle stands on another slope
)

func (s *state) pauseFor() int64 { return max(pause, int64(2.5*s.Cadence)) }

// rises takes a block into the watch for what comes in.
func (t *Tracker) rises(b *block, d float64, l lapse) {
	s := &t.s
	r := &s.Rise
	hours := float64(b.At-s.Last.At) / float64(hour)
	if r.Start.At == 0 {
		r.Start = s.Last.mark()
	}
	allow := steepest * hours
	if l.any() {
		// What was drawn meanwhile isn't seen; and a day swings no farther than it does.
		used := s.Ledger.Rate * min(hours, 24*20)
		allow = min(allow, 3)
		if l.Drive {
			allow += driveRise - leastRise
		}
		allow += 0.3*used + 2*b.U
		d += used
		r.Gaps += hours
		r.Used += used
	}
	r.Sum += d - allow
	if r.Event < 0 && r.Sum <= 0 {
		r.restart(b)
		return
	}
	if r.Sum > r.Crest+max(0.1, 2*s.Noise) || r.Sum > r.Crest && b.At-r.CrestAt.At <= int64(2*s.Cadence)+minute {
		r.Crest, r.CrestAt = r.Sum, b.mark()
	}
	h := max(leastRise, 6*s.Noise, 3*s.Rough, 2.5*math.Hypot(b.U, r.Start.U))
	if s.Stood < 20 {
		h += 3 * math.Exp(-float64(s.Stood)/4)
	}
	if r.Event < 0 {
		if r.Sum > h {
			t.tellRise(b)
		}
		return
	}
	t.amount(&after{Event: r.Event, Start: r.Start, End: r.CrestAt, Before: r.Before, Gaps: r.Gaps, Used: r.Used}, true)
	if b.At-r.CrestAt.At >= s.pauseFor() || r.Crest-r.Sum > max(1.5, 0.25*r.Crest) {
		t.endRise(b)
	}
}

// restart forgets what has risen so far.
func (r *rise) restart(b *block) {
	*r = rise{Start: b.mark(), Event: -1, After: r.After}
}

// tellRise tells a refill that goes on.
func (t *Tracker) tellRise(b *block) {
	s := &t.s
	r := &s.Rise
	s.Fall = fall{Event: -1}
	reason := whyRose
	if r.Gaps > 0 {
		reason = whyAcross
	}
	if r.Gaps == 0 {
		r.Start = s.foot(r.Start)
	}
	r.Before = s.beside(r.Start)
	r.Event = t.open(record{What: aRefill, Why: reason, Start: r.Start.To, Found: b.To, Before: r.Start.Share, After: -1, P: 0.5})
	t.amount(&after{Event: r.Event, Start: r.Start, End: r.CrestAt, Before: r.Before, Gaps: r.Gaps, Used: r.Used}, true)
}

// foot gives the last block that is about as low as the one at which a rise began.
func (s *state) foot(m mark) mark {
	for i := int32(0); i < s.Blocks.Has; i++ {
		b := s.Blocks.back(i)
		if b.At <= m.At {
			break
		}
		if b.X <= m.X+max(0.2, 2.5*s.Noise) {
			return b.mark()
		}
	}
	return m
}

// endRise ends a refill; the levels of the next while still count.
func (t *Tracker) endRise(b *block) {
	s := &t.s
	r := &s.Rise
	r.After = after{Event: r.Event, Start: r.Start, End: r.CrestAt, Before: r.Before, Gaps: r.Gaps, Used: r.Used, Left: 60}
	t.events[r.Event].End = r.CrestAt.To
	t.amount(&r.After, false)
	r.restart(b)
}

// afterwards goes over the amount of a refill that has just ended.
func (t *Tracker) afterwards(b *block) {
	a := &t.s.Rise.After
	if a.Event < 0 {
		return
	}
	a.Left--
	long := max(20*minute, min(a.End.At-a.Start.At, hour))
	if b.New || t.s.Rise.Event >= 0 || a.Left <= 0 || b.At-a.End.At > long {
		a.Event = -1
		return
	}
	t.amount(a, false)
}

// beside gives the level just before a rise.
func (s *state) beside(m mark) quietBy {
	q := quietBy{At: m.At, X: m.X, U: math.Hypot(m.U, s.Noise)}
	n, x, at := 0.0, 0.0, 0.0
	ended := false
	for i := int32(0); i < s.Blocks.Has; i++ {
		b := s.Blocks.back(i)
		if b.At > m.At {
			continue
		}
		ago := m.At - b.At
		if n < 3 && (n == 0 || ago <= 5*minute) && !ended {
			n++
			x += b.X
			at += float64(ago)
		}
		if ago > 0 {
			r := (b.X - m.X) / (float64(ago) / float64(hour))
			if ago <= 4*minute || q.Short == 0 {
				q.Short = r
			}
			q.Long = r
		}
		if ended = b.New; ended || ago > hour {
			break
		}
	}
	if n > 0 {
		q.X, q.At = x/n, m.At-int64(at/n)
		q.U = math.Hypot(m.U, s.Noise/math.Sqrt(n))
	}
	return q
}

// following gives the level just after a rise.
func (s *state) following(m mark) quietBy {
	q := quietBy{At: m.At, X: m.X, U: math.Hypot(m.U, s.Noise)}
	n, x, at := 0.0, 0.0, 0.0
	var first, last *block
	for i := min(s.Blocks.Has, 90) - 1; i >= 0; i-- {
		b := s.Blocks.back(i)
		if b.At <= m.At {
			continue
		}
		if b.New {
			break
		}
		if first == nil {
			first = b
		}
		if n < 3 && (n == 0 || b.At-m.At <= 4*minute) {
			n++
			x += b.X
			at += float64(b.At - m.At)
		}
		if since := b.At - first.At; since > 0 {
			r := (first.X - b.X) / (float64(since) / float64(hour))
			if since <= 4*minute || q.Short == 0 {
				q.Short = r
			}
			q.Long = r
		}
		last = b
		if b.At-m.At > hour {
			break
		}
	}
	if last != nil {
		q.X, q.At = x/n, m.At+int64(at/n)
		q.U = math.Hypot(last.U, s.Noise/math.Sqrt(n))
	}
	return q
}

// meanwhile gives what was drawn in the hours of a rise. A tap that runs just before
// it and just after it ran all the time; otherwise it is what is drawn on the average
// around it.
func (s *state) meanwhile(b, f quietBy, hours float64, open bool) (drawn, u float64) {
	telling := max(4, 5*s.Noise*60/5)
	if open && b.Short > telling {
		return hours * b.Short, 0.3 * hours * b.Short
	}
	less, more := min(b.Short, f.Short), max(b.Short, f.Short)
	if less > telling && less > 0.4*more {
		mid := (less + more) / 2
		return hours * mid, hours * (0.3*(more-less) + 0.05*mid)
	}
	if more > telling {
		// One of them: it ran for a part.
		return hours * (max(less, 0) + 0.1*more), hours * 0.2 * more
	}
	mean := max(0, (max(b.Long, 0)+max(f.Long, 0))/2)
	if hours < 0.3 {
		return 0, hours * mean
	}
	return hours * mean, hours * 0.6 * mean
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
	hours := max(0, float64(f.At-a.Before.At)/float64(hour)-a.Gaps)
	drawn, uDrawn := s.meanwhile(a.Before, f, hours, open)
	rose := f.X - a.Before.X + drawn + a.Used
	swing := 0.6 * math.Sin(math.Pi*min(hours+a.Gaps, 12)/24) * s.Bins.swing()
	u := math.Sqrt(f.U*f.U + a.Before.U*a.Before.U + uDrawn*uDrawn + 0.25*a.Used*a.Used + swing*swing + 0.04)
	e.Amount, e.U = max(rose, 0), u
	e.After = a.End.Share
	least := leastRise
	if a.Gaps > 0 {
		least = 2
		if open {
			least = driveRise
		}
	}
	e.P = 1 - 0.6*math.Exp(-max(0, rose-least*0.8)/(0.5*least+u))
	if rose < 0.6 {
		e.P = 0
	}
}
