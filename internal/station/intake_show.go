package station

import (
	"sync"

	"gaugewright/internal/watch"
)

// shower shows readings as they come, from one goroutine: those that come while
// it is at work are shown together, by their times.
type shower struct {
	show func([]watch.Reading)
	most int

	mu      sync.Mutex
	wait    sync.Cond // for room, and for something to show
	list    []watch.Reading
	busy    bool // some are being shown
	ended   bool
	stopped chan struct{}
}

func (s *shower) begin(show func([]watch.Reading), most int) {
	s.show, s.most, s.stopped = show, most, make(chan struct{})
	s.wait.L = &s.mu
	if show == nil {
		close(s.stopped)
		return
	}
	go s.run()
}

// put has readings shown. What is shown takes no disk and so no time to speak of;
// who brings more than can be shown waits for it, and is slowed down by that.
func (s *shower) put(readings []watch.Reading) {
	if s.show == nil || len(readings) == 0 {
		return
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	for len(s.list) > 0 && len(s.list)+len(readings) > s.most && !s.ended {
		s.wait.Wait()
	}
	s.list = append(s.list, readings...)
	s.wait.Broadcast()
}

func (s *shower) run() {
	defer close(s.stopped)
	var o order
	var spare []watch.Reading
	for {
		s.mu.Lock()
		s.busy = false
		for len(s.list) == 0 && !s.ended {
			s.wait.Wait()
		}
		if len(s.list) == 0 {
			s.mu.Unlock()
			return
		}
		list := s.list
		s.list, s.busy = spare[:0], true
		s.wait.Broadcast()
		s.mu.Unlock()
		s.show(o.put(list))
		clear(list)
		if spare = list; cap(spare) > manyWait {
			spare = nil
		}
	}
}

// end shows what is left.
func (s *shower) end() {
	s.mu.Lock()
	s.ended = true
	s.wait.Broadcast()
	s.mu.Unlock()
	<-s.stopped
}
