package station

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"time"

	"gaugewright/internal/alarm"
	"gaugewright/internal/feed/mqtt"
	"gaugewright/internal/flow"
	"gaugewright/internal/notice"
	"gaugewright/internal/watch"
)

// The alarms of a station: each tank's are watched with its levels, under its lock. What
// changes is written by one goroutine, and only what is on the disk is told.

const (
	alarmsEvery = time.Second      // how often delays, shelves and what is owed are looked at
	flowsEvery  = 10 * time.Second // how often events and outlooks are
	flowsMost   = 256              // how many events are, the latest
)

// alarming is what a tank's alarms need besides themselves.
type alarming struct {
	tank   *alarm.Tank
	moves  []alarm.Move // that aren't written yet
	looked time.Time    // the time of the last level that was
	worst  watch.Status
	flowed time.Time // the time of the level by which events and the outlook were
	warm   bool      // levels are of before the start
}

// beginAlarms takes up the alarms as they were kept. Those that aren't set up any more
// are let go of.
func (s *Station) beginAlarms(ctx context.Context) error {
	kept, err := s.store.Alarms(ctx)
	if err != nil {
		return err
	}
	var all []alarm.Rule
	var faults []error
	for _, n := range s.names {
		t := s.tanks[n]
		c, err := s.config.alarmsOf(n, t.about.Label, s.o.Zone)
		faults = append(faults, err)
		t.alarms = alarming{tank: alarm.NewTank(c, kept), warm: true}
		all = append(all, c.Rules...)
	}
	if err := errors.Join(faults...); err != nil {
		return err
	}
	gone, moves := alarm.Leftover(all, kept, s.o.Now())
	for _, m := range moves {
		s.o.Log.Warn("an alarm that stood isn't set up any more", "alarm", m.ID, "state", m.From)
	}
	s.goneAlarms = gone
	return s.store.KeepAlarms(ctx, nil, moves, gone)
}

// warmed says that what comes from now on is new.
func (s *Station) warmed(context.Context) error {
	for _, n := range s.names {
		s.tanks[n].alarms.warm = false
	}
	return nil
}

// alarms watches the level after a reading: one a second of the readings' time, and
// each that changes how far levels can be believed. The tank's lock is held, or nobody
// else has it.
func (t *tank) alarmed(l watch.Level) {
	a := &t.alarms
	if a.tank == nil || l.Time.Sub(a.looked).Abs() < time.Second && l.Status == a.worst {
		return
	}
	a.looked, a.worst = l.Time, l.Status
	if a.warm {
		a.moves = append(a.moves, a.tank.Warm(l)...)
		return
	}
	a.moves = append(a.moves, a.tank.Take(l)...)
}

// calling keeps what the alarms did and tells it, until the context ends.
func (s *Station) calling(ctx context.Context) error {
	for _, n := range s.names {
		for _, standing := range s.tanks[n].standings() {
			s.publishAlarm(standing)
		}
	}
	s.publishGone()
	ticks := time.NewTicker(alarmsEvery)
	defer ticks.Stop()
	var looked time.Duration
	for first := true; ; first = false {
		select {
		case <-ctx.Done():
			return nil
		case <-ticks.C:
		}
		flows := first || s.o.Passed()-looked >= flowsEvery
		if flows {
			looked = s.o.Passed()
		}
		s.callOnce(ctx, flows)
	}
}

// callOnce lets time pass for all alarms, keeps what changed and tells what is due.
func (s *Station) callOnce(ctx context.Context, flows bool) {
	now := s.o.Now()
	for _, n := range s.names {
		t := s.tanks[n]
		t.mu.Lock()
		t.alarms.moves = append(t.alarms.moves, t.alarms.tank.Tick(now, t.watch.At(now), s.started)...)
		if flows {
			s.lookFlows(t)
		}
		t.mu.Unlock()
		if err := s.keepAlarms(ctx, t); err != nil {
			s.o.Log.Warn("the alarms can't be kept for now, and so aren't told", "tank", n, "error", err)
			continue
		}
		s.call(ctx, t, now)
	}
}

// lookFlows looks at what happened to a tank and how it goes on, where a level came since it
// was looked at last. The tank's lock is held.
func (s *Station) lookFlows(t *tank) {
	a, at := &t.alarms, t.level.Time
	if at.IsZero() || at.Equal(a.flowed) || t.follows.broke {
		return
	}
	a.flowed = at
	events := slices.DeleteFunc(t.follows.tracker.Events(), func(e flow.Event) bool { return e.Kind == flow.Use })
	a.moves = append(a.moves, a.tank.Flows(at, events[max(0, len(events)-flowsMost):])...)
	a.moves = append(a.moves, a.tank.Ahead(s.outlook(t))...)
}

// keepAlarms writes what the alarms of a tank did, and says it to those who follow.
func (s *Station) keepAlarms(ctx context.Context, t *tank) error {
	s.alarmWriting.Lock()
	defer s.alarmWriting.Unlock()
	t.mu.Lock()
	points, moves := t.alarms.tank.Changed(), t.alarms.moves
	t.alarms.moves = nil
	t.mu.Unlock()
	if len(points)+len(moves) == 0 {
		return nil
	}
	if err := s.store.KeepAlarms(ctx, points, moves, nil); err != nil {
		t.mu.Lock()
		t.alarms.tank.Unkept(points)
		t.alarms.moves = append(moves, t.alarms.moves...)
		t.mu.Unlock()
		return err
	}
	for _, m := range moves {
		s.o.Log.Info("an alarm changed its state", "alarm", m.ID, "from", m.From, "to", m.To, "at", m.Time, "by", m.By)
	}
	for _, standing := range t.standings() {
		if slices.ContainsFunc(points, func(p alarm.Point) bool { return p.ID == standing.Rule.ID }) {
			s.publishAlarm(standing)
		}
	}
	s.changes.tell()
	return nil
}

// call tells what is due of a tank. It is handed on before it is noted as told: cut off
// between the two, it is handed on again under the same name, and counts once.
func (s *Station) call(ctx context.Context, t *tank, now time.Time) {
	s.caller.Quiet = s.quietHours()
	t.mu.Lock()
	calls := s.caller.Due(now, t.alarms.tank)
	t.mu.Unlock()
	if len(calls) == 0 {
		return
	}
	for _, c := range calls {
		if err := s.tell(ctx, noticeOf(c, t)); err != nil {
			s.o.Log.Error("an alarm can't be told for now", "alarm", c.Standing.Rule.ID, "error", err)
			t.mu.Lock()
			t.alarms.tank.Untold(c)
			t.mu.Unlock()
		}
	}
	if err := s.keepAlarms(ctx, t); err != nil {
		s.o.Log.Warn("that an alarm was told can't be kept for now", "tank", t.about.Label.Tank, "error", err)
	}
}

// noticeOf makes a notice of a call. Its time is that of what it tells.
func noticeOf(c alarm.Call, t *tank) notice.Notice {
	st := c.Standing
	n := notice.Notice{
		ID: c.Key, Time: st.Raised, Alarm: st.Rule.ID, Tank: st.Rule.Tank, Label: st.Label,
		Kind: string(st.Rule.Kind), Priority: string(st.Rule.Priority), State: string(st.State), Again: c.Again,
		Title: c.Title(), Text: c.Text(), Cautions: t.about.Label.Cautions, Own: st.Own(),
	}
	if c.Why == alarm.CallOver {
		n.Time, n.Again = st.Cleared, 0
	}
	return n
}

// standings are a tank's alarms as they stand.
func (t *tank) standings() []alarm.Standing {
	t.mu.Lock()
	defer t.mu.Unlock()
	return t.alarms.tank.Standings()
}

// publishAlarm hands an alarm to all who publish, retained.
func (s *Station) publishAlarm(st alarm.Standing) {
	payload, err := json.Marshal(st.Publish())
	if err != nil {
		s.o.Log.Error("an alarm can't be written", "alarm", st.Rule.ID, "error", err)
		return
	}
	for _, out := range s.out {
		if err := out.Publish(mqtt.AlarmTopic(st.Rule.ID), payload, true); err != nil {
			s.o.Log.Warn("an alarm wasn't published", "alarm", st.Rule.ID, "error", err)
		}
	}
}

// publishGone takes back what was published of alarms that aren't set up any more.
func (s *Station) publishGone() {
	for _, id := range s.goneAlarms {
		for _, out := range s.out {
			if err := out.Publish(mqtt.AlarmTopic(id), nil, true); err != nil {
				s.o.Log.Warn("an alarm that is gone wasn't taken back", "alarm", id, "error", err)
			}
		}
	}
}

// Alarms holds the alarms.
func (s *Station) Alarms() alarm.Board { return board{s} }

type board struct{ s *Station }

// Alarms gives all alarms, what needs somebody first.
func (b board) Alarms(context.Context) ([]alarm.Standing, error) {
	var list []alarm.Standing
	for _, n := range b.s.names {
		list = append(list, b.s.tanks[n].standings()...)
	}
	alarm.Sort(list)
	return list, nil
}

// Moves gives what an alarm did.
func (b board) Moves(ctx context.Context, id string, most int) ([]alarm.Move, error) {
	return b.s.store.Moves(ctx, id, most)
}

// Acknowledge says that somebody knows of an alarm.
func (b board) Acknowledge(ctx context.Context, id, by string) error {
	return b.do(ctx, id, func(t *alarm.Tank) ([]alarm.Move, error) { return t.Acknowledge(id, by, b.s.o.Now()) })
}

// Shelve makes an alarm silent until a time.
func (b board) Shelve(ctx context.Context, id, by string, until time.Time) error {
	return b.do(ctx, id, func(t *alarm.Tank) ([]alarm.Move, error) { return t.Shelve(id, by, b.s.o.Now(), until) })
}

// Service takes an alarm out of service, or back into it.
func (b board) Service(ctx context.Context, id, by string, in bool) error {
	return b.do(ctx, id, func(t *alarm.Tank) ([]alarm.Move, error) { return t.Service(id, by, b.s.o.Now(), in) })
}

// do does what somebody asked for with the alarm of that name, and comes back when it is
// on the disk.
func (b board) do(ctx context.Context, id string, what func(*alarm.Tank) ([]alarm.Move, error)) error {
	for _, n := range b.s.names {
		t := b.s.tanks[n]
		t.mu.Lock()
		moves, err := what(t.alarms.tank)
		t.alarms.moves = append(t.alarms.moves, moves...)
		t.mu.Unlock()
		switch {
		case errors.Is(err, alarm.ErrNone):
			continue
		case err != nil:
			return err
		}
		return b.s.keepAlarms(ctx, t)
	}
	return fmt.Errorf("%w: %q", alarm.ErrNone, id)
}
