package station

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"runtime/debug"
	"slices"
	"time"

	"gaugewright/internal/flow"
	"gaugewright/internal/history"
	"gaugewright/internal/outlook"
	"gaugewright/internal/quantity"
	"gaugewright/internal/watch"
	"gaugewright/internal/web"
)

// follows is how the levels of a tank are followed: what came in and went out, and how
// it goes on. It is guarded by the tank's lock.
type follows struct {
	config  flow.Config
	tracker *flow.Tracker
	broke   bool      // it broke down; nothing is followed until again
	again   time.Time // of readings
	lapsed  time.Time // the reading after which it was told that nothing came

	ahead   outlook.Outlook // as it was worked out last
	aheadOf time.Time       // by the level of this reading

	kept  map[flowKey]flow.Event // events as the store has them that may yet change
	saved time.Time              // up to which reading the store has it
	curve int64                  // by which correction the levels were shown; 0: none
	anew  time.Time              // from where on all was followed anew; zero: it wasn't

	sent      time.Duration // of Passed, when that was published last
	sentOnce  bool
	sentAhead outlook.Outlook // what
	sentEvent flow.Event      // the latest
}

// flowKey tells an event from others of its tank: it keeps both once it was told.
type flowKey struct {
	kind  flow.Kind
	start int64 // ms
}

func keyOf(e flow.Event) flowKey {
	return flowKey{e.Kind, e.Start.Round(time.Millisecond).UnixMilli()}
}

func newFollows(c flow.Config, zone *time.Location) follows {
	c.Zone = zone
	return follows{config: c, tracker: flow.New(c), kept: map[flowKey]flow.Event{}}
}

// calmDown is for how long a tank isn't followed after that broke down, in the time of
// its readings: what broke it may come again at once.
const calmDown = time.Hour

// gap gives the level at the moment at which the last reading became too old, where
// that was before a time and wasn't told yet; its Time is zero where it wasn't.
func (t *tank) gap(before time.Time) watch.Level {
	last := t.level.Time
	if stale := last.Add(t.level.Stale); last.IsZero() || last.Equal(t.follows.lapsed) || !before.After(stale) {
		return watch.Level{}
	} else {
		return t.watch.At(stale.Add(time.Nanosecond))
	}
}

// followed follows a level of a tank, whose lock is held or that nobody else has.
// Where that breaks down over it, it is begun anew, and the level goes on without.
func (s *Station) followed(t *tank, l watch.Level) {
	f := &t.follows
	if l.Time.IsZero() || f.broke && l.Time.Before(f.again) {
		return
	}
	defer func() {
		if p := recover(); p != nil {
			s.flowsBroke(t, l, p)
		}
	}()
	f.broke = false
	if by := curveOf(t.corrected); by != f.curve {
		f.tracker.Anew()
		f.curve = by
	}
	if l.Fault == watch.NoReading {
		f.lapsed = l.Time
	}
	f.tracker.Take(l)
}

// flowsBroke begins anew to follow a tank.
func (s *Station) flowsBroke(t *tank, l watch.Level, p any) {
	f := &t.follows
	f.tracker, f.broke, f.again = flow.New(f.config), true, l.Time.Add(calmDown)
	f.ahead, f.aheadOf = outlook.Outlook{}, time.Time{}
	// What it told of before stays, but for what it said goes on.
	maps.DeleteFunc(f.kept, func(_ flowKey, e flow.Event) bool { return !e.Open() })
	s.o.Log.Error("the following of a tank's levels broke down, and is begun anew in a while", "tank", l.Tank, "level", fmt.Sprintf("%+v", l), "error", p, "stack", firstLines(debug.Stack()))
	text := fmt.Sprintf("What came in and went out of %s is followed anew: it broke down over a level (%v).", t.about.Label.Label, p)
	s.noted(text)
	s.happened(history.Event{Time: s.o.Now().UTC(), Tank: l.Tank, Kind: history.Repaired, Level: -1, Text: text})
}

// outlookEvery is how often it is worked out how a tank goes on, in the time of its
// readings: it takes a while, and changes little meanwhile.
const outlookEvery = time.Minute

// outlook says how a tank goes on. Its lock is held.
func (s *Station) outlook(t *tank) (o outlook.Outlook) {
	f := &t.follows
	if at := t.level.Time; f.aheadOf.IsZero() || at.Sub(f.aheadOf) >= outlookEvery || at.Before(f.aheadOf) {
		defer func() {
			if p := recover(); p != nil {
				s.flowsBroke(t, t.level, p)
				o = outlook.Outlook{}
			}
		}()
		f.ahead, f.aheadOf = f.tracker.Ahead(), at
	}
	return f.ahead
}

// Flows says what came in and went out.
func (s *Station) Flows() web.Flows { return flows{s} }

type flows struct{ s *Station }

// Outlooks says of each tank how it goes on, in the order of Labels.
func (f flows) Outlooks(time.Time) []outlook.Outlook {
	list := make([]outlook.Outlook, 0, len(f.s.names))
	for _, n := range f.s.names {
		t := f.s.tanks[n]
		t.mu.Lock()
		list = append(list, f.s.outlook(t))
		t.mu.Unlock()
	}
	return list
}

// full gives what the full scale holds, m³ and kg, with what dockets taught of the
// capacity; 0 where that isn't known. Its lock is held.
func (t *tank) full() (volume, mass float64) {
	by := 1.0
	if t.corrected != nil && t.corrected.Capacity > 0 {
		by = t.corrected.Capacity
	}
	return by * t.about.Full, by * t.about.FullMass
}

// mostDays is how many days of use are told.
const mostDays = 400

// Uses says what is known of the use, in the order of Labels.
func (f flows) Uses() []web.Use {
	list := make([]web.Use, 0, len(f.s.names))
	for _, n := range f.s.names {
		t := f.s.tanks[n]
		t.mu.Lock()
		m := t.follows.tracker.Model()
		full, kg := t.full()
		list = append(list, web.Use{
			Rate: m.Rate(), Days: m.Days(mostDays), ByHour: m.ByHour(), ByWeekday: m.ByWeekday(),
			Full: quantity.CubicMetre(full), FullMass: kg, Swing: t.follows.tracker.DaySwing(),
		})
		t.mu.Unlock()
	}
	return list
}

// Flows gives what happened to a tank between two times, the latest first: what the
// store has, and over it what isn't written yet; of some kinds alone where those are
// named. Faults aren't among it; the past has them.
func (f flows) Flows(ctx context.Context, name string, from, to time.Time, most int, kinds ...flow.Kind) ([]flow.Event, error) {
	t := f.s.tanks[name]
	if t == nil || most <= 0 {
		return nil, nil
	}
	// The lock is held over the question: what is being written would otherwise be in
	// both, or in neither.
	t.sealing.RLock()
	defer t.sealing.RUnlock()
	t.mu.Lock()
	now := slices.Clone(t.follows.tracker.Events())
	_, gone := t.follows.changes(now, t.level.Time)
	t.mu.Unlock()
	fresh := map[flowKey]bool{}
	for _, e := range slices.Concat(now, gone) {
		fresh[keyOf(e)] = true
	}
	kept, err := f.s.store.Flows(ctx, name, from, to, most+len(fresh), kinds...)
	if err != nil {
		return nil, err
	}
	list := slices.DeleteFunc(kept, func(e flow.Event) bool { return fresh[keyOf(e)] })
	for _, e := range now {
		if (to.IsZero() || e.Start.Before(to)) && (from.IsZero() || e.Open() || !e.End.Before(from)) {
			list = append(list, e)
		}
	}
	list = slices.DeleteFunc(list, func(e flow.Event) bool {
		return e.Kind == flow.Fault || len(kinds) > 0 && !slices.Contains(kinds, e.Kind)
	})
	slices.SortStableFunc(list, func(a, b flow.Event) int { return cmp.Or(b.Start.Compare(a.Start), cmp.Compare(a.Kind, b.Kind)) })
	return list[:min(len(list), most)], nil
}
