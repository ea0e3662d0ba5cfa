package alarm

import (
	"errors"
	"fmt"
	"time"

	"gaugewright/internal/watch"
)

// ErrNone says that there is no such alarm.
var ErrNone = errors.New("there is no such alarm")

// ErrShelf says that an alarm can't be shelved until then.
var ErrShelf = errors.New("an alarm can be shelved for a week at most")

// Acknowledge says that somebody knows of an alarm.
func (t *Tank) Acknowledge(id, by string, now time.Time) ([]Move, error) {
	return t.person(id, Event{Act: Acknowledge, Time: now, By: by})
}

// Shelve makes an alarm silent until a time; the zero time ends that.
func (t *Tank) Shelve(id, by string, now, until time.Time) ([]Move, error) {
	if until.IsZero() {
		return t.person(id, Event{Act: Unshelve, Time: now, By: by})
	}
	if !until.After(now) || until.Sub(now) > LongestShelf {
		return nil, fmt.Errorf("%w: until %s isn't within a week from now", ErrShelf, Moment(until, t.c.Zone))
	}
	return t.person(id, Event{Act: Shelve, Time: now, By: by, Until: until})
}

// Service takes an alarm out of service, or back into it.
func (t *Tank) Service(id, by string, now time.Time, in bool) ([]Move, error) {
	e := Event{Act: Withdraw, Time: now, By: by}
	if in {
		e.Act = Restore
	}
	return t.person(id, e)
}

func (t *Tank) person(id string, e Event) ([]Move, error) {
	for _, o := range t.alarms {
		if o.rule.ID != id {
			continue
		}
		o.dirty, o.fresh = true, false
		m, changed := o.point.Do(e)
		if !changed {
			return nil, nil
		}
		return []Move{m}, nil
	}
	return nil, fmt.Errorf("%w: %q", ErrNone, id)
}

// Changed gives the alarms that have changed since it was last asked, to be kept;
// Unkept says that they couldn't be.
func (t *Tank) Changed() (list []Point) {
	for _, o := range t.alarms {
		if o.dirty {
			o.dirty = false
			list = append(list, o.point)
		}
	}
	return list
}

// Unkept: see Changed.
func (t *Tank) Unkept(list []Point) {
	for _, p := range list {
		for _, o := range t.alarms {
			o.dirty = o.dirty || o.rule.ID == p.ID
		}
	}
}

// NotSetUp is what a move says by which an alarm goes that was set up once.
const NotSetUp = "It isn't set up any more."

// Leftover gives of what was kept the alarms that aren't set up any more, each with the
// move by which that is to be seen where it wasn't normal.
func Leftover(rules []Rule, kept []Point, now time.Time) (gone []string, moves []Move) {
	known := map[string]bool{}
	for _, r := range rules {
		known[r.ID] = true
	}
	for _, p := range kept {
		if known[p.ID] {
			continue
		}
		gone = append(gone, p.ID)
		if p.State != Normal {
			moves = append(moves, Move{ID: p.ID, Time: now, From: p.State, To: Normal, What: NotSetUp})
		}
	}
	return gone, moves
}

// Anew forgets what it knows of how long things have been so, as the clock was set: the
// levels that come next may be older than those that came. now is the clock's as it is.
func (t *Tank) Anew(now time.Time) {
	t.level, t.trail = watch.Level{}, trail{}
	for _, o := range t.alarms {
		o.judge = judge{}
		if o.point.At.After(now) {
			o.point.At, o.dirty = now, true
		}
	}
}
