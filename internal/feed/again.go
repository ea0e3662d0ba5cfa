package feed

import (
	"context"
	"math/rand/v2"
	"time"
)

// Waits of [Again].
const (
	FirstWait = time.Second
	MostWait  = time.Minute
)

// Waits are how long to wait between one try and the next: the first time, and
// at most. The zero value waits as [Again] does.
type Waits struct{ First, Most time.Duration }

// Again calls connect until the context ends, and waits between one try and the
// next: a second at first, twice as long each time up to a minute, and each
// drawn between half of it and all of it, so that many who lost the same server
// don't all come back at once. A connection that held for MostWait begins anew.
// connect returns when the connection has ended; the error is told.
func Again(ctx context.Context, tell Teller, connect func(context.Context) error) {
	Waits{}.Again(ctx, tell, connect)
}

// Again is the function [Again] with waits of one's own.
func (w Waits) Again(ctx context.Context, tell Teller, connect func(context.Context) error) {
	if w.First <= 0 {
		w.First = FirstWait
	}
	if w.Most <= 0 {
		w.Most = MostWait
	}
	wait := w.First
	for ctx.Err() == nil {
		begun := time.Now()
		err := connect(ctx)
		if ctx.Err() != nil {
			return
		}
		if time.Since(begun) >= w.Most {
			wait = w.First
		}
		pause := wait/2 + rand.N(max(wait/2, 1))
		tell.Down(err, pause)
		select {
		case <-ctx.Done():
			return
		case <-time.After(pause):
		}
		wait = min(2*wait, w.Most)
	}
}
