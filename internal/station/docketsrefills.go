package station

import (
	"context"
	"math"
	"slices"
	"time"

	"gaugewright/internal/docket"
	"gaugewright/internal/flow"
	"gaugewright/internal/history"
)

// How far back refills are offered for which there is no docket, how many at the most,
// how near a docket has to be to belong to one, and how fine it is looked.
const (
	offeredBack = 14 * 24 * time.Hour
	offeredMost = 8
	belongs     = 2 * time.Hour
	offeredStep = 5 * time.Minute
	// apart is how far a rise of these has to be from a refill that is told to be another,
	// and toldMost how many events are looked through.
	apart    = 15 * time.Minute
	toldMost = 200
)

// Refills gives the latest refills of a tank for which there is no docket yet, the latest
// first: those that are told of it, with their amounts, and what else rose, as a refill
// that has just ended.
func (b *book) Refills(ctx context.Context, tank string) ([]docket.Refill, error) {
	t := b.s.tanks[tank]
	if t == nil {
		return nil, docket.ErrNone
	}
	now := b.s.o.Now().UTC().Truncate(offeredStep)
	buckets, err := b.s.Past().Levels(ctx, tank, history.Stretch{From: now.Add(-offeredBack), To: now.Add(offeredStep), Buckets: int(offeredBack/offeredStep) + 1})
	if err != nil {
		return nil, err
	}
	var levels []docket.Point
	for _, l := range buckets {
		if l.N > 0 {
			levels = append(levels, docket.Point{Time: l.From, Level: float64(l.Mean), Shown: true})
		}
	}
	list, err := b.s.store.Dockets(ctx, tank)
	if err != nil {
		return nil, err
	}
	told, err := b.told(ctx, t, now)
	if err != nil {
		return nil, err
	}
	full := t.fullLitres()
	found := docket.Refills(levels)
	found = slices.DeleteFunc(found, func(r docket.Refill) bool {
		return slices.ContainsFunc(told, func(e docket.Refill) bool {
			return e.Start.Before(r.End.Add(apart)) && e.End.After(r.Start.Add(-apart))
		})
	})
	for i := range found {
		r := &found[i]
		if content := t.about.Docket.Content; content != nil {
			r.Share = content(r.After) - content(r.Before)
		}
		if full > 0 {
			const u = 0.02
			r.Litres, r.Low, r.High = full*r.Share, full*math.Max(0, r.Share-u), full*(r.Share+u)
		}
	}
	found = append(found, told...)
	slices.SortFunc(found, func(a, b docket.Refill) int { return a.Start.Compare(b.Start) })
	found = slices.DeleteFunc(found, func(r docket.Refill) bool {
		return slices.ContainsFunc(list, func(s docket.Seen) bool {
			return s.Docket.Kind == docket.Receipt && !s.Docket.Struck && s.Docket.Time.After(r.Start.Add(-belongs)) && s.Docket.Time.Before(r.End.Add(belongs))
		})
	})
	slices.Reverse(found)
	found = found[:min(len(found), offeredMost)]
	return found, nil
}

// told gives the refills that are over among what came in and went out, as the page of the
// tank has them.
func (b *book) told(ctx context.Context, t *tank, now time.Time) (list []docket.Refill, err error) {
	events, err := flows{b.s}.Flows(ctx, t.about.Label.Tank, now.Add(-offeredBack), time.Time{}, toldMost)
	if err != nil {
		return nil, err
	}
	t.mu.Lock()
	full, _ := t.full()
	t.mu.Unlock()
	for _, e := range events {
		if e.Kind != flow.Refill || e.Open() {
			continue
		}
		r := docket.Refill{Start: e.Start, End: e.End, Litres: math.NaN(), Low: math.NaN(), High: math.NaN(), Share: e.Amount, Before: e.Before, After: e.After}
		if full > 0 {
			r.Litres, r.Low, r.High = 1000*full*e.Amount, 1000*full*e.Low, 1000*full*e.High
		}
		list = append(list, r)
	}
	return list, nil
}

// fullLitres is what the full scale holds, 0 where that isn't known.
func (t *tank) fullLitres() float64 { return 1000 * float64(t.about.Docket.Full) }
