package station

import (
	"context"
	"fmt"
	"time"

	"gaugewright/internal/history"
	"gaugewright/internal/watch"
)

// moves is by how much this machine's clock has to be set for it to be told, and
// for the watch to be begun anew. Less is what time servers do all the time.
const moves = 5 * time.Second

// clock tells when this machine's clock was set: the wall's time and the time that
// has passed go apart.
type clock struct {
	now    func() time.Time
	passed func() time.Duration
	wall   time.Time
	at     time.Duration
}

func newClock(now func() time.Time, passed func() time.Duration) clock {
	return clock{now: now, passed: passed, wall: now().Round(0), at: passed()}
}

// moved is by how much the clock was set since it was asked last: below 0 where it
// was set back. A machine that slept looks as if its clock was set forward.
func (c *clock) moved() (by time.Duration, before time.Time) {
	wall, at := c.now().Round(0), c.passed()
	expected := c.wall.Add(at - c.at)
	c.wall, c.at = wall, at
	return wall.Sub(expected), expected
}

const (
	// longestOff is for how long a watch may have been off, and leaps by how much its
	// clock may be set forward, without its being doubted that it tells how old
	// readings are; and doubts is for how long that is doubted then.
	longestOff = 60 * 24 * time.Hour
	leaps      = 24 * time.Hour
	doubts     = 24 * time.Hour
)

// doubtClock has nothing let go of for its age for a while: a clock that is years
// ahead would make all of it too old.
func (s *Station) doubtClock() {
	at := s.o.Passed()
	s.doubted = &at
}

// tellsAge says whether the clock is believed to tell how old readings are.
func (s *Station) tellsAge() bool { return s.doubted == nil || s.o.Passed()-*s.doubted >= doubts }

// recentMost is how many readings of a tank are held to begin a watch anew with.
const recentMost = 64

// lately is a reading and when it came in, by the time that passes.
type lately struct {
	reading watch.Reading
	at      time.Duration
}

// recently are the last readings of a tank.
type recently struct {
	ring []lately
	next int
}

func (r *recently) add(l lately) {
	if len(r.ring) < recentMost {
		r.ring = append(r.ring, l)
		return
	}
	r.ring[r.next] = l
	r.next = (r.next + 1) % recentMost
}

// list gives them, the oldest first.
func (r *recently) list() []lately {
	return append(append(make([]lately, 0, len(r.ring)), r.ring[r.next:]...), r.ring[:r.next]...)
}

// minds looks whether the clock was set, and deals with it.
func (s *Station) minds(ctx context.Context) {
	by, before := s.clock.moved()
	if by.Abs() < moves {
		return
	}
	text := fmt.Sprintf("This machine's clock was set back by %s, from %s to %s.", by.Abs().Round(time.Second), s.said(before), s.said(s.clock.wall))
	if by > 0 {
		text = fmt.Sprintf("This machine's clock went forward by %s, from %s to %s: it was set, or the machine slept.", by.Round(time.Second), s.said(before), s.said(s.clock.wall))
	}
	s.o.Log.Warn("this machine's clock was set", "by", by, "from", before, "to", s.clock.wall)
	s.itself(history.ClockMoved, text)
	s.noted(text)
	if by > leaps {
		s.doubtClock()
	}
	for _, n := range s.names {
		if err := s.anew(ctx, s.tanks[n], by, before); err != nil {
			s.o.Log.Error("a tank's watch couldn't be begun anew after the clock was set", "tank", n, "error", err)
		}
	}
	s.changes.tell()
}

// anew begins a tank's watch anew after the clock was set: with its readings of the
// last while, of which those that bear the time of their arrival bear now what it
// would have been by the clock as it is. Otherwise new readings would be older than
// those before, and be left out until time has caught up.
func (s *Station) anew(ctx context.Context, t *tank, by time.Duration, before time.Time) error {
	t.mu.Lock()
	some, config := t.recent.list(), t.about.Watch
	t.mu.Unlock()
	if len(some) == 0 {
		return nil // nothing has come yet, and what is known of before is right, or old
	}
	w, err := watch.New(config)
	if err != nil {
		return err
	}
	first := some[0].reading.Time
	for _, l := range some {
		if l.reading.Time.Before(first) {
			first = l.reading.Time
		}
	}
	err = s.store.Each(ctx, before.Add(-time.Duration(s.config.Warm)), first, t.about.Label.Tank, func(r watch.Reading) error {
		if r.Clock == watch.ArrivalClock {
			r.Time = r.Time.Add(by)
		}
		r.Arrived = time.Time{}
		w.Take(r)
		return nil
	})
	t.mu.Lock()
	defer t.mu.Unlock()
	var level watch.Level
	for _, l := range t.recent.list() {
		r := l.reading
		// What came between the setting of the clock and now has the right time already.
		right := s.clock.wall.Add(l.at - s.clock.at)
		if r.Clock == watch.ArrivalClock && right.Sub(r.Time.Add(by)).Abs() < right.Sub(r.Time).Abs() {
			r.Time = r.Time.Add(by)
		}
		r.Arrived = time.Time{}
		level = w.Take(r)
	}
	t.watch, t.level, t.dirty, t.sent = w, level, true, time.Time{}
	t.alarms.tank.Anew(s.clock.wall)
	t.alarms.looked = time.Time{}
	if by < 0 && s.clock.wall.Before(t.until) {
		t.until = s.clock.wall.Truncate(time.Minute)
	}
	return err
}
