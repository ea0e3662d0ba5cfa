package can

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"gaugewright/internal/watch"
)

// tape is a sink and a teller that keep what they are told.
type tape struct {
	mu       sync.Mutex
	tanks    []string
	readings []watch.Reading
	refused  map[string]int
	samples  []string
	told     []string
	batches  int
	full     int // so many more times nothing can be kept
}

func (s *tape) Take(_ context.Context, list []watch.Reading) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.full > 0 {
		s.full--
		return fmt.Errorf("no room on the disk")
	}
	s.batches++
	s.readings = append(s.readings, list...)
	return nil
}

func (s *tape) Later(list []watch.Reading, done func(error)) {
	done(s.Take(context.Background(), list))
}

func (s *tape) Refused(source, why string, sample []byte) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.refused == nil {
		s.refused = map[string]int{}
	}
	s.refused[why]++
	s.samples = append(s.samples, string(sample))
}

func (s *tape) Knows(tank string) bool { return slices.Contains(s.tanks, tank) }

func (s *tape) Up(where string) { s.tell("up " + where) }
func (s *tape) Down(err error, again time.Duration) {
	s.tell(fmt.Sprintf("down %v", err))
}

func (s *tape) tell(words string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.told = append(s.told, words)
}

// taken is how many readings have been kept.
func (s *tape) taken() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return len(s.readings)
}

// values are the readings as text: tank, source, value or what is said instead.
func (s *tape) values() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	var list []string
	for _, r := range s.readings {
		value := fmt.Sprintf("%.4g%%", r.Value)
		if r.Said != watch.Measured || r.Signal != watch.Percent {
			value = [...]string{"?", "none", "broken"}[r.Said]
		}
		list = append(list, fmt.Sprintf("%s %s %s", r.Tank, r.Source, value))
	}
	return strings.Join(list, ", ")
}

func (s *tape) count(t *testing.T, why string, want int) {
	t.Helper()
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.refused[why] != want {
		t.Errorf("%q counted %d times, expected %d; all: %v", why, s.refused[why], want, s.refused)
	}
}

func (s *tape) all(t *testing.T, want string) {
	t.Helper()
	if got := s.values(); got != want {
		t.Errorf("readings\n%s\nexpected\n%s", got, want)
	}
}
