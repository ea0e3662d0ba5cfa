package watch

import "sort"

// track is one source's readings: the recent ones by their times, and the state
// after them.
type track struct {
	source  string
	ring    []entry // by time; the first ones may have been dropped
	snaps   []snap  // by place; the first is at 0
	state   state
	extra   Counts // what isn't in the state's
	suspect bool   // the newest reading came after a long time, and none has followed
	before  snap   // the state before the last long gap
	behind  []entry
	wrong   struct{ since, until int64 } // the source's clock is known to be behind
}

// snap is the state before the reading at a place of the ring.
type snap struct {
	place int
	state state
}

// clockDoubted is how long it is told that a clock went back, ns.
const clockDoubted = 600 * second

// behindhand notes that the source's clock was behind at a reading, whose time is right.
func (t *track) behindhand(at int64) {
	if at > t.wrong.until {
		t.wrong.since = at
	}
	t.wrong.until = max(t.wrong.until, at+clockDoubted)
}

const (
	every    = 32   // readings from one snapshot to the next
	mostKept = 8192 // readings kept for late ones, at most
)

// put takes a reading and says whether the state has changed.
func (t *track) put(g *engine, e entry) bool {
	n := len(t.ring)
	if n == 0 || e.after(&t.ring[n-1]) {
		if n > 0 {
			t.ahead(g, &e)
		}
		t.behind = t.behind[:0]
		t.push(g, e)
		return true
	}
	if e.same(&t.ring[n-1]) {
		t.extra.Doubled++
		return false
	}
	return t.late(g, e)
}

// push adds a reading at the end.
func (t *track) push(g *engine, e entry) {
	if n := len(t.ring); n%every == 0 {
		t.trim(g, e.at)
		t.snaps = append(t.snaps, snap{len(t.ring), t.state})
	}
	t.ring = append(t.ring, e)
	t.state.take(g, &e)
}

// trim drops readings that are too old for anything to be placed among them.
func (t *track) trim(g *engine, now int64) {
	n := len(t.ring)
	if n < 8*every {
		return
	}
	oldest := now - g.late
	drop := 0
	for drop+1 < len(t.snaps) && (t.ring[t.snaps[drop+1].place].at < oldest || n-t.snaps[drop].place > mostKept) {
		drop++
	}
	// Copying everything down now and then costs less than a true ring.
	if place := t.snaps[drop].place; place >= n/2 {
		t.ring = append(t.ring[:0], t.ring[place:]...)
		t.snaps = append(t.snaps[:0], t.snaps[drop:]...)
		for i := range t.snaps {
			t.snaps[i].place -= place
		}
		if t.before.place -= place; t.before.place < 0 {
			t.suspect, t.before = false, snap{}
		}
	}
}

// late places a reading behind the newest.
func (t *track) late(g *engine, e entry) bool {
	n := len(t.ring)
	newest := t.ring[n-1].at
	if t.suspect && e.at < newest-g.late && e.at >= t.before.state.newest-g.late {
		// The newest reading stood alone, far ahead of all others: its time was
		// wrong.
		t.unwind()
		return t.put(g, e)
	}
	place := sort.Search(n, func(i int) bool { return t.ring[i].after(&e) })
	for i := place - 1; i >= 0 && t.ring[i].at == e.at; i-- {
		// However old: a source that sends again what wasn't acknowledged hasn't set
		// its clock back.
		if t.ring[i].same(&e) {
			t.extra.Doubled++
			return false
		}
	}
	if e.at < newest-g.late || e.at < t.ring[0].at && t.snaps[0].state.newest != 0 {
		return t.tooLate(g, e)
	}
	t.extra.Late++
	t.behind = t.behind[:0]
	// It stands by the newest, or changes what was before.
	t.suspect, t.before = false, snap{}
	t.ring = append(t.ring, entry{})
	copy(t.ring[place+1:], t.ring[place:])
	t.ring[place] = e
	t.again(g, place)
	return true
}

// again works the state out anew from a place of the ring on.
func (t *track) again(g *engine, place int) {
	k := sort.Search(len(t.snaps), func(i int) bool { return t.snaps[i].place > place }) - 1
	k = max(k, 0)
	t.state = t.snaps[k].state
	from := t.snaps[k].place
	t.snaps = t.snaps[:k+1]
	for i := from; i < len(t.ring); i++ {
		if i > from && i%every == 0 {
			t.snaps = append(t.snaps, snap{i, t.state})
		}
		t.state.take(g, &t.ring[i])
	}
}

// ahead looks at a reading that comes after all others: one that comes very long after
// may be from a clock that is wrong.
func (t *track) ahead(g *engine, e *entry) {
	gap := e.at - t.ring[len(t.ring)-1].at
	t.suspect = false
	if gap > max(g.late, int64(20*t.state.cadence*second)) {
		t.suspect = true
		t.before = snap{len(t.ring), t.state}
	}
}

// unwind takes the readings since the last long gap back.
func (t *track) unwind() {
	t.extra.Early += uint64(len(t.ring) - t.before.place)
	t.ring = t.ring[:t.before.place]
	t.state = t.before.state
	for len(t.snaps) > 1 && t.snaps[len(t.snaps)-1].place >= len(t.ring) {
		t.snaps = t.snaps[:len(t.snaps)-1]
	}
	t.suspect = false
}

// mostAhead is how many readings in a row may have come from a clock that ran
// ahead, to be taken back when it is right again.
const mostAhead = 64

// goneBack is how many readings in order, all too old, show that the clock was
// set back.
const goneBack = 3

// tooLate looks at a reading that is too old to be placed. One alone is left out;
// several in order say that the clock was set back, or that it was ahead before.
func (t *track) tooLate(g *engine, e entry) bool {
	t.extra.TooLate++
	if n := len(t.behind); n > 0 {
		last := &t.behind[n-1]
		if e.same(last) {
			return false
		}
		if !e.after(last) || e.at-last.at > max(g.late, int64(20*t.state.cadence*second)) {
			t.behind = t.behind[:0]
		}
	}
	t.behind = append(t.behind, e)
	if len(t.behind) < goneBack {
		return false
	}
	first := t.behind[0].at
	if b := &t.before; b.state.begun && b.state.newest <= first && len(t.ring)-b.place <= mostAhead {
		t.extra.Early += uint64(len(t.ring) - b.place)
		t.state = b.state
	} else {
		t.state.rebase(first)
	}
	t.state.clockAt = first + clockDoubted
	t.ring, t.snaps = t.ring[:0], t.snaps[:0]
	t.before, t.suspect = snap{}, false
	list := t.behind
	t.behind = nil
	for _, e := range list {
		t.push(g, e)
	}
	t.extra.TooLate -= uint64(len(list))
	return true
}

// rebase moves the state to another time, as if no time had passed.
func (s *state) rebase(at int64) {
	by := at - s.newest
	s.at += by
	s.newest += by
	s.t1 += by
	s.began += by
	s.anew += by
	s.drives.ended = 0
	s.restSince, s.sureAt, s.flow = 0, 0, 0
	s.flat = flat{}
	s.side, s.ramp, s.rest = side{}, ramp{}, rest{}
	s.t2 += by
	s.held = held{}
}
