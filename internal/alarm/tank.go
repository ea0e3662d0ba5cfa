package alarm

import (
	"cmp"
	"slices"
	"time"

	"gaugewright/internal/outlook"
	"gaugewright/internal/watch"
)

// Config is a tank whose alarms are watched.
type Config struct {
	Label string         // what people call it
	Rules []Rule         // at most one of each ID
	Zone  *time.Location // of times in sentences; nil: UTC
	// Content turns a level on the scale into what there is, in parts of what the full
	// scale holds; nil: they are the same.
	Content func(share float64) float64
	// Amount words a part of what the full scale holds ("18 L"), and Speed one an hour
	// ("0.2 L an hour"); nil: in percent.
	Amount, Speed func(float64) string
}

// Tank has the alarms of one tank. It isn't for several goroutines at once.
type Tank struct {
	c      Config
	alarms []*one
	level  watch.Level // the newest that was taken
	trail  trail
}

// one is an alarm with what is known of it for the moment.
type one struct {
	rule  Rule
	point Point
	judge judge
	fresh bool      // nothing was kept of it: it begins with what comes next
	dirty bool      // it has changed since it was last fetched
	stuck time.Time // of Fault: since when the float doesn't move; zero: it does
}

// NewTank begins to watch, with what was kept of its alarms. Of what was kept, alarms
// that aren't set up any more are left out; see [Leftover].
func NewTank(c Config, kept []Point) *Tank {
	t := &Tank{c: c}
	for _, r := range c.Rules {
		o := &one{rule: r, point: NewPoint(r.ID), fresh: true}
		for _, p := range kept {
			if p.ID == r.ID {
				o.point, o.fresh = p, false
			}
		}
		t.alarms = append(t.alarms, o)
	}
	slices.SortStableFunc(t.alarms, func(a, b *one) int {
		return cmp.Or(cmp.Compare(slices.Index(Kinds, a.rule.Kind), slices.Index(Kinds, b.rule.Kind)), cmp.Compare(a.rule.ID, b.rule.ID))
	})
	return t
}

// Warm takes a level that was taken before the watch was stopped, so that it is known
// how long things have been so. It changes no state, but for levels that came after what
// was kept: of those, the alarms are told now, with their own time.
func (t *Tank) Warm(l watch.Level) []Move { return t.take(l, true) }

// Take takes the level after a reading. Levels that aren't newer than the one before
// change nothing.
func (t *Tank) Take(l watch.Level) []Move { return t.take(l, false) }

func (t *Tank) take(l watch.Level, warm bool) (moves []Move) {
	if l.Time.IsZero() || !l.Time.After(t.level.Time) {
		return nil
	}
	t.level = l
	t.trail.add(l, t.c.Content)
	for _, o := range t.alarms {
		if warm && o.fresh {
			o.point.At = l.Time // an alarm that is new doesn't tell what was
		}
		moves = append(moves, t.judged(o, l, l.Time)...)
	}
	return append(moves, t.hush(l.Time)...)
}

// Tick lets time pass until now, which is the machine's: l is the newest level as it is
// then, and listening since when there has been somebody to take readings.
func (t *Tank) Tick(now time.Time, l watch.Level, listening time.Time) (moves []Move) {
	for _, o := range t.alarms {
		if m, changed := o.point.Pass(now); changed {
			moves = append(moves, t.moved(o, m))
		}
		if o.rule.Kind == Stale {
			moves = append(moves, t.stale(o, now, l, listening)...)
		} else if !l.Time.IsZero() && !l.Time.Before(t.level.Time) {
			moves = append(moves, t.judged(o, l, l.Time.Add(max(0, l.Age)))...)
		}
	}
	return append(moves, t.hush(now)...)
}

// judged looks whether a level raises or clears an alarm at a moment.
func (t *Tank) judged(o *one, l watch.Level, at time.Time) []Move {
	p, ok := odds{}, false
	switch o.rule.Kind {
	case Low, High:
		p, ok = levelOdds(o.rule, l), believed(l) && o.rule.Left == 0
	case Rate:
		p, ok = t.trail.odds(o.rule)
		ok = ok && believed(l)
	case Fault:
		return t.faulty(o, l, at)
	}
	if !ok {
		return nil
	}
	return t.act(o, o.judge.take(at, max(2*o.rule.On, l.Stale), p, o.rule), at, func() string { return t.levelWords(o.rule, l) })
}

// faulty looks whether the sender's fault raises or clears an alarm. That nothing comes
// in is no fault, and says nothing about one that was there.
func (t *Tank) faulty(o *one, l watch.Level, at time.Time) []Move {
	p, since := odds{}, l.Since
	switch {
	case l.Fault == watch.NoReading, l.Status == watch.Check:
		return nil
	case l.Status == watch.Failure:
		p.there = 1
	case !o.stuck.IsZero():
		p.there, since = 1, o.stuck
	default:
		p.back = 1
	}
	v := o.judge.take(at, max(2*o.rule.On, 2*o.rule.Off, l.Stale), p, o.rule)
	if p.there == 1 && !since.IsZero() && since.Before(at) {
		v.raise, v.began = v.raise || at.Sub(since) >= o.rule.On, since
	}
	return t.act(o, v, at, func() string { return t.faultWords(l) })
}

// act does what a verdict says, where it is newer than what is known.
func (t *Tank) act(o *one, v verdict, at time.Time, what func() string) []Move {
	p := &o.point
	if !at.After(p.At) {
		return nil
	}
	e := Event{Time: at}
	switch {
	case v.raise && !p.Active:
		e.Act, e.Began, e.What = Raise, v.began, what()
	case v.back && p.Active:
		e.Act, e.Began = Return, v.ended
	default:
		return nil
	}
	o.judge = judge{last: o.judge.last}
	if e.Act == Raise && p.Silent { // there is something to go by after all
		p.Do(Event{Act: Release, Time: at})
	}
	return t.do(o, e, at)
}

// do does an act by which Active changes.
func (t *Tank) do(o *one, e Event, at time.Time) []Move {
	o.point.At, o.fresh, o.dirty = at, false, true
	if m, changed := o.point.Do(e); changed {
		return []Move{t.moved(o, m)}
	}
	return nil
}

func (t *Tank) moved(o *one, m Move) Move {
	o.dirty, o.fresh = true, false
	return m
}

// settled is for how long a watch has to be there before it says that nothing comes in.
const settled = 15 * time.Minute

// stale looks whether nothing has come in for too long.
func (t *Tank) stale(o *one, now time.Time, l watch.Level, listening time.Time) []Move {
	p := &o.point
	quiet := now.Sub(l.Time) - o.rule.On
	switch {
	case l.Time.IsZero():
		return nil // nothing ever came: there is nothing that has stopped
	case !p.Active && quiet >= 0 && now.Sub(listening) >= min(o.rule.On, settled):
		return t.do(o, Event{Act: Raise, Time: now, Began: l.Time, What: t.staleWords(l)}, now)
	case p.Active && quiet < 0 && l.Age <= l.Stale:
		return t.do(o, Event{Act: Return, Time: now, Began: l.Time}, now)
	}
	return nil
}

// Ahead takes how long the tank will last.
func (t *Tank) Ahead(a outlook.Outlook) (moves []Move) {
	for _, o := range t.alarms {
		if o.rule.Kind == Low && o.rule.Left > 0 && a.Left.Known && believed(t.level) {
			moves = append(moves, t.act(o, o.judge.take(a.At, max(2*o.rule.On, t.level.Stale), leftOdds(o.rule, a.Left), o.rule), a.At, func() string { return t.leftWords(o.rule) })...)
		}
	}
	return moves
}

// hush suppresses by design what is about a level while there is none to go by, as the
// sender is at fault or silent and that is told; an alarm that needs somebody, or that
// somebody knows of, stays as it is.
func (t *Tank) hush(at time.Time) (moves []Move) {
	lost := false
	for _, o := range t.alarms {
		if o.rule.Kind == Fault || o.rule.Kind == Stale {
			lost = lost || o.point.Active
		}
	}
	for _, o := range t.alarms {
		switch o.rule.Kind {
		case Low, High, Rate:
			p := &o.point
			e := Event{Act: Release, Time: at}
			if lost {
				e.Act = Suppress
			}
			if p.Silent == lost || lost && (p.State != Normal || p.Active) {
				continue
			}
			o.dirty = true
			if m, changed := p.Do(e); changed {
				moves = append(moves, t.moved(o, m))
			}
		}
	}
	return moves
}
