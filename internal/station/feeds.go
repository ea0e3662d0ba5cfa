package station

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"maps"
	"runtime/debug"
	"slices"
	"strings"
	"sync"
	"time"

	"gaugewright/internal/feed"
	"gaugewright/internal/web"
)

// fed is a feed that runs, and how it stands.
type fed struct {
	feed feed.Feed
	log  *slog.Logger
	now  func() time.Time
	mu   sync.Mutex
	web.FeedState
}

// Up is told by the feed.
func (f *fed) Up(where string) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if !f.FeedState.Up || f.Where != where {
		f.log.Info("a feed is connected", "feed", f.Name, "where", where)
		f.Since = f.now()
	}
	f.FeedState.Up, f.Where, f.Why, f.Again = true, where, "", time.Time{}
}

// Down is told by the feed. The same again is logged once.
func (f *fed) Down(err error, again time.Duration) {
	f.mu.Lock()
	defer f.mu.Unlock()
	text := "the connection ended"
	if err != nil {
		text = err.Error()
	}
	if f.FeedState.Up || f.Why != text {
		f.log.Warn("a feed isn't connected", "feed", f.Name, "error", text, "again_in", again.Round(time.Millisecond))
	}
	if f.FeedState.Up || f.Since.IsZero() {
		f.Since = f.now()
	}
	f.FeedState.Up, f.Why, f.Again = false, text, f.now().Add(again)
}

func (f *fed) state() web.FeedState {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.FeedState
}

// run runs a feed until the context ends, or it has no more to bring. One that
// fails, or panics, takes nothing else with it, and is begun again.
func (f *fed) run(ctx context.Context, to feed.Sink) {
	ctx, done := context.WithCancel(ctx)
	defer done()
	feed.Again(ctx, f, func(ctx context.Context) (err error) {
		defer func() {
			switch p := recover(); {
			case p != nil:
				f.log.Error("a feed broke down", "feed", f.Name, "error", p, "stack", string(debug.Stack()))
				err = fmt.Errorf("it broke down: %v", p)
			case err == nil && ctx.Err() == nil:
				f.ended()
				done()
			}
		}()
		return f.feed.Run(ctx, to, f)
	})
}

// ended notes that a feed has brought all that it had, such as a recording.
func (f *fed) ended() {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.log.Info("a feed has come to its end", "feed", f.Name)
	f.FeedState.Up, f.Why, f.Since, f.Again = false, "it has come to its end", f.now(), time.Time{}
}

// Feeds gives how each feed stands, in the order in which they were built.
func (s *Station) Feeds() []web.FeedState {
	states := make([]web.FeedState, len(s.feeds))
	refused := s.intake.Refusals()
	s.counting.Lock()
	defer s.counting.Unlock()
	for i, f := range s.feeds {
		states[i] = f.state()
		for _, r := range refused {
			if f.brought(r.Source) {
				states[i].Refused = append(states[i].Refused, web.FeedCount{Why: r.Why, N: r.N})
			}
		}
		for source, n := range s.taken {
			if f.brought(source) {
				states[i].Taken += n
			}
		}
	}
	return states
}

// brought says whether a source is this feed's: it may tell several of its own
// apart, below its name.
func (f *fed) brought(source string) bool {
	return source == f.Name || strings.HasPrefix(source, f.Name+"/")
}

// addAll makes feeds of one kind, in the order of their names.
func addAll[C any](s *Station, kind string, configs map[string]C, build func(name string, c C) (feed.Feed, error)) error {
	var faults []error
	for _, n := range slices.Sorted(maps.Keys(configs)) {
		f, err := build(n, configs[n])
		if err != nil {
			faults = append(faults, fmt.Errorf("[%s.%s]: %w", kind, n, err))
			continue
		}
		s.add(f)
	}
	return errors.Join(faults...)
}
