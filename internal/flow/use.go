package flow

import "math"

// use watches for spells of drawing that stand out, such as a shower, a filled kettle
// tank, or an evening's cooking.
type use struct {
	Out  spate // in which the level falls
	Back spate // in which it rises by itself, which tells by how much it falls by chance
	// Chance is how far the level rose by itself of late at the most in spells of some
	// minutes, of half an hour, and longer ones, points.
	Chance [3]float64
	Short  [12]fell // the last short falls that stood out
	Shorts int32    // how many of them there were, counted on
}

// fell is what a fall came to, and from which level, points.
type fell struct{ By, From float32 }

// spate is a spell in which the level goes one way faster than the warmth of a day
// takes it and than it does anyway: a cumulative sum (Page, Biometrika 41 (1954)
// 100-115) that begins anew when it comes down to 0.
type spate struct {
	Sum, Crest float64 // points
	Allow      float64 // points/h that don't count
	Foot       mark    // where the sum was last 0
	CrestAt    mark    // where it was largest
	Open       bool    // it goes on
	Idle       bool    // but had no rest before it, so that it isn't told
	Start      mark
	Before     float64 // mean level before it, points
	Blocks     float64 // of so many blocks
	Pace       float64 // how fast it fell before, points/h
	Paced      bool    // that is known
}

// Of a spell of use (common practice, no source, but for the warmth).
const (
	leastUse = 0.5      // points, however well the level is known
	longUse  = 5 * hour // what goes on for longer is a load, and no spell
	usePause = 15 * minute
	sureUse  = 5.0 // standard deviations of the difference of the levels before and after
	chanceIn = 4 * 24.0
)

func (w *spate) restart(b *block, allow float64) {
	*w = spate{Foot: b.mark(), CrestAt: b.mark(), Allow: allow}
}

// allowed gives how fast a level may go that way without that standing out, points/h: as
// the warmth of a day makes it, and half as fast again as it fell of late anyway.
func (s *state) allowed(w *spate) float64 {
	if w == &s.Use.Back {
		return steepest
	}
	pace, n := 0.0, 0.0
	for i := range int32(3) {
		if v := s.Bins.back(i); v.Known {
			pace += v.Quiet
			n++
		}
	}
	if n > 0 {
		pace = max(0, pace/n)
	}
	return steepest + 1.5*pace
}

// uses takes a block into the watch for spells of use. d is by how much the level
// differs from the block before.
func (t *Tracker) uses(b *block, d float64) {
	s := &t.s
	u := &s.Use
	if b.New {
		// What lies between is unknown; what rested before it is told.
		if w := &u.Out; w.Open && s.Last.At-w.CrestAt.At >= int64(2*s.Cadence)+minute {
			t.tellUse(w, s.Last.At)
		}
		s.usesAnew(b)
		return
	}
	if s.Rise.Event >= 0 || s.Leaking.Event >= 0 || s.Sway.Until != 0 {
		s.usesAnew(b)
		return
	}
	hours := float64(b.At-s.Last.At) / float64(hour)
	if u.Out.step(s, b, -d, hours) {
		t.tellUse(&u.Out, b.At)
		u.Out.restart(b, s.allowed(&u.Out))
	}
	if u.Back.step(s, b, d, hours) {
		if s.Rise.Sum < leastRise {
			u.chance(s)
		}
		u.Back.restart(b, steepest)
	}
	fade := hours / chanceIn
	for i := range u.Chance {
		u.Chance[i] -= fade * u.Chance[i]
	}
}

// usesAnew forgets the spell that may be going on.
func (s *state) usesAnew(b *block) {
	s.Use.Out.restart(b, s.allowed(&s.Use.Out))
	s.Use.Back.restart(b, steepest)
}

// step takes a block, and says whether a spell has come to rest.
func (w *spate) step(s *state, b *block, way, hours float64) bool {
	if w.Foot.At == 0 {
		w.restart(b, s.allowed(w))
		return false
	}
	w.Sum += way - w.Allow*hours
	switch {
	case !w.Open && w.Sum <= 0:
		w.restart(b, w.Allow)
		if b.At/(10*minute) != s.Last.At/(10*minute) {
			w.Allow = s.allowed(w)
		}
	case !w.Open:
		if w.Sum > w.Crest {
			w.Crest, w.CrestAt = w.Sum, b.mark()
		}
		if w.Sum > max(0.3, 4*s.Noise) {
			w.open(s)
		}
	case w.Sum > w.Crest+max(0.05, 1.5*s.Noise):
		w.Crest, w.CrestAt = w.Sum, b.mark()
	case b.At-w.CrestAt.At >= s.pauseFor():
		return true
	case w.Sum < 0.5*w.Crest && w.Sum < w.Crest-4*s.Noise || b.At-w.Foot.At > longUse:
		w.restart(b, s.allowed(w))
	}
	return false
}

// open begins a spell: it began with the last block that is about as it was before.
func (w *spate) open(s *state) {
	w.Open, w.Start = true, w.Foot
	down := w.CrestAt.X < w.Foot.X
	near := max(0.1, 2*s.Noise)
	for i := int32(0); i < s.Blocks.Has; i++ {
		b := s.Blocks.back(i)
		if b.At <= w.Foot.At {
			break
		}
		if math.Abs(b.X-w.Foot.X) <= near || b.X > w.Foot.X == down {
			w.Start = b.mark()
			break
		}
	}
	n, x := 0.0, 0.0
	for i := int32(0); i < s.Blocks.Has; i++ {
		b := s.Blocks.back(i)
		if b.At > w.Start.At {
			continue
		}
		ago := w.Start.At - b.At
		if n < 8 && (n < 2 || ago <= usePause) && math.Abs(b.X-w.Start.X) <= max(0.3, 4*s.Noise) {
			n++
			x += b.X
		}
		if ago >= 10*minute {
			// What was drawn in a spell before isn't how fast it falls anyway.
			pace := math.Abs(b.X-w.Start.X) / (float64(ago) / float64(hour))
			if w.Paced {
				pace = min(pace, w.Pace)
			}
			w.Pace, w.Paced = pace, true
		}
		if b.New || ago > 40*minute {
			break
		}
	}
	w.Blocks = n
	if w.Idle = n < 2 || s.Noises < 12; n > 0 { // or how noisy it is isn't known yet
		w.Before = x / n
	}
}

// class is to which of the chances a spell belongs.
func (w *spate) class() int {
	switch long := w.CrestAt.At - w.Start.At; {
	case long <= 10*minute:
		return 0
	case long <= 40*minute:
		return 1
	}
	return 2
}

// chance learns from a spell in which the level rose by itself.
func (u *use) chance(s *state) {
	w := &u.Back
	if w.Idle {
		return
	}
	c := &u.Chance[w.class()]
	*c = max(*c, min(math.Abs(s.Last.X-w.Before), 10))
}
