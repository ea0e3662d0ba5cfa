package flow

import "math"

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
	r.After = after{Event: r.Event, Start: r.Start, End: end, Before: r.Before, Gaps: r.Gaps, Used: r.Used, Still: r.Still, Left: 60}
	t.freedUp(&r.After, b)
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
	if last != nil && first.X > m.X-r.least { // or else something was drawn between them
		q.X, q.At = x/n, m.At+int64(at/n)
		q.U = math.Hypot(last.U, s.Noise/math.Sqrt(n))
	}
	return q
}
