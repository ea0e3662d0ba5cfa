package station

import (
	"context"
	"fmt"
	"hash/fnv"
	"maps"
	"slices"
	"time"

	"gaugewright/internal/docket"
	"gaugewright/internal/flow"
	"gaugewright/internal/store/sqlite"
)

const (
	// mayChange is how long an event may change, or turn out not to have been, after
	// it ended. What a tracker doesn't tell any more that is older was too much for it.
	mayChange = 7 * 24 * time.Hour
	// saveEvery is how often what is known is written where no event changed, in the
	// time of the readings. Those after it are gone through again at the next start.
	saveEvery = time.Hour
	// manyEvents is how many events a tracker tells at the least before it forgets the
	// earliest: those aren't taken back.
	manyEvents = 128
	// manyUses is the same of spells of use.
	manyUses = 32
	// mostKept is how many events of a tank are looked through at the start.
	mostKept = 10_000
	// unknownBack is how far back readings are gone through at the start where nothing
	// is known of a tank's use: the first time, and where what was known is damaged.
	unknownBack = 14 * 24 * time.Hour
)

// asKept gives an event as the store gives it back.
func asKept(e flow.Event) flow.Event {
	for _, t := range []*time.Time{&e.Start, &e.End, &e.Found} {
		if !t.IsZero() {
			*t = t.Round(time.Millisecond).UTC()
		}
	}
	return e
}

// mayGo says whether an event may turn out not to have been, by the time of the newest
// reading.
func (f *follows) mayGo(e flow.Event, at time.Time) bool {
	return e.Open() || at.Sub(e.End) < mayChange || !f.anew.IsZero() && !e.Start.Before(f.anew)
}

// changes gives of the events of a tank those that the store hasn't as they are, and
// those that it has and that turned out not to be, by the time of the newest reading.
func (f *follows) changes(events []flow.Event, at time.Time) (changed, gone []flow.Event) {
	there := make(map[flowKey]bool, len(events))
	var first, firstUse time.Time // of what is told, and how many there are
	others, uses := 0, 0
	for _, e := range events {
		if e.Kind == flow.Use {
			if uses++; uses == 1 {
				firstUse = e.Start
			}
		} else if others++; others == 1 {
			first = e.Start
		}
		e = asKept(e)
		k := keyOf(e)
		there[k] = true
		if had, ok := f.kept[k]; !ok || had != e {
			changed = append(changed, e)
		}
	}
	for k, e := range f.kept {
		if e.Kind == flow.Use && uses >= manyUses && e.Start.Before(firstUse) || e.Kind != flow.Use && others >= manyEvents && e.Start.Before(first) {
			continue
		}
		if !there[k] && f.mayGo(e, at) {
			gone = append(gone, e)
		}
	}
	return changed, gone
}

// recallFlows takes up what was known of a tank's use, and says from when on its
// readings have to be gone through again, which is no later than the time given: from
// where it was followed to, and some before, for the watch.
func (s *Station) recallFlows(ctx context.Context, t *tank, from time.Time) (time.Time, error) {
	n, f := t.about.Label.Tank, &t.follows
	had, err := s.store.Followed(ctx, n)
	if err != nil {
		return from, err
	}
	back := time.Time{}
	if had.State != nil {
		if err := restored(f.tracker, had.State); err != nil {
			s.o.Log.Warn("what was known of a tank's use can't be taken up and is worked out anew", "tank", n, "error", err)
			f.tracker = flow.New(f.config)
			had.State = nil
		} else {
			f.curve = had.Curve
			f.saved, back = had.Until, had.Until.Add(-time.Duration(s.config.Warm))
		}
	}
	if had.State == nil {
		back = t.until.Add(-unknownBack)
		f.anew = back
	}
	since := back
	if !f.saved.IsZero() {
		since = f.saved.Add(-mayChange)
	}
	list, err := s.store.Flows(ctx, n, since, time.Time{}, mostKept)
	if err != nil {
		return from, err
	}
	f.kept = map[flowKey]flow.Event{}
	for _, e := range list {
		f.kept[keyOf(e)] = e
	}
	// Where no level was ever rolled up, there is room for the minutes of some days alone.
	if back.Before(from) && !t.until.IsZero() {
		from = back
	}
	return from, nil
}

// curveOf tells one correction of levels from another; 0 where there is none.
func curveOf(c *docket.Correction) int64 {
	if c == nil {
		return 0
	}
	h := fnv.New64a()
	fmt.Fprint(h, c.Levels, c.Capacity) // never fails
	return int64(h.Sum64() | 1)
}

// restored takes up what a tracker knew; a breakdown over it is an error.
func restored(t *flow.Tracker, state []byte) (err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("it broke down: %v", p)
		}
	}()
	return t.UnmarshalBinary(state)
}

// sealFlows writes what came in and went out of a tank, and what is known of its use by
// its last reading, where that is due; all says that it is in any case.
func (s *Station) sealFlows(ctx context.Context, t *tank, all bool) error {
	t.sealing.Lock()
	defer t.sealing.Unlock()
	f := &t.follows
	t.mu.Lock()
	at := t.level.Time
	changed, gone := f.changes(f.tracker.Events(), at)
	since := at.Sub(f.saved)
	if at.IsZero() || !pressing(changed) && !pressing(gone) && since < saveEvery && since >= 0 && (!all || since == 0) {
		t.mu.Unlock()
		return nil
	}
	state, err := s.stateOf(t)
	curve := f.curve
	t.mu.Unlock()
	if err == nil {
		err = s.store.KeepFlows(ctx, t.about.Label.Tank, sqlite.Followed{State: state, Until: at, Curve: curve}, changed, gone)
	}
	if err != nil {
		return err
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	f.saved, f.anew = at, time.Time{}
	for _, e := range changed {
		f.kept[keyOf(e)] = e
	}
	for _, e := range gone {
		delete(f.kept, keyOf(e))
	}
	told := map[flowKey]bool{}
	for _, e := range f.tracker.Events() {
		told[keyOf(e)] = true
	}
	maps.DeleteFunc(f.kept, func(k flowKey, e flow.Event) bool { return !told[k] && !f.mayGo(e, at) })
	return nil
}

// pressing says whether there are events that have to be written at once: spells of use
// come often, and can be told again from the readings.
func pressing(events []flow.Event) bool {
	return slices.ContainsFunc(events, func(e flow.Event) bool { return e.Kind != flow.Use })
}

// stateOf gives what is known of a tank's use, as bytes.
func (s *Station) stateOf(t *tank) (state []byte, err error) {
	defer func() {
		if p := recover(); p != nil {
			s.flowsBroke(t, t.level, p)
			err = fmt.Errorf("what is known of the use of %q can't be written: %v", t.about.Label.Tank, p)
		}
	}()
	return t.follows.tracker.MarshalBinary()
}
