package station

import (
	"context"
	"errors"
	"fmt"
	"os"
	"slices"
	"sync"
	"time"

	"gaugewright/internal/doors"
	"gaugewright/internal/notice"
	"gaugewright/internal/store/sqlite"
)

// Tried is how a test by one way went.
type Tried struct {
	Way  string
	What string // to whom
	Err  error  // nil: it was taken
}

// TryNotices sends a test by each way of a configuration, or by the one of a name, beside
// the watch itself, which may be running. Brokers are tried by the watch alone, which is
// connected to them. The error says that nothing could be tried.
func TryNotices(ctx context.Context, c Config, o Options, way string) ([]Tried, error) {
	s := &Station{config: c, o: o.settled(), begun: time.Now(), posting: &posting{pace: usualNoticePace}}
	outwards, err := c.outwards()
	if err != nil {
		return nil, err
	}
	for _, w := range outwards {
		book, err := s.bookOf(w.language)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", w.way.Name(), err)
		}
		s.addSender(w.way, book, w.only)
	}
	// Devices stand in the file of the watch, which is there once it has run.
	path := c.path(c.Data)
	if _, err := os.Stat(path); err == nil && c.Push != nil {
		if s.store, err = sqlite.OpenReadings(ctx, path, sqlite.Options{Log: s.o.Log}); err != nil {
			return nil, err
		}
		defer s.store.Close()
		s.passes = doors.NewRegister(s.store)
		if err := s.buildPush(ctx); err != nil {
			return nil, err
		}
	}
	list := s.posting.senders
	if way != "" {
		d, err := s.posting.sender(way)
		if err != nil {
			return nil, err
		}
		list = []*sender{d}
	}
	if len(list) == 0 {
		return nil, errors.New("nobody is told of anything by this configuration; expected a table like [mail.owner], [hook.house] or [push] (docs/notices.md)")
	}
	tried := make([]Tried, len(list))
	now := s.o.Now()
	var all sync.WaitGroup
	for at := range slices.Chunk(list, 8) {
		first := slices.Index(list, at[0])
		for i, d := range at {
			all.Go(func() {
				ctx, done := context.WithTimeout(ctx, s.posting.pace.try)
				defer done()
				n := notice.Trial(fmt.Sprintf("test/%d", now.UnixNano()), now)
				err := d.way.Send(ctx, s.letter(notice.Waiting{Notice: n, Way: d.way.Name(), Queued: now}, d))
				tried[first+i] = Tried{d.way.Name(), d.way.What(), err}
			})
		}
		all.Wait()
	}
	return tried, nil
}
