package app

import (
	"sync"
	"time"
)

// fastClock is a clock that stands until it is started, and then runs faster than
// this machine's.
type fastClock struct {
	speed float64

	mu    sync.Mutex
	from  time.Time // what it says when it is started
	begun time.Time // of this machine's clock; zero: it stands
}

func newFastClock(from time.Time, speed float64) *fastClock {
	return &fastClock{speed: speed, from: from.Round(0)} // without this machine's own count
}

// start has it run.
func (c *fastClock) start() {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.begun = time.Now()
}

// Now is what it says.
func (c *fastClock) Now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.begun.IsZero() {
		return c.from
	}
	return c.from.Add(time.Duration(float64(time.Since(c.begun)) * c.speed))
}
