package flow

import (
	"math"
	"time"

	"gaugewright/internal/outlook"
	"gaugewright/internal/watch"
)

// Config is what is known of a tank besides its levels. The zero value of a field
// means that it isn't known.
type Config struct {
	// Content turns a level on the scale, 0..1, into what there is, in parts of what
	// the full scale holds; nil: they are the same.
	Content func(share float64) float64
	// Steady is the greatest rate, in parts of the full scale an hour, at which what is
	// fitted to the tank can draw without a pause (a fridge, a heater): what falls
	// steadily faster than that leaks. Below 0: nothing draws steadily, as with
	// water. 0: not known.
	Steady float64
	// Off are hours of the day in which everything is known to be off; none: not known.
	Off []Hours
	// Breathes says that the contents grow and shrink with their warmth so that it
	// shows, as liquefied gas does.
	Breathes bool
	// Fills says that what comes in is use and what goes out is a drain: a tank of
	// waste water.
	Fills bool
	// To is to what level it can be drawn, in parts of what the full scale holds: the
	// heel; for a tank that fills up, 1.
	To float64
	// Prior and PriorSpread are what use is expected before any was seen, as
	// [outlook.Config] has them.
	Prior, PriorSpread float64
	// Zone is the people's time zone; nil: UTC.
	Zone *time.Location
	// Uses is of how many spells of use at the least the latest are kept; 0: 256. In the
	// bytes for a store there are 64 at the most.
	Uses int
}

// ahead is what the model of the use is made with.
func (c Config) ahead() outlook.Config {
	return outlook.Config{Zone: c.Zone, Prior: c.Prior, PriorSpread: c.PriorSpread, Fills: c.Fills}
}

// Hours are hours of the day in the zone, from one to another; To may be the smaller
// where midnight lies between.
type Hours struct{ From, To time.Duration }

// Tracker follows the levels of one tank. It isn't for several goroutines at once.
type Tracker struct {
	config Config
	model  *outlook.Model
	s      state
	events []record
	drawn  []drawn // spells of use, by rising start
	now    uptodate
}

// New begins to follow a tank.
func New(c Config) *Tracker {
	if c.Zone == nil {
		c.Zone = time.UTC
	}
	t := &Tracker{config: c, model: outlook.New(c.ahead())}
	t.s.begin()
	return t
}

// state is all that is known but for events and the use. It has a fixed size and
// holds no pointers, so that it can be kept as it is.
type state struct {
	Newest    int64 // of the newest level taken, ns since 1970; 0: none yet
	Oldest    int64 // of the first
	Jumped    int64 // of the last that jumped farther than any tank fills or empties
	Cadence   float64
	Sum       gather
	Blocks    ring
	Last      block // the standing block before
	Known     bool  // Last is one
	Seen      int64 // of the last level of any block
	Break     lapse
	Noise     float64 // standard deviation of a block about its neighbours, points
	Rough     float64 // by how much blocks of late turned back, points
	MovedFrom int64   // since when it moves; 0: it stands
	Stood     int32   // standing blocks since a drive
	Wide      mark    // since when a level of a wide doubt has been where it is
	Grain     grain
	Stairs    stairs
	Back      float64 // mean square of what the level rose by in a step in which nothing came in, points²
	Backs     float64 // how many steps that rests on
	Noises    float64 // how many blocks that rests on
	Spots     spots
	Rise      rise
	Fall      fall
	Use       use
	Rest      rest
	Sway      sway
	Half      half
	Bins      bins
	Spell     spell
	Ledger    ledger
	Leaking   leaking
}

func (s *state) begin() {
	s.Noise = 0.1
	s.Rise.Event, s.Spell.Event, s.Leaking.Event, s.Fall.Event = -1, -1, -1, -1
	s.Rise.After.Event = -1
	s.Spell.Prior = -1
}

const (
	second = int64(time.Second)
	minute = 60 * second
	hour   = 60 * minute
	day    = 24 * hour
)

// Take takes the level after a reading, or at a moment at which nothing came (its
// age tells). Levels that aren't newer than the one before change nothing.
func (t *Tracker) Take(l watch.Level) { t.take(&l) }

// sloshes is how far the surface swings where a vehicle moves, in parts of the scale:
// less is noise that was taken for it.
const sloshes = 0.006

func (t *Tracker) take(l *watch.Level) {
	s := &t.s
	at := l.Time.UnixNano()
	if at <= s.Newest && s.Newest != 0 {
		if l.Fault != watch.ClockOff || at > s.Newest-minute {
			return
		}
		t.setBack(at)
	}
	if s.Newest == 0 {
		s.Oldest = at
	} else {
		d := float64(at - s.Newest)
		if s.Cadence == 0 {
			s.Cadence = d
		}
		s.Cadence += 0.1 * (min(d, 3*s.Cadence+1e6) - s.Cadence)
	}
	s.Newest = at
	if l.Fault == watch.Jump {
		s.Jumped = at
	}
	if !l.Shown || l.Fault == watch.Jump {
		if l.Status == watch.Failure || s.Spell.Event >= 0 {
			t.broken(at, l)
		}
		return
	}
	if s.Spell.Since != 0 {
		t.sound(at, l)
	}
	x, u := 100*float64(l.Share), 100*float64(l.U)
	if !(x > -50 && x < 150) {
		return
	}
	if !(u >= 0 && u < 100) {
		u = 1
	}
	g := &s.Sum
	moving := l.Motion == watch.Moving && l.Slosh > sloshes
	if cell := at / minute; cell != g.Cell || moving != g.Moving {
		if g.N > 0 {
			t.block(g.block(&t.config))
		}
		*g = gather{Cell: cell, From: at, First: at, Moving: moving}
	}
	if l.Raw == l.Raw {
		s.Grain.see(l.Raw)
	}
	if !moving {
		s.Spots.put(at, x)
	}
	g.N++
	g.X += x
	g.T += float64(at - g.First)
	g.U = u
	g.To, g.Last = at, x
	if at-g.SubAt >= 9*second || g.N == 1 {
		if g.N > 1 {
			g.Way += math.Abs(x - g.Sub)
			g.Net += x - g.Sub
		}
		g.SubAt, g.Sub = at, x
	}
}

// setBack goes on from an older time, as after a gap of which nothing is known.
func (t *Tracker) setBack(at int64) {
	s := &t.s
	t.closeAll()
	by := at - s.Newest
	s.Last.At += by
	s.Last.From += by
	s.Last.To += by
	s.Blocks = ring{}
	s.Spots = spots{}
	s.Bins = bins{}
	s.Half = half{}
	s.Rise = rise{Event: -1, After: after{Event: -1}}
	s.Fall.N = 0
	s.Use.Out, s.Use.Back = spate{}, spate{}
	s.Rest = rest{}
	s.Sway = sway{}
	s.Sum = gather{}
	s.Seen, s.MovedFrom = at, 0
	s.Break.Gap = true
	s.Ledger.From = 0
	s.Newest = at
}

// Events gives what happened so far that is more likely than not, by rising start; what
// goes on is among it. An event keeps its kind and start once it was told, but for one
// that turns out not to be real, which is gone. The last 4,096 are kept, and the last
// 192 of them in the bytes for a store; of spells of use see [Config.Uses].
func (t *Tracker) Events() []Event {
	out := make([]Event, 0, len(t.events)+len(t.drawn))
	for i := range t.events {
		r := t.events[i]
		if int32(i) == t.s.Rise.Event && t.s.Sum.N > 0 {
			t.upToNow(&r)
		}
		if r.P > 0.5 {
			out = append(out, r.event(t.config.Fills))
		}
	}
	for i := range t.drawn {
		out = append(out, t.drawn[i].event())
	}
	byStart(out)
	return out
}

// upToNow adds to a refill that goes on what came in since the last whole minute.
func (t *Tracker) upToNow(r *record) {
	g := t.s.Sum
	if g.Moving {
		return
	}
	n := float64(g.N)
	g.X, g.T = g.Last*n, 0
	if b := g.block(&t.config); b.X > t.s.Rise.CrestAt.X {
		r.Amount += b.X - t.s.Rise.CrestAt.X
		r.After = b.Share
	}
}

// Ahead gives how it goes on from the newest level.
func (t *Tracker) Ahead() outlook.Outlook {
	s := &t.s
	st := outlook.Standing{To: t.config.To}
	if s.Newest != 0 {
		st.Now = time.Unix(0, s.Newest).In(t.config.Zone)
	}
	if s.Sum.N > 0 || s.Known {
		b := s.Last
		if s.Sum.N > 0 {
			g := s.Sum
			b = g.block(&t.config)
		}
		st.Level, st.U, st.Shown = b.X/100, math.Max(b.U, s.Noise)/100, s.Spell.Since == 0
		if t.config.Fills {
			st.Level, st.To = -st.Level, 1
		}
	}
	if s.Leaking.Event >= 0 {
		st.Leak = s.Leaking.Rate / 100
	}
	return t.Model().Ahead(st)
}
