package station

import (
	"slices"
	"sync"
	"time"

	"gaugewright/internal/feed"
	"gaugewright/internal/watch"
)

// How a source is known whose clock is behind: what it sends trails its arrival by a steady
// time, however long, while it comes in order and far more often than that. What was held
// back in an outage comes faster than its times tell, so how far it trails shrinks.
const (
	// behindLeast is how far behind the time of a reading has to be; less is a delay.
	behindLeast = feed.Ahead
	// behindOften says that calls come so many times more often than they trail: less
	// often, and they are gathered and sent by the piece.
	behindOften = 4
	// behindCalls and behindBriefly or behindLong is how much of it is looked at:
	// briefly where the source's times went back while it sent on, so that no outage
	// explains them.
	behindCalls   = 4
	behindBriefly = 30 * time.Second
	behindLong    = 2 * time.Minute
	// behindJitter and behindDrift, as a part of the time looked at, are what is steady;
	// behindSpread is where it is looked anew.
	behindJitter = 3 * time.Second
	behindDrift  = 20
	behindSpread = 30 * time.Second
	// behindKept is how far from what was found a clock may be to count as the same,
	// behindMoved from where on it is set anew, and behindOdd how many in a row that are
	// farther say that it isn't so any more.
	behindKept  = time.Minute
	behindMoved = 10 * time.Second
	behindOdd   = 3
)

// behindClock names to people what is wrong with a reading of such a source.
const behindClock = "a clock that is behind"

// clocks follow how far the times of sources are behind their arrival.
type clocks struct {
	mu    sync.Mutex
	calls uint64
	known map[lineOf]*trail
	now   []*trail // of the call
}

type lineOf struct{ source, tank string }

// trail is how far the readings of a source for a tank are behind.
type trail struct {
	arrived, newest time.Time // of the last call

	first       time.Time // since when it is looked at
	calls       int
	least, most time.Duration
	needs       time.Duration

	behind time.Duration // by how much its clock is behind; 0: it isn't
	odd    int

	call     uint64 // the number of the call that the next ones are of
	at, last time.Time
	before   time.Time // newest before it
	puts     bool      // its readings are put right
}

// right gives readings that arrived together with those times put right whose source's
// clock is behind; the list itself stays as it is. It says of which sources some were.
func (c *clocks) right(list []watch.Reading) (righted []watch.Reading, sources []string) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.calls++
	c.now = c.now[:0]
	for i := range list {
		r := &list[i]
		t := c.trail(r)
		if t == nil {
			continue
		}
		if t.call != c.calls {
			t.call, t.at, t.last = c.calls, r.Arrived, r.Time
			c.now = append(c.now, t)
		}
		if r.Arrived.After(t.at) {
			t.at = r.Arrived
		}
		if r.Time.After(t.last) {
			t.last = r.Time
		}
	}
	puts := false
	for _, t := range c.now {
		t.look()
		puts = puts || t.puts
	}
	if !puts {
		return list, nil
	}
	righted = slices.Clone(list)
	for i := range righted {
		r := &righted[i]
		if t := c.trail(r); t != nil && t.puts && t.of(r) {
			r.Time, r.Clock, r.Behind = r.Time.Add(t.behind), watch.ArrivalClock, t.behind
			if !slices.Contains(sources, r.Source) {
				sources = append(sources, r.Source)
			}
		}
	}
	return righted, sources
}

// trail gives that of a reading; nil where its time isn't its source's, or there are too
// many sources.
func (c *clocks) trail(r *watch.Reading) *trail {
	if r.Clock != watch.SourceClock || r.Arrived.IsZero() {
		return nil
	}
	key := lineOf{r.Source, r.Tank}
	t := c.known[key]
	if t == nil && len(c.known) < mostSources {
		if c.known == nil {
			c.known = map[lineOf]*trail{}
		}
		t = &trail{}
		c.known[key] = t
	}
	return t
}

// look takes the call.
func (t *trail) look() {
	lag, known, gap := t.at.Sub(t.last), !t.arrived.IsZero(), t.at.Sub(t.arrived)
	back, again := t.last.Before(t.newest), t.last.Equal(t.newest)
	t.before, t.puts = t.newest, false
	if lag <= behindLeast {
		t.calls, t.behind = 0, 0
		t.arrived, t.newest = t.at, t.last
		return
	}
	if !again { // else it was sent twice, and tells nothing new
		pause := gap > lag/behindOften
		switch {
		case t.calls == 0 || back || pause || max(t.most, lag)-min(t.least, lag) > behindSpread:
			t.first, t.calls, t.least, t.most, t.needs = t.at, 1, lag, lag, behindLong
			if known && back && !pause {
				t.needs = behindBriefly
			}
		default:
			t.calls++
			t.least, t.most = min(t.least, lag), max(t.most, lag)
		}
		t.arrived, t.newest = t.at, t.last
	}
	if t.behind > 0 {
		if t.puts = (lag - t.behind).Abs() <= behindKept; t.puts {
			t.odd = 0
			t.behind = min(t.behind, lag) // nothing is from a time to come
		} else if t.odd++; t.odd >= behindOdd {
			t.behind = 0
		}
	}
	seen := t.at.Sub(t.first)
	if t.calls >= behindCalls && seen >= t.needs && t.most-t.least <= max(behindJitter, seen/behindDrift) && (t.least-t.behind).Abs() > behindMoved {
		t.behind, t.odd, t.puts = t.least, 0, true
	}
}

// of says whether a reading of the call is of those that are put right: what came in order,
// and what is behind by as much. What is older was held back besides.
func (t *trail) of(r *watch.Reading) bool {
	return r.Time.After(t.before) || (r.Arrived.Sub(r.Time)-t.behind).Abs() <= behindKept
}
