package station

import (
	"cmp"
	"context"
	"slices"
	"time"

	"gaugewright/internal/history"
	"gaugewright/internal/quantity"
)

// Past answers for what was: from the store, with what isn't written yet laid over
// it.
func (s *Station) Past() history.Past { return past{s} }

type past struct{ s *Station }

func (p past) Lines(ctx context.Context, tank string) ([]history.Line, error) {
	return p.s.store.Lines(ctx, tank)
}

func (p past) Readings(ctx context.Context, l history.Line, s history.Stretch) ([]history.Bucket, error) {
	return p.s.store.Readings(ctx, l, s)
}

func (p past) Since(ctx context.Context, tank string) (time.Time, error) {
	return p.s.store.Since(ctx, tank)
}

// Levels are those of the store, and the last minutes that wait for it.
func (p past) Levels(ctx context.Context, tank string, s history.Stretch) ([]history.LevelBucket, error) {
	if err := s.Check(); err != nil {
		return nil, err
	}
	var fresh []history.LevelRoll
	if t := p.s.tanks[tank]; t != nil {
		// The lock is held over the question: what is being written would otherwise be
		// in both, or in neither.
		t.sealing.RLock()
		defer t.sealing.RUnlock()
		t.mu.Lock()
		fresh = t.rolls.Peek()
		t.mu.Unlock()
	}
	kept, err := p.s.store.Levels(ctx, tank, s)
	if err != nil || len(fresh) == 0 {
		return kept, err
	}
	return overlaid(kept, levelGrid(s).Levels(fresh)), nil
}

// levelGrid gives the buckets of levels: none is shorter than a minute.
func levelGrid(s history.Stretch) history.Grid {
	g := s.Grid()
	if g.Width < int64(history.Minute) {
		to := g.From + int64(g.N)*g.Width
		g.From -= (g.From%int64(history.Minute) + int64(history.Minute)) % int64(history.Minute)
		g.Width = int64(history.Minute)
		g.N = int((to - g.From + g.Width - 1) / g.Width)
	}
	return g
}

// overlaid puts two lists of buckets of one grid together.
func overlaid(a, b []history.LevelBucket) []history.LevelBucket {
	out := slices.Clone(a)
	for _, l := range b {
		at, there := slices.BinarySearchFunc(out, l.From, func(o history.LevelBucket, t time.Time) int { return o.From.Compare(t) })
		if !there {
			out = slices.Insert(out, at, l)
			continue
		}
		o := &out[at]
		if l.N > 0 && o.N > 0 {
			part := quantity.Share(float64(l.N) / float64(l.N+o.N))
			o.Mean += part * (l.Mean - o.Mean)
			o.Low += part * (l.Low - o.Low)
			o.High += part * (l.High - o.High)
			o.Min, o.Max = min(o.Min, l.Min), max(o.Max, l.Max)
		} else if l.N > 0 {
			o.Mean, o.Low, o.High, o.Min, o.Max = l.Mean, l.Low, l.High, l.Min, l.Max
		}
		o.N += l.N
		o.Without += l.Without
		o.Worst = history.Worse(o.Worst, l.Worst)
	}
	return out
}

// Events are those of the store, and those that wait for it.
func (p past) Events(ctx context.Context, tank string, from, to time.Time, most int) ([]history.Event, error) {
	p.s.telling.Lock()
	waiting := slices.Clone(p.s.events)
	p.s.telling.Unlock()
	list, err := p.s.store.Events(ctx, tank, from, to, most)
	if err != nil {
		return nil, err
	}
	for _, e := range waiting {
		e.Time = e.Time.Round(time.Millisecond)
		if tank != "" && e.Tank != tank || !from.IsZero() && e.Time.Before(from) || !to.IsZero() && !e.Time.Before(to) {
			continue
		}
		if !slices.ContainsFunc(list, func(o history.Event) bool { return o.Time.Equal(e.Time) && o.Tank == e.Tank && o.Kind == e.Kind }) {
			list = append(list, e)
		}
	}
	slices.SortStableFunc(list, func(a, b history.Event) int { return cmp.Or(b.Time.Compare(a.Time)) })
	return list[:min(len(list), max(0, most))], nil
}
