package feedtest

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"gaugewright/internal/feed"
	"gaugewright/internal/watch"
)

// Unknown is the tank that no tape without a list of tanks knows.
const Unknown = "unknown"

// Always is a [Tape.Full] that doesn't run out.
const Always = math.MaxInt

// waits is how long [Tape.Wait] waits.
const waits = 8 * time.Second

var _ interface {
	feed.Sink
	feed.Teller
} = (*Tape)(nil)

// Tape is a [feed.Sink] and a [feed.Teller] that keeps what it is told. Its
// fields are read and written under its lock as long as a feed runs; its methods
// take the lock themselves, but for Last. The zero value is ready.
type Tape struct {
	sync.Mutex
	Tanks []string                   // what is watched; nil is every tank but Unknown
	Say   func(watch.Reading) string // a reading in words, for Text
	Full  int                        // so many more times nothing can be kept

	Readings []watch.Reading // in the order in which they came
	Batches  int             // how many times readings were kept
	Lacked   map[string]int  // readings that were offered and couldn't be kept, by source
	Counts   map[string]int  // what was refused, by reason
	Samples  []string        // of what was refused, in order
	Told     []string        // "up WHERE" and "down WHY", in order
	Ups      int
	Downs    []time.Duration // how long until the next try, each time
	Lost     error           // why the last time
}

// Take keeps readings, unless the tape is full.
func (s *Tape) Take(_ context.Context, list []watch.Reading) error {
	s.Lock()
	defer s.Unlock()
	if s.Full > 0 {
		if s.Full != Always {
			s.Full--
		}
		return errors.New("no room on the disk")
	}
	s.Batches++
	s.Readings = append(s.Readings, list...)
	return nil
}

// Later is Take, done at once.
func (s *Tape) Later(list []watch.Reading, done func(error)) {
	done(s.Take(context.Background(), list))
}

// Offer is Take; what can't be kept is counted as lost.
func (s *Tape) Offer(source string, list []watch.Reading) {
	if len(list) == 0 || s.Take(context.Background(), list) == nil {
		return
	}
	s.Do(func() {
		if s.Lacked == nil {
			s.Lacked = map[string]int{}
		}
		s.Lacked[source] += len(list)
	})
}

// Refused counts what is refused.
func (s *Tape) Refused(_, why string, sample []byte) {
	s.Lock()
	defer s.Unlock()
	if s.Counts == nil {
		s.Counts = map[string]int{}
	}
	s.Counts[why]++
	s.Samples = append(s.Samples, string(sample))
}

// Knows says whether a tank is watched.
func (s *Tape) Knows(tank string) bool {
	if s.Tanks == nil {
		return tank != Unknown
	}
	return slices.Contains(s.Tanks, tank)
}

// Up notes that a feed is connected.
func (s *Tape) Up(where string) {
	s.Do(func() { s.Ups++; s.Told = append(s.Told, "up "+where) })
}

// Down notes that a feed has lost its connection.
func (s *Tape) Down(err error, again time.Duration) {
	s.Do(func() {
		s.Downs, s.Lost = append(s.Downs, again), err
		s.Told = append(s.Told, fmt.Sprintf("down %v", err))
	})
}

// Do does something under the lock.
func (s *Tape) Do(f func()) {
	s.Lock()
	defer s.Unlock()
	f()
}

// Wait waits until what the tape has is enough, which is asked under the lock.
// After 8 s without it the test ends.
func (s *Tape) Wait(t testing.TB, what string, enough func() bool) {
	t.Helper()
	for end := time.Now().Add(waits); ; time.Sleep(2 * time.Millisecond) {
		done := false
		s.Do(func() { done = enough() })
		if done {
			return
		}
		if time.Now().After(end) {
			s.Lock()
			defer s.Unlock()
			t.Fatalf("no %s after %v; readings %+v, refused %v, told %q", what, waits, s.Readings, s.Counts, s.Told)
		}
	}
}

// Len is how many readings have been kept.
func (s *Tape) Len() (n int) {
	s.Do(func() { n = len(s.Readings) })
	return n
}

// Heard is a copy of all that was told.
func (s *Tape) Heard() (list []string) {
	s.Do(func() { list = slices.Clone(s.Told) })
	return list
}

// Refusals is a copy of the counts.
func (s *Tape) Refusals() (counts map[string]int) {
	s.Do(func() { counts = maps.Clone(s.Counts) })
	return counts
}

// Last are the last readings of each tank. The caller holds the lock, or the
// feed has ended.
func (s *Tape) Last() map[string]watch.Reading {
	m := map[string]watch.Reading{}
	for _, r := range s.Readings {
		m[r.Tank] = r
	}
	return m
}

// Text is every reading as Say puts it.
func (s *Tape) Text() string {
	s.Lock()
	defer s.Unlock()
	var list []string
	for _, r := range s.Readings {
		list = append(list, s.Say(r))
	}
	return strings.Join(list, ", ")
}

// All expects the readings, as Say puts them.
func (s *Tape) All(t testing.TB, want string) {
	t.Helper()
	if got := s.Text(); got != want {
		t.Errorf("readings\n%s\nexpected\n%s", got, want)
	}
}

// Count expects that something was refused so many times for a reason.
func (s *Tape) Count(t testing.TB, why string, want int) {
	t.Helper()
	if all := s.Refusals(); all[why] != want {
		t.Errorf("%q counted %d times, expected %d; all: %v", why, all[why], want, all)
	}
}

// Counted expects that this was refused, by reason, and nothing else.
func (s *Tape) Counted(t testing.TB, want map[string]int) {
	t.Helper()
	all := s.Refusals()
	for why, n := range want {
		s.Count(t, why, n)
		delete(all, why)
	}
	if len(all) > 0 {
		t.Errorf("refused besides: %v", all)
	}
}
