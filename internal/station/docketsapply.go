package station

import (
	"context"
	"reflect"
	"time"

	"gaugewright/internal/docket"
	"gaugewright/internal/flow"
	"gaugewright/internal/outlook"
	"gaugewright/internal/quantity"
	"gaugewright/internal/watch"
	"gaugewright/internal/web"
)

// apply has a tank's levels corrected, or not any more. Readings and levels that were kept
// stay as they are, and so does all that the watch knows. What came in and went out is
// followed anew, or the correction would look like a refill.
func (b *book) apply(t *tank, c *docket.Correction) error {
	if t.corrected == nil && c == nil || t.corrected != nil && c != nil && reflect.DeepEqual(t.corrected.Levels, c.Levels) && t.corrected.Capacity == c.Capacity {
		return nil
	}
	in := t.plain.Instrument
	if c != nil {
		var err error
		if in, err = in.Corrected(func(s quantity.Share) (level, u quantity.Share) {
			l, ul := c.At(float64(s))
			return quantity.Share(l), quantity.Share(ul)
		}, c.Capacity); err != nil {
			return err
		}
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	level, err := t.watch.Show(in)
	if err != nil {
		return err
	}
	t.about.Watch.Instrument, t.corrected = in, c
	if t.any {
		t.level, t.dirty, t.sent = level, true, time.Time{}
	}
	if b.begun {
		t.follows.waits = true
		select {
		case b.soon <- struct{}{}:
		default:
		}
	}
	return nil
}

// refollow follows a tank anew where that waits: by its readings of the last while, as
// its levels are corrected now.
func (b *book) refollow(ctx context.Context, t *tank) (err error) {
	t.mu.Lock()
	waits, newest, config, follow := t.follows.waits, t.level.Time, t.about.Watch, t.follows.config
	t.mu.Unlock()
	if !waits {
		return nil
	}
	w, err := watch.New(config)
	if err != nil {
		return err
	}
	tracker := flow.New(follow)
	back := newest.Add(-unknownBack)
	var last watch.Level
	take := func(r watch.Reading) {
		if stale := last.Time.Add(last.Stale); !last.Time.IsZero() && r.Time.After(stale) {
			tracker.Take(w.At(stale.Add(time.Nanosecond))) // nothing came for too long
		}
		l := w.Take(r)
		if l.Time.After(last.Time) {
			tracker.Take(l)
			last = l
		}
	}
	defer func() {
		if p := recover(); p != nil {
			t.mu.Lock()
			defer t.mu.Unlock()
			t.follows.waits = false
			b.s.flowsBroke(t, t.level, p)
		}
	}()
	if err := b.s.store.Each(ctx, back, time.Time{}, t.about.Label.Tank, func(r watch.Reading) error {
		take(r)
		return ctx.Err()
	}); err != nil {
		return err
	}
	func() {
		t.mu.Lock()
		defer t.mu.Unlock()
		for _, l := range t.recent.list() {
			take(l.reading)
		}
		f := &t.follows
		f.tracker, f.waits, f.broke, f.anew = tracker, false, false, back
		f.ahead, f.aheadOf, f.lapsed = outlook.Outlook{}, time.Time{}, time.Time{}
	}()
	b.s.changes.tell()
	return nil
}

// label gives what a page says of a tank, with the litres beside its column as they were
// learned.
func (t *tank) label() web.Label {
	t.mu.Lock()
	defer t.mu.Unlock()
	l := t.about.Label
	if t.corrected == nil || t.corrected.Capacity == 1 || len(l.Volumes) == 0 {
		return l
	}
	volumes := make([]quantity.CubicMetre, len(l.Volumes))
	for i, v := range l.Volumes {
		volumes[i] = v * quantity.CubicMetre(t.corrected.Capacity)
	}
	l.Volumes = volumes
	return l
}
