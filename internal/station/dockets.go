package station

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"time"

	"gaugewright/internal/docket"
	"gaugewright/internal/watch"
)

// Learning is what is done with what dockets say.
type Learning string

// The kinds of learning. Usual is LearnApply: whoever enters a docket wants a level that is
// right, a correction is applied where it is nearer to the truth beyond doubt and not
// before, and to strike the docket out gives back what was.
const (
	LearnApply   Learning = "apply" // levels are corrected
	LearnTell    Learning = "tell"  // it is told, and levels stay
	LearnNothing Learning = "off"   // nothing is worked out
)

// UnmarshalText reads a kind of learning.
func (l *Learning) UnmarshalText(text []byte) error {
	switch v := Learning(text); v {
	case LearnApply, LearnTell, LearnNothing, "":
		*l = v
		return nil
	}
	return fmt.Errorf(`there is no learning %q; expected "apply", "tell" or "off"`, text)
}

// Dockets keeps the dockets of the tanks.
func (s *Station) Dockets() docket.Book { return s.book }

// book is the docket.Book of a station.
type book struct {
	s *Station
	// changing is held while dockets are entered, looked for and learned from.
	changing sync.Mutex
	mu       sync.Mutex
	learned  map[string]docket.Learned // by tank
}

func newBook(s *Station) *book {
	return &book{s: s, learned: map[string]docket.Learned{}}
}

// How often it is looked whether there is more to be seen of a docket.
const (
	lookAgain  = time.Minute
	lookedBack = 64 // dockets of a tank that are looked for again, at the most
)

// begin learns from what was kept. What can't be read is logged: levels are told without
// it.
func (b *book) begin(ctx context.Context) {
	b.changing.Lock()
	defer b.changing.Unlock()
	for _, n := range b.s.names {
		if err := b.learn(ctx, n); err != nil {
			b.s.o.Log.Error("the dockets of a tank can't be read", "tank", n, "error", err)
		}
	}
}

// follow looks again for what wasn't seen whole, until the context ends.
func (b *book) follow(ctx context.Context) error {
	ticks := time.NewTicker(lookAgain)
	defer ticks.Stop()
	for {
		select {
		case <-ctx.Done():
			return nil
		case <-ticks.C:
		}
		for _, n := range b.s.names {
			if err := b.lookAgain(ctx, n); err != nil && ctx.Err() == nil {
				b.s.o.Log.Warn("the dockets of a tank can't be looked for now", "tank", n, "error", err)
			}
		}
	}
}

// Enter keeps a docket.
func (b *book) Enter(ctx context.Context, d docket.Docket, photo []byte) error {
	t := b.s.tanks[d.Tank]
	if t == nil {
		return fmt.Errorf("no tank is called %q", d.Tank)
	}
	now := b.s.o.Now()
	if err := d.Check(now); err != nil {
		return err
	}
	if d.Entered.IsZero() {
		d.Entered = now
	}
	d.Photo, d.Struck = "", false
	b.changing.Lock()
	defer b.changing.Unlock()
	if err := b.s.store.AddDocket(ctx, d, photo); err != nil {
		return err
	}
	_, err := b.look(ctx, d.Tank)
	return errors.Join(err, b.learn(ctx, d.Tank))
}

// Strike strikes one out, or takes it back in.
func (b *book) Strike(ctx context.Context, tank, id string, struck bool) error {
	if b.s.tanks[tank] == nil {
		return docket.ErrNone
	}
	b.changing.Lock()
	defer b.changing.Unlock()
	if err := b.s.store.StrikeDocket(ctx, tank, id, struck); err != nil {
		return err
	}
	return b.learn(ctx, tank)
}

// Learned gives what the dockets of a tank say.
func (b *book) Learned(ctx context.Context, tank string) (docket.Learned, error) {
	if b.s.tanks[tank] == nil {
		return docket.Learned{}, docket.ErrNone
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.learned[tank], nil
}

// Photo gives a picture that was kept.
func (b *book) Photo(ctx context.Context, tank, id string) (data []byte, kind string, err error) {
	return b.s.store.DocketPhoto(ctx, tank, id)
}

// lookAgain looks for the dockets of a tank of which there may be more to be seen.
func (b *book) lookAgain(ctx context.Context, n string) error {
	b.changing.Lock()
	defer b.changing.Unlock()
	changed, err := b.look(ctx, n)
	if err != nil || !changed {
		return err
	}
	return b.learn(ctx, n)
}

// look looks for the dockets of a tank that aren't done, and says whether more was seen.
func (b *book) look(ctx context.Context, n string) (changed bool, err error) {
	list, err := b.s.store.Dockets(ctx, n)
	if err != nil {
		return false, err
	}
	left := lookedBack
	for i := len(list) - 1; i >= 0 && left > 0; i-- {
		was := list[i]
		if was.Done {
			continue
		}
		left--
		levels, err := b.levels(ctx, n, was.Docket.Time.Add(-docket.Around), was.Docket.Time.Add(docket.Around))
		if err != nil {
			return changed, err
		}
		is := docket.Match(was.Docket, levels, b.s.o.Now())
		if err := b.s.store.SawDocket(ctx, is); err != nil {
			return changed, err
		}
		is.Looked = was.Looked
		changed = changed || is != was
	}
	return changed, nil
}

// Of levels that are looked through for a docket, one is taken in so long.
const lookEvery = 20 * time.Second

// levels gives the levels of a tank between two times as the sender has them without
// anything learned: the readings are gone through again.
func (b *book) levels(ctx context.Context, n string, from, to time.Time) ([]docket.Point, error) {
	w, err := watch.New(b.s.tanks[n].plain)
	if err != nil {
		return nil, err
	}
	var list []docket.Point
	var last time.Time
	err = b.s.store.Each(ctx, from, to, n, func(r watch.Reading) error {
		l := w.Take(r)
		if l.Time.Sub(last) < lookEvery || l.Fault == watch.Unsettled {
			return nil
		}
		last = l.Time
		list = append(list, docket.Point{Time: l.Time, Level: float64(l.Share), Shown: l.Shown})
		return nil
	})
	return list, err
}

// learn works out what the dockets of a tank say, and applies it.
func (b *book) learn(ctx context.Context, n string) error {
	t := b.s.tanks[n]
	list, err := b.s.store.Dockets(ctx, n)
	if err != nil {
		return err
	}
	if len(list) == 0 {
		b.mu.Lock()
		delete(b.learned, n)
		b.mu.Unlock()
		return b.apply(t, nil)
	}
	var l docket.Learned
	if t.about.Learn == LearnNothing {
		l = docket.Untaught(list)
	} else {
		l = docket.Learn(t.about.Docket, list)
	}
	var c *docket.Correction
	if t.about.Learn != LearnTell {
		c = l.Apply()
	}
	l.Applied = c != nil
	if err := b.apply(t, c); err != nil {
		return err
	}
	b.mu.Lock()
	b.learned[n] = l
	b.mu.Unlock()
	b.s.changes.tell()
	return nil
}
