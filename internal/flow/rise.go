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
	GapAt   int64   // when the last of those ended
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
	At        int64
	X, U      float64
	Tap, Long float64 // points/h: of a tap that runs there, and over the nearest hour
	Runs      int32   // blocks in which it was seen to run
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
	leastRise = 1.2  // points
	floatPlay = 0.35 // points: a float lags behind by its play (common practice, no source)
	driveRise = 3.0  // after a drive the vehicle stands on another slope
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
		used := min(s.Ledger.Rate*min(hours, 36), t.holds(s.Last.X))
		allow = min(allow, 3)
		if l.Drive {
			allow += driveRise - leastRise
		}
		allow += 0.3*used + 2*b.U
		d += used
		r.Gaps += hours
		r.GapAt = b.At
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
		h += 2 * math.Exp(-float64(s.Stood)/2)
	}
	if r.Event < 0 {
		if r.Sum > h && b.U < max(0.4, 0.15*r.Sum) {
			t.tellRise(b)
		}
		return
	}
	t.amount(&after{Event: r.Event, Start: r.Start, End: r.CrestAt, Before: r.Before, Gaps: r.Gaps, Used: r.Used}, true)
	if b.At-r.CrestAt.At >= s.pauseFor() || r.Crest-r.Sum > max(8, 0.5*r.Crest) {
		t.endRise(b)
	}
}

// holds gives what can be drawn of a level, points.
func (t *Tracker) holds(x float64) float64 {
	if t.config.Fills {
		x += 100
	}
	return max(0, x)
}

// restart forgets what has risen so far.
func (r *rise) restart(b *block) {
	*r = rise{Start: b.mark(), Event: -1, After: r.After}
}

// tellRise tells a refill that goes on.
func (t *Tracker) tellRise(b *block) {
	s := &t.s
	r := &s.Rise
	s.Fall.N = 0
	reason := whyRose
	if r.Gaps > 0 {
		reason = whyAcross
	}
	r.Start = s.foot(r.Start)
	if r.Start.At >= r.GapAt {
		r.Gaps, r.Used = 0, 0
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

// top gives the first block of a rise that is about as high as its highest.
func (s *state) top(from, crest mark) mark {
	least := crest.X - max(0.2, 2.5*s.Noise, 0.012*(crest.X-from.X))
	for i := min(s.Blocks.Has, ringSize) - 1; i >= 0; i-- {
		b := s.Blocks.back(i)
		if b.At > from.At && b.At < crest.At && b.X >= least {
			m := b.mark()
			if m.X < crest.X-s.Noise && i > 0 {
				// It may have been filled for a part of that block only.
				if n := s.Blocks.back(i - 1); n.At <= crest.At {
					m = n.mark()
				}
			}
			return m
		}
	}
	return crest
}

// endRise ends a refill; the levels of the next while still count.
func (t *Tracker) endRise(b *block) {
	s := &t.s
	r := &s.Rise
	end := s.top(r.Start, r.CrestAt)
	r.After = after{Event: r.Event, Start: r.Start, End: end, Before: r.Before, Gaps: r.Gaps, Used: r.Used, Left: 60}
	t.events[r.Event].End = end.To
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
	r := run{least: s.tapLeast()}
	ended := false
	for i := int32(0); i < s.Blocks.Has; i++ {
		b := s.Blocks.back(i)
		if b.At > m.At {
			continue
		}
		ago := m.At - b.At
		if math.Abs(b.X-m.X) > r.least {
			ended = true
		}
		if n < 3 && (n == 0 || ago <= 5*minute) && !ended {
			n++
			x += b.X
			at += float64(ago)
		}
		if ago > 0 {
			q.Long = (b.X - m.X) / (float64(ago) / float64(hour))
		}
		if ended = ended || b.New; b.New || ago > hour {
			break
		}
		if i+1 < s.Blocks.Has {
			r.add(s.Blocks.back(i+1), b, ago < s.near())
		}
	}
	q.Tap, q.Runs = r.rate()
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
	r := run{least: s.tapLeast()}
	var first, last *block
	ended := false
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
		if math.Abs(b.X-first.X) > r.least {
			ended = true
		}
		if n < 3 && (n == 0 || b.At-m.At <= 4*minute) && !ended {
			n++
			x += b.X
			at += float64(b.At - m.At)
		}
		if since := b.At - first.At; since > 0 {
			q.Long = (first.X - b.X) / (float64(since) / float64(hour))
		}
		if last != nil {
			r.add(last, b, last.At-m.At < s.near()+minute)
		}
		last = b
		if b.At-m.At > hour {
			break
		}
	}
	q.Tap, q.Runs = r.rate()
	if last != nil {
		q.X, q.At = x/n, m.At+int64(at/n)
		q.U = math.Hypot(last.U, s.Noise/math.Sqrt(n))
	}
	return q
}

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
	case hours > 2:
	case low > 0.5*high && runs > 1:
		return hours * (0.6*low + 0.4*high), hours * (0.12*low + 0.35*(high-low))
	case low > 0.25*high && runs > 2:
		return hours * (0.8*low + 0.2*high), hours * (0.15*low + 0.35*(high-low))
	}
	longest := max(b.Long, f.Long, s.Ledger.Rate)
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
	if a.Gaps < 0.6 && a.Before.Tap > 0 && f.Tap > 0 {
		used = 0 // what fills may sway so that it looks like a drive
	} else {
		hours = max(0, hours-a.Gaps)
	}
	drawn, uDrawn := s.meanwhile(a, f, hours, open)
	rose := f.X - a.Before.X + drawn + used
	g := max(s.Grain.points(), s.Fall.stair())
	swing := 0.6 * math.Sin(math.Pi*min(hours+a.Gaps, 12)/24) * min(s.Bins.swing(), 4)
	lump := 1.0 // what is drawn at once
	if s.Fall.Taps >= 5 {
		lump = math.Exp(s.Fall.LogSize)
	}
	u := math.Sqrt(f.U*f.U + a.Before.U*a.Before.U + uDrawn*uDrawn + 0.25*used*used + used*min(lump, 3) + swing*swing + 0.17*g*g + floatPlay*floatPlay)
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
	if rose < 0.6 {
		e.P = 0
	}
}
