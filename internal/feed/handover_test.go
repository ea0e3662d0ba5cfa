package feed

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"gaugewright/internal/watch"
)

// slow keeps readings after a while, or not at all.
type slow struct {
	mu    sync.Mutex
	takes time.Duration
	fail  int // so many times
	kept  []watch.Reading
	hurry int
}

func (s *slow) Take(_ context.Context, list []watch.Reading) error {
	time.Sleep(s.takes)
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.fail > 0 {
		s.fail--
		return errors.New("no room")
	}
	s.kept = append(s.kept, list...)
	return nil
}
func (s *slow) Later(list []watch.Reading, done func(error)) {
	go func() { done(s.Take(context.Background(), list)) }()
}
func (*slow) Offer(string, []watch.Reading)  {}
func (*slow) Refused(string, string, []byte) {}
func (*slow) Knows(string) bool              { return true }
func (s *slow) Hurry()                       { s.hurry++ }

// A recording of twenty batches isn't held up by a disk that answers after ten
// seconds, but for the room there is; and what fails is handed over again.
func TestHandover(t *testing.T) {
	for name, c := range map[string]struct {
		fail  int
		takes time.Duration // at the most
		told  string
	}{
		"slow":    {0, 31 * time.Second, "[]"},
		"failing": {2, 110 * time.Second, "[no room <nil>]"},
	} {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				s := &slow{takes: 10 * time.Second, fail: c.fail}
				var a Handover
				var told []string
				tell := func(err error, _ time.Duration) { told = append(told, fmt.Sprint(err)) }
				begun := time.Now()
				for n := range 20 {
					list := make([]watch.Reading, 1000)
					for i := range list {
						list[i].Value = float64(1000*n + i)
					}
					if err := a.Hand(t.Context(), s, tell, list); err != nil {
						t.Fatal(err)
					}
				}
				if err := a.Rest(t.Context(), s, tell); err != nil {
					t.Fatal(err)
				}
				if d := time.Since(begun); d > c.takes {
					t.Errorf("it took %v; expected %v at most", d, c.takes)
				}
				seen := map[float64]bool{}
				for _, r := range s.kept {
					seen[r.Value] = true
				}
				if len(s.kept) != 20_000 || len(seen) != 20_000 || s.hurry == 0 {
					t.Errorf("%d kept, %d of them different, hurried %d times", len(s.kept), len(seen), s.hurry)
				}
				if got := fmt.Sprint(told); got != c.told {
					t.Errorf("told %s; expected %s", got, c.told)
				}
			})
		})
	}
	ended, cancel := context.WithCancel(t.Context())
	cancel()
	var a Handover
	if err := a.Hand(ended, &slow{}, nil, make([]watch.Reading, 1)); !errors.Is(err, context.Canceled) {
		t.Errorf("after the end: %v", err)
	}
}
