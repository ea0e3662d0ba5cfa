package alarm

import (
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"gaugewright/internal/quantity"
	"gaugewright/internal/watch"
)

var noon = time.Date(2026, 11, 26, 12, 0, 0, 0, time.UTC)

func drawEvent(t *rapid.T, at time.Time) Event {
	return Event{Act: rapid.SampledFrom(Acts).Draw(t, "act"), Time: at, Began: at, Until: at.Add(time.Duration(rapid.IntRange(1, 100).Draw(t, "shelf")) * time.Minute), By: "Robin"}
}

// Against a model that keeps four plain facts: an alarm is in one state of those there
// are, what is there is always to be seen in some list, and what was raised is owed
// until it was told or somebody said that they know.
func TestAlarmIsNeverLost(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, at := NewPoint("x"), noon
		var active, out, silent bool
		var shelf time.Time
		for range rapid.IntRange(1, 60).Draw(t, "n") {
			at = at.Add(time.Duration(rapid.IntRange(0, 30).Draw(t, "wait")) * time.Minute)
			for range 2 { // the end of a shelf, once
				p.Pass(at)
			}
			if !shelf.IsZero() && !at.Before(shelf) {
				shelf = time.Time{}
			}
			e := drawEvent(t, at)
			before := p
			p.Do(e)
			switch e.Act {
			case Raise:
				active = true
			case Return:
				active = false
			case Suppress, Release:
				silent = e.Act == Suppress
			case Withdraw, Restore:
				out = e.Act == Withdraw
			case Shelve:
				shelf = e.Until
			case Unshelve:
				shelf = time.Time{}
			}
			if !slices.Contains(States, p.State) || p.Active != active || p.Out != out || p.Silent != silent || !p.Until.Equal(shelf) {
				t.Fatalf("after %+v: %+v", e, p)
			}
			masked := out || !shelf.IsZero() || silent
			if shown := p.State == Unacknowledged || p.State == Acknowledged; !masked && shown != active {
				t.Fatalf("it is there: %v, and its state is %s", active, p.State)
			}
			if masked != (p.State == OutOfService || p.State == Shelved || p.State == Suppressed) {
				t.Fatalf("masked: %v, and its state is %s", masked, p.State)
			}
			if p.State == Unacknowledged && p.Owes != OwesRaised && p.Sent == 0 {
				t.Fatalf("it is unacknowledged, was never told and isn't owed: %+v", p)
			}
			if before.Owes == OwesRaised && p.Owes != OwesRaised && e.Act != Acknowledge && e.Act != Shelve && e.Act != Withdraw {
				t.Fatalf("act %d let go of what was owed: %+v", e.Act, p)
			}
		}
	})
}

// Those of one moment may be handed over in any order.
func TestEqualTimesInAnyOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var list []Event
		at := noon
		used := map[Act]bool{}
		for range rapid.IntRange(1, 12).Draw(t, "n") {
			if rapid.Bool().Draw(t, "later") {
				at, used = at.Add(time.Minute), map[Act]bool{}
			}
			if e := drawEvent(t, at); !used[e.Act] {
				used[e.Act] = true
				list = append(list, e)
			}
		}
		a, b := NewPoint("x"), NewPoint("x")
		a.All(list)
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 0))
		r.Shuffle(len(list), func(i, j int) { list[i], list[j] = list[j], list[i] })
		b.All(list)
		if a != b {
			t.Fatalf("%+v\n%+v", a, b)
		}
	})
}

// A shelf ends by itself, at its own time, in the state in which it then is.
func TestShelfEndsByItself(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := NewPoint("x")
		at := noon
		for range rapid.IntRange(0, 6).Draw(t, "before") {
			p.Do(drawEvent(t, at))
		}
		p.Do(Event{Act: Restore, Time: at})
		p.Do(Event{Act: Release, Time: at})
		until := at.Add(time.Duration(rapid.IntRange(1, 1000).Draw(t, "min")) * time.Minute)
		p.Do(Event{Act: Shelve, Time: at, Until: until, By: "Robin"})
		for range rapid.IntRange(0, 3).Draw(t, "changes") {
			p.Do(Event{Act: rapid.SampledFrom([]Act{Raise, Return, Acknowledge}).Draw(t, "act"), Time: at, Began: at})
		}
		if _, ended := p.Pass(until.Add(-time.Nanosecond)); ended || p.State != Shelved {
			t.Fatalf("ended before its time: %+v", p)
		}
		m, ended := p.Pass(until.Add(time.Duration(rapid.IntRange(0, 100).Draw(t, "late")) * time.Hour))
		want := Normal
		if p.Active {
			want = Unacknowledged
		}
		if !ended || p.State != want || !m.Time.Equal(until) {
			t.Fatalf("%+v, %+v", m, p)
		}
	})
}

func levelAt(at time.Time, share, u float64) watch.Level {
	return watch.Level{Tank: "fresh", Time: at, Shown: true, Share: quantity.Share(share), U: quantity.Share(u), Stale: 5 * time.Minute}
}

func tankOf(rules ...Rule) *Tank { return NewTank(Config{Label: "Fresh water", Rules: rules}, nil) }

// A level that stays above the setpoint raises nothing, however wide its doubt gets and
// however that changes; and one that stays below raises the alarm in the end, however
// badly it is known.
func TestDoubtAloneRaisesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := Default("fresh", Low)
		above, below := tankOf(r), tankOf(r)
		at := noon
		for at.Sub(noon) < 2*time.Hour {
			at = at.Add(time.Duration(rapid.IntRange(1, 240).Draw(t, "s")) * time.Second)
			u := rapid.Float64Range(0, 0.5).Draw(t, "u")
			if moves := above.Take(levelAt(at, rapid.Float64Range(r.Setpoint+1e-9, 1).Draw(t, "above"), u)); len(moves) > 0 {
				t.Fatalf("raised above the setpoint: %+v", moves)
			}
			below.Take(levelAt(at, rapid.Float64Range(0, r.Setpoint-1e-9).Draw(t, "below"), u))
		}
		if s := below.Standings()[0]; s.State != Unacknowledged {
			t.Fatalf("two hours below the setpoint and not raised: %+v", s)
		}
	})
}

// What isn't known neither raises nor clears: levels that aren't shown, that come from a
// broken sender or that don't come at all leave an alarm as it is.
func TestUnknownChangesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tank := NewTank(Config{Label: "Fresh water", Rules: Usual(About{Tank: "fresh"})}, nil)
		at := noon
		low := rapid.Bool().Draw(t, "low")
		share := 0.6
		if low {
			share = 0.1
		}
		for range 20 {
			at = at.Add(30 * time.Second)
			tank.Take(levelAt(at, share, 0.01))
		}
		state := stateOf(tank, "fresh/low")
		if want := map[bool]State{true: Unacknowledged, false: Normal}[low]; state.State != want {
			t.Fatalf("%+v", state)
		}
		for range rapid.IntRange(1, 40).Draw(t, "n") {
			at = at.Add(time.Duration(rapid.IntRange(1, 4000).Draw(t, "s")) * time.Second)
			l := levelAt(at, rapid.Float64Range(0, 1).Draw(t, "share"), 0.01)
			l.Shown, l.Status, l.Fault, l.Since = false, watch.Failure, rapid.SampledFrom([]watch.Fault{watch.BrokenWire, watch.NoReading, watch.Flicker}).Draw(t, "fault"), at
			if rapid.Bool().Draw(t, "tick") {
				l.Time, l.Age, l.Fault = tank.level.Time, at.Sub(tank.level.Time), watch.NoReading
				tank.Tick(at, l, noon)
			} else {
				tank.Take(l)
			}
			s := stateOf(tank, "fresh/low")
			if s.Active != low || low && s.State != Unacknowledged || !low && s.State != Normal && s.State != Suppressed {
				t.Fatalf("what isn't known changed it: %+v", s)
			}
		}
	})
}

func stateOf(t *Tank, id string) Standing {
	for _, s := range t.Standings() {
		if s.Rule.ID == id {
			return s
		}
	}
	return Standing{}
}
