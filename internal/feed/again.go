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

// Again calls connect until the context ends, and waits between one try and the
// next: a second at first, twice as long each time up to a minute, and each
// drawn between half of it and all of it, so that many who lost the same server
// don't all come back at once. A connection that held for MostWait begins anew.
// connect returns when the connection has ended; the error is told.
func Again(ctx context.Context, tell Teller, connect func(context.Context) error) {
	wait := FirstWait
	for ctx.Err() == nil {
		begun := time.Now()
		err := connect(ctx)
		if ctx.Err() != nil {
			return
		}
		if time.Since(begun) >= MostWait {
			wait = FirstWait
		}
		pause := wait/2 + rand.N(wait/2)
		tell.Down(err, pause)
		select {
		case <-ctx.Done():
			return
		case <-time.After(pause):
		}
		wait = min(2*wait, MostWait)
	}
}
