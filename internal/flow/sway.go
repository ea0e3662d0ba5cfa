package flow

import "math"

// sway is a level that goes up and down between blocks: a vehicle that is driven and read
// every half minute or minute, whose readings fall on its surface's swings like those of
// a stroboscope, so that it looks like one that stands.
type sway struct {
	Up, Begun  bool
	Turn, Most mark       // where it turned last, and the farthest since
	Swings     [4]float64 // how far it went between turns, the newest first, points
	Turns      [4]int64   // when each of them began
	Until      int64      // it sways until then; 0: it doesn't

	// Of the blocks since the last that was handed on.
	From, Span   int64
	N, At, X, XX float64
	Share        float64
}

// Of a sway.
const (
	leastSway = 0.8 // points
	swayAlike = 6.0 // between the farthest and the nearest of its swings
	fillAlike = 3.0 // the same while it is filled, when people draw, too
	swaySpan  = 30 * minute
)

// turned takes a block, and says whether it ends a swing that is one of many.
func (w *sway) turned(b *block, least, alike float64, within int64) bool {
	if !w.Begun {
		*w = sway{Begun: true, Turn: b.mark(), Most: b.mark()}
		return false
	}
	d := b.X - w.Most.X
	if !w.Up {
		d = -d
	}
	if d >= 0 {
		w.Most = b.mark()
		return false
	}
	if -d < least {
		return false
	}
	copy(w.Swings[1:], w.Swings[:3])
	copy(w.Turns[1:], w.Turns[:3])
	w.Swings[0], w.Turns[0] = math.Abs(w.Most.X-w.Turn.X), w.Turn.At
	w.Turn, w.Most, w.Up = w.Most, b.mark(), !w.Up
	low, high := w.Swings[0], w.Swings[0]
	for _, v := range w.Swings {
		low, high = min(low, v), max(high, v)
	}
	if high < 2*low {
		within *= 4 // as regular as that is nothing that people do
	}
	return low >= least && high <= alike*low && b.At-w.Turns[3] <= within
}

// sways says whether a block is one of a surface that swings, and isn't to be taken for a
// level. Each half hour of those it makes their mean of it, which is.
func (t *Tracker) sways(b *block) bool {
	s := &t.s
	w := &s.Sway
	calm := max(10*minute, int64(8*s.Cadence))
	alike := swayAlike
	if s.Rise.Event >= 0 {
		alike = fillAlike
	}
	if s.Cadence < 90*float64(second) && w.turned(b, max(leastSway, 6*s.Noise), alike, max(hour, int64(20*s.Cadence))) {
		if w.Until == 0 {
			t.swayed(w.Turns[3])
			w.empty(b)
		}
		w.Until = b.At + max(calm, w.Turns[0]-w.Turns[2])
		w.Span = max(swaySpan, w.Turns[0]-w.Turns[2])
	}
	if w.Until == 0 {
		return false
	}
	s.Break.Drive = true
	if b.At > w.Until {
		w.Until = 0
		return false
	}
	s.Stood = 0
	w.N++
	w.At += float64(b.At - w.From)
	w.X += b.X
	w.XX += b.X * b.X
	w.Share += b.Share
	if b.At-w.From < w.Span || w.N < 12 {
		return true
	}
	mean := w.X / w.N
	// Neighbours are alike: some four of them count as one.
	u := math.Sqrt(max(0, w.XX/w.N-mean*mean) * 4 / w.N)
	at := w.From + int64(w.At/w.N)
	if at <= s.Last.At {
		at = b.At
	}
	m := block{At: at, From: at, To: b.To, X: mean, U: max(u, s.Noise), Share: w.Share / w.N, N: b.N}
	w.empty(b)
	*b = m
	return false
}

func (w *sway) empty(b *block) {
	w.From = b.At
	w.N, w.At, w.X, w.XX, w.Share = 0, 0, 0, 0, 0
}

// swayed goes back to the last level before it swayed, and takes back what was told of it.
func (t *Tracker) swayed(since int64) {
	s := &t.s
	for i := range t.events {
		e := &t.events[i]
		if e.Start >= since-2*minute && (e.What == aRefill || e.What == aDrop || e.What == aDrain) {
			e.P = 0
			if e.End == 0 {
				e.End = s.Last.To
			}
		} else if e.What == aRefill && e.P > 0.5 {
			since = max(since, e.End+1) // or it would come in once more
		}
	}
	for i := int32(0); i < s.Blocks.Has; i++ {
		if b := s.Blocks.back(i); b.At < since {
			s.Last = *b
			break
		}
	}
	t.isOther(since - 2*minute)
	s.Rise.After.Event = -1
	if r := &s.Rise; r.Event >= 0 && t.events[r.Event].P > 0 {
		// It swayed only after a filling had begun: that goes on.
		r.Sum = s.Last.X - r.Start.X
		r.Crest, r.CrestAt = r.Sum, s.Last.mark()
	} else {
		r.restart(&s.Last)
	}
	s.Fall.N = 0
	s.Rest = rest{}
}
