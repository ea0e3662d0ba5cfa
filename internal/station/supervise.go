package station

import (
	"context"
	"fmt"
	"runtime/debug"
	"time"

	"gaugewright/internal/history"
)

// keepGoing runs something until the context ends. Where it breaks down, that is
// told, and it is begun again after a while: it takes nothing else with it. (The
// intake isn't run by this. Where it breaks down the program ends, and is started
// again by whoever looks after it: what it holds can't be trusted any more.)
func (s *Station) keepGoing(ctx context.Context, what string, f func(context.Context) error) {
	s.running.Go(func() {
		for pause := s.pace.again; ctx.Err() == nil; pause = min(2*pause, time.Minute) {
			begun := time.Now()
			err := guarded(ctx, f)
			if ctx.Err() != nil || err == nil {
				return
			}
			if time.Since(begun) > time.Minute {
				pause = s.pace.again
			}
			s.o.Log.Error("a part of the watch broke down and is begun again", "part", what, "error", err, "after", pause)
			s.itself(history.Repaired, fmt.Sprintf("%s broke down and was begun again: %v.", what, err))
			s.noted(fmt.Sprintf("%s broke down and was begun again: %v.", what, err))
			select {
			case <-ctx.Done():
			case <-time.After(pause):
			}
		}
	})
}

// guarded turns a panic into an error.
func guarded(ctx context.Context, f func(context.Context) error) (err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("%v (%s)", p, firstLines(debug.Stack()))
		}
	}()
	return f(ctx)
}

// firstLines is where a panic came from, for the log: not all of a stack.
func firstLines(stack []byte) string {
	const enough = 1500
	return string(stack[:min(len(stack), enough)])
}
