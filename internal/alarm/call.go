package alarm

import (
	"fmt"
	"strings"
	"time"
)

// Why is what people are told of an alarm.
type Why string

// What they are told.
const (
	CallRaised Why = "raised" // it was raised
	CallAgain  Why = "again"  // it is critical, and nobody acknowledged it yet
	CallGone   Why = "gone"   // it was raised and is over: both before they could be told
	CallOver   Why = "over"   // it is over, as they know that it was raised
	CallSum    Why = "sum"    // several at once, as there were too many to be told one by one
)

// Call is something to be told now.
type Call struct {
	// Key is the same for the same, however often it is asked for.
	Key      string
	Why      Why
	Standing Standing
	Again    int    // it is told for the so manieth time; 0: the first
	Times    int    // how often it was raised since it was last told, where that is above 1
	Sum      []Call // of CallSum: all of them; Standing is that of the most urgent

	before Point // as it was before this was taken as told
}

// Quiet are the quiet hours, in which nobody is called but for what is critical. They
// may go through midnight. Where From and To are the same there are none.
type Quiet struct {
	From, To time.Duration // of the day, by the clock of the zone
	Zone     *time.Location
}

// In says whether a moment lies in them.
func (q Quiet) In(now time.Time) bool {
	if q.From == q.To {
		return false
	}
	zone := q.Zone
	if zone == nil {
		zone = time.UTC
	}
	h, m, s := now.In(zone).Clock()
	at := time.Duration(h)*time.Hour + time.Duration(m)*time.Minute + time.Duration(s)*time.Second
	if q.From < q.To {
		return at >= q.From && at < q.To
	}
	return at >= q.From || at < q.To
}

// UsualMost is how often an hour people are called about one tank, at most; what is
// critical is called out besides.
const UsualMost = 12

// againFirst and againMost are after how long what is critical is told again: doubled
// each time, up to a bound.
const (
	againFirst = 5 * time.Minute
	againMost  = 30 * time.Minute
)

// pause is how long it takes until what was told so many times is told again.
func pause(sent int) time.Duration {
	d := againFirst
	for range sent - 1 {
		if d *= 2; d >= againMost {
			return againMost
		}
	}
	return d
}

// Caller says what is to be told, when. It remembers the calls of the last hour, and
// nothing else. It isn't for several goroutines at once.
type Caller struct {
	Quiet Quiet
	Most  int // 0: UsualMost

	told    map[string][]time.Time // of a tank, in the last hour
	flooded map[string]bool        // there was no room for some
}

// Recall takes in a call of before a restart, by its key, so that it counts among those
// of its hour. Other notices than calls, and what is critical, count for nothing.
func (c *Caller) Recall(tank, key string, p Priority, at time.Time) {
	i := strings.LastIndexByte(key, '@')
	part := strings.Split(key[i+1:], "/") // since, why, how often, and of how many it is the sum
	if i < 0 || len(part) != 3 {
		return
	}
	if why := Why(part[1]); p == PriorityCritical && (why == CallRaised || why == CallAgain || why == CallGone) && !strings.Contains(part[2], "+") {
		return
	}
	if c.told == nil {
		c.told, c.flooded = map[string][]time.Time{}, map[string]bool{}
	}
	c.told[tank] = append(c.told[tank], at)
}

// Due gives what is to be told of a tank now, and takes it as told. What isn't due is
// owed on: nothing is let go of but what somebody acknowledged meanwhile.
func (c *Caller) Due(now time.Time, t *Tank) (calls []Call) {
	var waiting []*one
	for _, o := range t.alarms {
		p := &o.point
		critical := o.rule.Priority == PriorityCritical
		there := p.State == Unacknowledged
		switch {
		case critical && p.Owes == OwesRaised: // over or not: something was taken out at once, say
			if now.Sub(p.Called) >= againFirst || now.Before(p.Called) {
				calls = append(calls, t.call(o, now))
			}
		case critical && p.Owes == OwesNothing && p.Sent > 0 && (there || p.State == Returned && !c.Quiet.In(now)):
			if !now.Before(p.Next) || p.Next.Sub(now) > againMost { // or the clock was set back
				calls = append(calls, t.call(o, now))
			}
		case p.Owes != OwesNothing && !c.Quiet.In(now):
			waiting = append(waiting, o)
		}
	}
	return append(calls, c.flood(now, t, waiting)...)
}

// flood holds calls about one tank to so many an hour, and sums up what waited.
func (c *Caller) flood(now time.Time, t *Tank, waiting []*one) (calls []Call) {
	if len(waiting) == 0 {
		return nil
	}
	if c.told == nil {
		c.told, c.flooded = map[string][]time.Time{}, map[string]bool{}
	}
	most := c.Most
	if most <= 0 {
		most = UsualMost
	}
	tank := waiting[0].rule.Tank
	recent := c.told[tank][:0]
	for _, at := range c.told[tank] {
		if ago := now.Sub(at); ago >= 0 && ago < time.Hour {
			recent = append(recent, at)
		}
	}
	room := most - len(recent)
	for _, o := range waiting {
		switch {
		case room <= 0:
			c.flooded[tank] = true
		case !c.flooded[tank] && (room > 1 || len(waiting) == len(calls)+1):
			calls, room = append(calls, t.call(o, now)), room-1
			recent = append(recent, now)
		case room > 0: // the last for now: all that is left in one
			sum := Call{Why: CallSum}
			for _, o := range waiting[len(calls):] {
				sum.Sum = append(sum.Sum, t.call(o, now))
			}
			if len(sum.Sum) == 1 {
				sum = sum.Sum[0]
			} else {
				sum.Standing, sum.Key = sum.Sum[0].Standing, fmt.Sprintf("%s+%d", sum.Sum[0].Key, len(sum.Sum)-1)
				for _, each := range sum.Sum {
					if urgent(each.Standing.Rule.Priority) < urgent(sum.Standing.Rule.Priority) {
						sum.Standing = each.Standing
					}
				}
			}
			c.flooded[tank] = false
			c.told[tank] = append(recent, now)
			return append(calls, sum)
		}
	}
	c.told[tank] = recent
	return calls
}

func urgent(p Priority) int {
	for i, each := range Priorities {
		if each == p {
			return i
		}
	}
	return len(Priorities)
}

// call takes an alarm as told.
func (t *Tank) call(o *one, now time.Time) Call {
	p := &o.point
	c := Call{before: *p, Standing: StandingOf(t.c.Label, o.rule, *p, t.c.Zone), Again: p.Sent, Times: p.Times}
	switch {
	case p.Owes == OwesOver:
		c.Why = CallOver
	case p.Owes == OwesNothing:
		c.Why = CallAgain
	case p.State == Unacknowledged:
		c.Why = CallRaised
	default:
		c.Why = CallGone
	}
	c.Key = fmt.Sprintf("%s@%d/%s/%d", p.ID, p.Since.UnixMilli(), c.Why, p.Sent) // not since raised: what comes back from a shelf is told anew
	if c.Times <= 1 {
		c.Times = 0
	}
	p.Owes, p.Times, p.Called = OwesNothing, 0, now
	if c.Why != CallOver {
		p.Sent++
	}
	p.Next = now.Add(pause(p.Sent))
	o.dirty = true
	return c
}

// Untold says that what Due gave couldn't be handed on: it is owed again.
func (t *Tank) Untold(c Call) {
	for _, each := range c.Sum {
		t.Untold(each)
	}
	for _, o := range t.alarms {
		if p, b := &o.point, c.before; o.rule.ID == b.ID && p.Owes == OwesNothing && p.State == b.State {
			p.Owes, p.Times, p.Sent, p.Next, p.Called = b.Owes, b.Times, b.Sent, b.Next, b.Called
			o.dirty = true
		}
	}
}
