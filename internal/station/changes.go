package station

import "sync"

// changes wakes whoever waits for the next change.
type changes struct {
	mu      sync.Mutex
	waiting chan struct{}
}

// next gives a channel that is closed at the next change.
func (c *changes) next() <-chan struct{} {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.waiting == nil {
		c.waiting = make(chan struct{})
	}
	return c.waiting
}

// tell wakes those who wait.
func (c *changes) tell() {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.waiting != nil {
		close(c.waiting)
		c.waiting = nil
	}
}
