package station

import (
	"reflect"
	"time"

	"gaugewright/internal/docket"
	"gaugewright/internal/quantity"
	"gaugewright/internal/web"
)

// apply has a tank's levels corrected, or not any more. Readings and levels that were kept
// stay as they are, and so does all that the watch knows. What follows the levels knows by
// which correction they are shown, so that a step is no refill.
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
