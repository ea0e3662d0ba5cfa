package lines

import (
	"context"
	"errors"
	"sync"
	"testing"
	"time"

	"gaugewright/internal/watch"
)

// tape keeps what a feed says, and may refuse to keep it.
type tape struct {
	mu      sync.Mutex
	taken   []watch.Reading
	refused map[string]int
	samples map[string]string
	ups     int
	downs   []time.Duration
	lost    error
	full    bool
	changed chan struct{}
}

func newTape() *tape {
	return &tape{refused: map[string]int{}, samples: map[string]string{}, changed: make(chan struct{}, 1)}
}

func (s *tape) do(f func()) {
	s.mu.Lock()
	f()
	s.mu.Unlock()
	select {
	case s.changed <- struct{}{}:
	default:
	}
}

func (s *tape) Take(ctx context.Context, r []watch.Reading) (err error) {
	s.do(func() {
		if s.full {
			err = errors.New("no space left")
			return
		}
		s.taken = append(s.taken, r...)
	})
	return err
}
func (s *tape) Later(r []watch.Reading, done func(error)) { done(s.Take(context.Background(), r)) }
func (s *tape) Refused(source, why string, sample []byte) {
	s.do(func() { s.refused[why]++; s.samples[why] = string(sample) })
}
func (s *tape) Knows(tank string) bool { return tank != "unknown" }
func (s *tape) Up(where string)        { s.do(func() { s.ups++ }) }
func (s *tape) Down(err error, again time.Duration) {
	s.do(func() { s.downs = append(s.downs, again); s.lost = err })
}

// wait waits until what the tape has is enough.
func (s *tape) wait(t *testing.T, what string, enough func() bool) {
	t.Helper()
	for end := time.After(8 * time.Second); ; {
		s.mu.Lock()
		done := enough()
		s.mu.Unlock()
		if done {
			return
		}
		select {
		case <-s.changed:
		case <-end:
			s.mu.Lock()
			defer s.mu.Unlock()
			t.Fatalf("no %s; readings %+v, refused %v, lost %v", what, s.taken, s.refused, s.lost)
		}
	}
}

// running runs a feed until the test ends, or stop is called.
func running(t *testing.T, c Config) (s *tape, stop func()) {
	t.Helper()
	f, err := New("bay", c)
	if err != nil {
		t.Fatal(err)
	}
	return run(t, f.(*Feed))
}

func run(t *testing.T, f *Feed) (s *tape, stop func()) {
	s = newTape()
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
				t.Errorf("took %v to end", d)
			}
		case <-time.After(5 * time.Second):
			t.Error("doesn't end")
		}
	})
	t.Cleanup(stop)
	return s, stop
}
