package station

import (
	"context"
	"math"
	"slices"
	"time"

	"gaugewright/internal/docket"
	"gaugewright/internal/history"
)

// How far back refills are offered for which there is no docket, how many at the most,
// how near a docket has to be to belong to one, and how fine it is looked.
const (
	offeredBack = 14 * 24 * time.Hour
	offeredMost = 8
	belongs     = 2 * time.Hour
	offeredStep = 5 * time.Minute
)

// Refills gives the latest refills of a tank for which there is no docket yet, the latest
// first.
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
	full := t.fullLitres()
	found := docket.Refills(levels)
	found = slices.DeleteFunc(found, func(r docket.Refill) bool {
		return slices.ContainsFunc(list, func(s docket.Seen) bool {
			return s.Docket.Kind == docket.Receipt && !s.Docket.Struck && s.Docket.Time.After(r.Start.Add(-belongs)) && s.Docket.Time.Before(r.End.Add(belongs))
		})
	})
	slices.Reverse(found)
	found = found[:min(len(found), offeredMost)]
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
	return found, nil
}

// fullLitres is what the full scale holds, 0 where that isn't known.
func (t *tank) fullLitres() float64 { return 1000 * float64(t.about.Docket.Full) }
