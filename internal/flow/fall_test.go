package flow

import (
	"math"
	"slices"
	"testing"
	"time"

	"gaugewright/internal/quantity"
	"gaugewright/internal/watch"
)

// byMinute gives a level a minute, from 08:00 on, by what it changes by in points.
type byMinute struct {
	k     *Tracker
	at    time.Time
	x     float64
	drive bool
}

func (m *byMinute) pass(n int, by float64) {
	for i := range n {
		m.at = m.at.Add(time.Minute)
		m.x += by
		// A noise of a few hundredths of a point.
		l := watch.Level{Time: m.at, Shown: true, Share: quantity.Share((m.x + 0.03*math.Sin(float64(7*i))) / 100), U: 0.001, Motion: watch.Standing, Raw: math.NaN()}
		if m.drive {
			l.Motion, l.Slosh = watch.Moving, 0.03
		}
		m.k.Take(l)
	}
}

// day is one at which people wash up and shower.
func (m *byMinute) day() {
	for range 6 {
		m.pass(120, 0)
		m.pass(3, -0.8)
	}
	m.pass(24*60-6*123, 0)
}

// What falls fast is somebody's shower, or isn't (common practice, no source).
func TestWhatFallsFast(t *testing.T) {
	for _, c := range []struct {
		name string
		do   func(m *byMinute)
		kind Kind
		from float64 // points before it
	}{
		{"two showers of a tank that nothing is known of", func(m *byMinute) { m.pass(5, -4.6) }, "", 0},
		{"a shower, then another, in a week of small draws", func(m *byMinute) {
			for range 3 {
				m.day()
			}
			m.pass(6, -4)
		}, "", 0},
		{"half a tank in ten minutes by night", func(m *byMinute) {
			m.day()
			m.pass(18*60, 0)
			m.pass(10, -4)
		}, Drop, 90 - 14.4},
		{"the same, and at first it looks as if the vehicle moved", func(m *byMinute) {
			m.day()
			m.pass(18*60, 0)
			m.drive = true
			m.pass(5, -4)
			m.drive = false
			m.pass(5, -4)
		}, Drop, 90 - 14.4},
		{"a float that comes free after a day", func(m *byMinute) {
			for range 2 {
				m.day()
			}
			m.pass(25*60, 0)
			m.pass(1, -45)
		}, Stuck, 90 - 28.8},
	} {
		m := &byMinute{k: New(Config{}), at: begin.Add(8 * time.Hour), x: 90}
		m.pass(30, 0)
		c.do(m)
		m.pass(60, 0)
		events := slices.DeleteFunc(m.k.Events(), func(e Event) bool { return e.Kind == Use })
		switch {
		case c.kind == "" && len(events) > 0:
			t.Errorf("%s: told %v", c.name, events)
		case c.kind != "" && (len(events) != 1 || events[0].Kind != c.kind || math.Abs(100*events[0].Before-c.from) > 0.5):
			t.Errorf("%s: told %v; expected a %s from %g on", c.name, events, c.kind, c.from)
		}
	}
}

// What is usually drawn in a gap is no filling where the level is what it was.
func TestGapIsNoFilling(t *testing.T) {
	m := &byMinute{k: New(Config{}), at: begin.Add(8 * time.Hour), x: 95}
	for range 4 {
		m.day()
	}
	m.at = m.at.Add(11 * time.Hour)
	m.pass(120, 0)
	if e := slices.DeleteFunc(m.k.Events(), func(e Event) bool { return e.Kind == Use }); len(e) > 0 {
		t.Errorf("told %v", e)
	}
}

// A boat that begins to swing at anchor while it is filled has one refill, not one that
// never ends and another of the same start.
func TestSwaysWhileFilled(t *testing.T) {
	m := &byMinute{k: New(Config{}), at: begin.Add(8 * time.Hour), x: 20}
	m.pass(60, 0)
	m.pass(6, 2)
	for range 10 {
		m.pass(2, 3.2)
		m.pass(1, -1.6)
	}
	for range 20 {
		m.pass(3, 0.8)
		m.pass(3, -0.8)
	}
	m.pass(180, 0)
	e := slices.DeleteFunc(m.k.Events(), func(e Event) bool { return e.Kind == Use })
	if len(e) != 1 || e[0].Kind != Refill || e[0].Open() || math.Abs(100*e[0].Amount-60) > 4 {
		t.Errorf("told %v", e)
	}
}

// What is drawn in the middle of a filling is the notch and what came in meanwhile.
func TestDrawnWhileFilled(t *testing.T) {
	for _, c := range []struct {
		name  string
		fill  func(m *byMinute)
		comes float64
	}{
		{"one shower", func(m *byMinute) { m.pass(10, 2.2); m.pass(3, -2.8); m.pass(14, 2.2) }, 27 * 2.2},
		{"two", func(m *byMinute) {
			m.pass(8, 2.2)
			m.pass(3, -2.8)
			m.pass(8, 2.2)
			m.pass(2, -1.8)
			m.pass(8, 2.2)
		}, 29 * 2.2},
		{"none", func(m *byMinute) { m.pass(25, 2.2) }, 25 * 2.2},
		{"by cans, with a pause", func(m *byMinute) { m.pass(8, 2.2); m.pass(6, 0); m.pass(8, 2.2) }, 16 * 2.2},
	} {
		m := &byMinute{k: New(Config{}), at: begin.Add(8 * time.Hour), x: 20}
		m.pass(90, 0)
		c.fill(m)
		m.pass(90, 0)
		e := slices.DeleteFunc(m.k.Events(), func(e Event) bool { return e.Kind == Use })
		if len(e) != 1 || e[0].Kind != Refill || math.Abs(100*e[0].Amount-c.comes) > 1.5 || 100*e[0].Low > c.comes || 100*e[0].High < c.comes {
			t.Errorf("%s: told %v; expected a refill of %.1f", c.name, e, c.comes)
		}
	}
}
