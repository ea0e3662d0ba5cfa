package web

import (
	"sync"

	"gaugewright/internal/job"
)

// pulse wakes the pages that look at a job when it has changed. It carries
// nothing: who is woken asks the store.
type pulse struct {
	mu      sync.Mutex
	waiting map[job.ID]chan struct{}
}

// next gives a channel that is closed at the job's next change in this process.
func (p *pulse) next(id job.ID) <-chan struct{} {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.waiting == nil {
		p.waiting = map[job.ID]chan struct{}{}
	}
	c, ok := p.waiting[id]
	if !ok {
		c = make(chan struct{})
		p.waiting[id] = c
	}
	return c
}

func (p *pulse) beat(id job.ID) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if c, ok := p.waiting[id]; ok {
		close(c)
		delete(p.waiting, id)
	}
}
