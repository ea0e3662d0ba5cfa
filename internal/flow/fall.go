package flow

import "math"

// fall is a run of blocks that fall fast.
type fall struct {
	Event  int32
	N      int32
	From   mark
	To     mark
	Amount float64
	Rest   float64 // hours for which the level had stayed in one place before
	Hidden bool    // all of it fell while it looked as if the vehicle moved

	// What is usual.
	Taps    float64 // runs seen
	LogRate float64 // mean logarithm of their rates, points a minute
	Calm    float64 // hours: the longest that the level had stayed before one, less what time has taken off it
	Spread  float64 // mean square of the logarithm of what they took, about its mean
	LogSize float64 // mean logarithm of what they took
	Largest float64 // what the largest of them took, less what time has taken off it
}

// plain is how much has to go at once for a drop at night, points (common practice, no
// source).
const plain = 8.0

// twoShowers is what two people one after the other take of a small tank, points: 2 ×
// 11 L of 90 L (common practice, no source).
const twoShowers = 25.0

// atOnce is for how long something is let off or taken out at the most, minutes (common
// practice, no source).
const atOnce = 30.0

// rest is since when the level stays in one place.
type rest struct {
	Since int64
	X     float64
}

func (s *state) rested(b *block) {
	r := &s.Rest
	if r.Since == 0 || math.Abs(b.X-r.X) > max(0.25, 4*s.Noise) {
		*r = rest{b.At, b.X}
	}
}

// falls takes a block into the watch for what goes out at once.
func (t *Tracker) falls(b *block, d float64, l lapse) {
	s := &t.s
	f := &s.Fall
	defer s.rested(b)
	if l.any() || s.Rise.Event >= 0 {
		f.N = 0
		if l.any() {
			// What goes out fast looks like a drive at first. It counts if it goes on.
			if took := b.At - s.Last.At; s.Rise.Event < 0 && !l.Gap && took <= 15*minute && d < -4 {
				t.fallBegins()
				f.N, f.Amount, f.To = int32(max(1, took/max(minute, int64(s.Cadence)))), -d, b.mark()
				f.Hidden = true
			}
			s.Rest = rest{}
		}
		return
	}
	if d < -max(0.25, 4*s.Noise) {
		if f.N == 0 {
			t.fallBegins()
		}
		f.N++
		f.Hidden = false
		f.Amount -= d
		f.To = b.mark()
		return
	}
	if f.N > 0 {
		if !f.Hidden {
			t.fell(b)
		}
		f.N = 0
	}
}

// fallBegins begins a run at the block before.
func (t *Tracker) fallBegins() {
	s := &t.s
	f := &s.Fall
	f.From, f.Amount, f.Rest, f.Hidden = s.Last.mark(), 0, 0, false
	if s.Rest.Since != 0 {
		f.Rest = float64(s.Last.At-s.Rest.Since) / float64(hour)
	}
}

// fell says what a run was that has ended.
func (t *Tracker) fell(b *block) {
	s := &t.s
	f := &s.Fall
	step := max(1, s.Cadence/float64(minute)) // minutes between blocks
	minutes := max(step*(float64(f.N)-0.5), float64(f.To.At-f.From.At)/float64(minute)-0.5*step)
	rate := f.Amount / minutes
	known := f.Taps >= 5
	usual := math.Exp(f.LogRate)
	least, fastest := 5.0, 8.0
	if known {
		fastest = max(3*usual, 1.5)
		least = max(5, 1.5*f.Largest)
	} else if step > 2 {
		fastest, least = 8/step+1, 20
	}
	if f.Amount < 6*s.Noise {
		t.tapped(rate)
		return
	}
	if p, _, _ := t.freed(f.From, f.To, f.Rest); p > 0 {
		t.open(record{What: aStuck, Why: whyConstantAnyway, Start: f.From.At - int64(f.Rest*float64(hour)), End: f.To.At, Found: b.To,
			Before: f.From.Share, After: f.To.Share, P: p})
		return
	}
	awake := t.awake(f)
	expected := s.Ledger.Rate * awake
	owes := 2.0
	if f.N <= 2 && f.Amount > 15 && awake > 8 {
		owes = 3.5 // as much at once, after a day on which it must have been used, is hardly let off
		if f.Amount > 25 && awake > 12 && s.Cadence < 90*float64(second) {
			owes = math.Inf(1) // and nobody lets off or takes out as much in two minutes
		}
	}
	if f.N <= 3 && awake > max(4, 1.5*f.Calm) && f.Amount > max(2.5, 1.5*f.Largest) && f.Amount < owes*expected+1 && f.Amount > 0.4*expected && s.Ledger.Weight >= 20 {
		// It stood still while it must have been used, and came down by what it owed.
		// What is drawn at once comes to less. Where it does so again it is a night, and the
		// first water of the day.
		f.Calm = awake
		odds := awake * math.Exp(-math.Abs(math.Log(f.Amount/expected)))
		t.open(record{What: aStuck, Why: whyConstant, Start: f.From.At - int64(f.Rest*float64(hour)), End: f.To.At, Found: b.To,
			Before: f.From.Share, After: f.To.Share, P: 0.5 + 0.45*odds/(1+odds)})
		return
	}
	// More than is ever drawn at once, however fast. While little was seen of what is
	// drawn, a small tank may just have been showered out of: by day as much as two
	// showers of a small tank is use.
	h := moment(f.From.At).In(t.config.Zone).Hour()
	night := h >= 22 || h < 6
	much, floor := max(20, 3*f.Largest, 12*s.Ledger.Rate), twoShowers
	if night {
		much, floor = max(10, 3*f.Largest, 12*s.Ledger.Rate), plain
	}
	if !known || s.Ledger.Weight < 48 {
		floor += 5
	} else if !night {
		floor = max(floor, 1.8*f.Largest)
	}
	least = max(least, floor)
	fast := rate / fastest
	if s.Ledger.Weight >= 8 && minutes <= max(atOnce, 3*step) {
		fast = max(fast, f.Amount/much)
	}
	if fast < 1 {
		t.tapped(rate)
		return
	}
	if f.Amount < least {
		t.tapped(rate)
		return
	}
	if t.config.Fills {
		return
	}
	if t.recurs(f) {
		t.tapped(rate)
		return
	}
	ratio := min(fast, f.Amount/least)
	r := record{What: aDrop, Why: whyFaster, Start: f.From.To, End: f.To.At, Found: b.To, Before: f.From.Share, After: f.To.Share,
		Amount: f.Amount, U: math.Sqrt(f.From.U*f.From.U + f.To.U*f.To.U + 2*s.Noise*s.Noise + 0.04), Told: rate,
		P: 0.97 - 0.4*math.Exp(-2*(ratio-1))}
	if f.To.Share < 10 {
		r.What, r.Why = aDrain, whyLet
	}
	t.isOther(r.Start)
	t.open(r)
}

// awake gives how many of the hours for which nothing fell are hours of the day, from
// seven to ten at night: that nothing is drawn while people sleep says nothing.
func (t *Tracker) awake(f *fall) float64 {
	const part = 10 * minute
	hours := 0.0
	for at := f.From.At - int64(min(f.Rest, 96)*float64(hour)); at < f.From.At; at += part {
		if h := moment(at).In(t.config.Zone).Hour(); h >= 7 && h < 22 {
			hours += float64(min(part, f.From.At-at)) / float64(hour)
		}
	}
	return hours
}

// recurs says that it fell like that before: then it is use, and what was told of those
// is taken back.
func (t *Tracker) recurs(f *fall) bool {
	n := 0
	for i := range t.events {
		e := &t.events[i]
		if (e.What == aDrop || e.What == aDrain) && e.Amount > 0.5*f.Amount && e.Amount < 2*f.Amount && f.To.At-e.Start < 7*day {
			n++
		}
	}
	if n == 0 {
		return false
	}
	for i := range t.events {
		e := &t.events[i]
		if (e.What == aDrop || e.What == aDrain) && e.Amount > 0.5*f.Amount && e.Amount < 2*f.Amount && f.To.At-e.Start < 7*day {
			e.P = 0
		}
	}
	return true
}

// tapped learns what is usual.
func (t *Tracker) tapped(rate float64) {
	f := &t.s.Fall
	if f.Amount < 0.5 {
		return
	}
	f.Taps = min(f.Taps+1, 50)
	f.LogRate += (math.Log(rate) - f.LogRate) / f.Taps
	by := math.Log(f.Amount) - f.LogSize
	f.LogSize += by / f.Taps
	f.Spread += (by*by - f.Spread) / f.Taps
	f.Calm = max(0.99*f.Calm, t.awake(f))
	f.Largest = max(0.995*f.Largest, f.Amount)
}

// stair gives the size of what falls at once where all of it falls by the same: the
// steps of a sender that is a chain of resistors, points. 0 where there are none.
func (f *fall) stair() float64 {
	if f.Taps < 4 || f.Spread > 0.06 {
		return 0
	}
	return min(math.Exp(f.LogSize), 8)
}
