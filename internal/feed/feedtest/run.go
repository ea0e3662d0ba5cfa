package feedtest

import (
	"context"
	"sync"
	"testing"
	"time"

	"gaugewright/internal/feed"
)

// New is the function of that name of a feed's package, for its configuration.
type New[C any] func(name string, c C) (feed.Feed, error)

// Running makes a feed of the name "bay" and runs it until the test ends, or
// stop is called.
func Running[C any](t testing.TB, build New[C], c C) (s *Tape, stop func()) {
	t.Helper()
	f, err := build("bay", c)
	if err != nil {
		t.Fatal(err)
	}
	s = &Tape{}
	return s, s.Run(t, f)
}

// Run runs a feed until the test ends, or stop is called. The feed has to end
// within a second, and without an error.
func (s *Tape) Run(t testing.TB, f feed.Feed) (stop func()) {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- f.Run(ctx, s, s) }()
	stop = sync.OnceFunc(func() {
		cancel()
		begun := time.Now()
		select {
		case err := <-ended:
			if err != nil {
				t.Error(err)
			}
			if d := time.Since(begun); d > time.Second {
				t.Errorf("%s took %v to end", f.Name(), d)
			}
		case <-time.After(5 * time.Second):
			t.Errorf("%s doesn't end", f.Name())
		}
	})
	t.Cleanup(stop)
	return stop
}
