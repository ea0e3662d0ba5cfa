package station

import (
	"time"
)

// idle is how long the committing goroutine rests at most before it goes round
// again, so that it can be seen to go round.
const idle = time.Second

// commits keeps what waits, until the intake is closed and nothing waits.
func (in *Intake) commits() {
	defer close(in.stopped)
	var last time.Time
	var failures int
	timer := time.NewTimer(idle)
	defer timer.Stop()
	for {
		in.beat.Store(int64(time.Since(in.begun)))
		in.mu.Lock()
		if in.closed && in.queue.calls() == 0 {
			in.mu.Unlock()
			return
		}
		wait := in.due(last, failures)
		in.mu.Unlock()
		if wait <= 0 {
			if err := in.commit(); err != nil {
				failures++
			} else {
				failures = 0
			}
			last = time.Now()
			continue
		}
		timer.Reset(min(wait, idle))
		select {
		case <-timer.C:
		case <-in.wake:
		}
	}
}

// due is how long to wait before the next commit. The lock is held.
func (in *Intake) due(last time.Time, failures int) time.Duration {
	since := time.Since(last)
	n := in.queue.readings
	switch {
	case in.queue.calls() == 0:
		return idle
	case in.closed:
		return 0
	case failures > 0:
		return min(in.c.Retry<<min(failures-1, 10), longestRetry*in.c.Retry) - since
	case last.IsZero(), in.soon, n >= in.many(), in.hurried && n >= min(hurriedMany, in.many()):
		return 0
	case in.hurried:
		return min(in.c.Every/hurriedPart, hurriedMost) - since
	}
	return in.c.Every - since
}

// commit keeps what waits. Where that can't be, it goes on waiting, unless it is
// the end.
func (in *Intake) commit() error {
	in.mu.Lock()
	calls, readings := in.queue.take(in.batch, commitMost)
	in.batch = readings
	in.hurried = false
	in.mu.Unlock()
	var err error
	if len(readings) > 0 {
		err = in.c.Keep.Keep(readings)
	}
	changed := in.note(len(readings), err)
	if err == nil && len(readings) > 0 && in.c.Kept != nil {
		in.c.Kept(readings)
	}
	if changed && in.c.Stands != nil {
		in.c.Stands(in.State().Waiting, err)
	}
	in.mu.Lock()
	closed := in.closed
	in.mu.Unlock()
	if err != nil && !closed {
		in.mu.Lock()
		in.queue.writing = 0
		in.mu.Unlock()
		return err
	}
	for i := range calls { // nobody else touches those that are being written
		switch c := &calls[i]; {
		case c.done != nil:
			c.done(err)
		case err != nil:
			in.mu.Lock()
			in.loses(c.source, len(c.readings))
			in.mu.Unlock()
		}
	}
	clear(in.batch)
	if cap(in.batch) > manyWait {
		in.batch = nil
	}
	in.mu.Lock()
	defer in.mu.Unlock()
	in.queue.written()
	close(in.room)
	in.room = make(chan struct{})
	return nil
}
