package feed_test

import (
	"context"
	"errors"
	"testing"
	"testing/synctest"
	"time"

	"gaugewright/internal/feed"
)

// pauses remembers how long was to be waited.
type pauses struct{ list []time.Duration }

func (p *pauses) Up(string)                         {}
func (p *pauses) Down(_ error, pause time.Duration) { p.list = append(p.list, pause) }

// Waits double up to the most, each drawn from its upper half; a connection that
// held begins anew; the context ends it at once. Time is the test's own.
func TestWaits(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		ctx, cancel := context.WithCancel(t.Context())
		var p pauses
		tries := 0
		last := time.Now()
		feed.Waits{First: time.Second, Most: 10 * time.Second}.Again(ctx, &p, func(context.Context) error {
			if tries > 0 {
				if waited := time.Since(last); waited != p.list[tries-1] {
					t.Errorf("try %d after %v, said %v", tries, waited, p.list[tries-1])
				}
			}
			switch tries++; tries {
			case 7:
				time.Sleep(10 * time.Second)
			case 9:
				cancel()
			}
			last = time.Now()
			return errors.New("nobody there")
		})
		wholes := []time.Duration{1, 2, 4, 8, 10, 10, 1, 2}
		if len(p.list) != len(wholes) {
			t.Fatalf("waited %v", p.list)
		}
		for i, whole := range wholes {
			if whole *= time.Second; p.list[i] < whole/2 || p.list[i] >= whole {
				t.Errorf("wait %d is %v, expected %v to %v", i, p.list[i], whole/2, whole)
			}
		}
	})
}
