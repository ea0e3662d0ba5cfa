package feed

import (
	"context"
	"sync"
	"time"

	"gaugewright/internal/watch"
)

// handoverMost is how many readings may be on their way to the disk.
const handoverMost = 8192

// Handover hands over the readings of a recording, which can wait but needn't: some
// thousand may be on their way to the disk at once. What can't be kept is handed
// over again, in order, until it can. The zero value is ready; it is for one
// goroutine.
type Handover struct {
	mu     sync.Mutex
	wake   chan struct{} // closed when one is done; nil: nobody waits
	away   int           // readings on their way
	failed [][]watch.Reading
	err    error // of the first of these
}

// Hand hands readings over. Where too many are on their way it waits; where some
// couldn't be kept it tells so, and waits until they are. The error is the
// context's.
func (a *Handover) Hand(ctx context.Context, to Sink, tell func(err error, again time.Duration), list []watch.Reading) error {
	if len(list) == 0 {
		return ctx.Err()
	}
	if err := a.until(ctx, to, tell, handoverMost-len(list)); err != nil {
		return err
	}
	a.mu.Lock()
	a.away += len(list)
	a.mu.Unlock()
	to.Later(list, func(err error) {
		a.mu.Lock()
		defer a.mu.Unlock()
		a.away -= len(list)
		if err != nil {
			if len(a.failed) == 0 {
				a.err = err
			}
			a.failed = append(a.failed, list)
		}
		if a.wake != nil {
			close(a.wake)
			a.wake = nil
		}
	})
	return ctx.Err()
}

// Rest waits until all is kept. The error is the context's.
func (a *Handover) Rest(ctx context.Context, to Sink, tell func(err error, again time.Duration)) error {
	return a.until(ctx, to, tell, 0)
}

// until waits until at most so many readings are on their way, and none failed.
func (a *Handover) until(ctx context.Context, to Sink, tell func(err error, again time.Duration), most int) error {
	for ctx.Err() == nil {
		a.mu.Lock()
		failed, err := a.failed, a.err
		if a.away > 0 && (len(failed) > 0 || a.away > most) {
			wake := make(chan struct{})
			a.wake = wake
			a.mu.Unlock()
			Hurry(to)
			select {
			case <-wake:
			case <-ctx.Done():
			}
			continue
		}
		a.failed, a.err = nil, nil
		a.mu.Unlock()
		if len(failed) == 0 {
			return nil
		}
		for _, list := range failed {
			if err := again(ctx, to, tell, err, list); err != nil {
				return err
			}
			err = nil
		}
		tell(nil, 0)
	}
	return ctx.Err()
}

// again hands readings over until they are kept. why says why they weren't the
// first time, nil where they weren't tried since.
func again(ctx context.Context, to Sink, tell func(err error, again time.Duration), why error, list []watch.Reading) error {
	for wait := FirstWait; ctx.Err() == nil; wait = min(2*wait, MostWait) {
		if why != nil {
			tell(why, wait)
			select {
			case <-ctx.Done():
				return ctx.Err()
			case <-time.After(wait):
			}
		}
		if why = to.Take(ctx, list); why == nil {
			return nil
		}
	}
	return ctx.Err()
}
