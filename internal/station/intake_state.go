package station

import (
	"cmp"
	"maps"
	"slices"
	"time"

	"gaugewright/internal/web"
)

// IntakeState is how the intake stands.
type IntakeState struct {
	Kept    uint64 // readings
	Commits uint64
	Failed  uint64 // commits that failed
	Waiting int    // readings
	// Failing is why the last commit failed, nil where it didn't, and Since is when
	// the first of an unbroken row of failures was.
	Failing error
	Since   time.Time
}

// note notes how a commit went, logs where that changed, and says whether it did.
func (in *Intake) note(n int, err error) (changed bool) {
	in.mu.Lock()
	defer in.mu.Unlock()
	s := &in.state
	switch {
	case err != nil && s.Failing == nil:
		s.Since, changed = time.Now(), true
		in.c.Log.Error("readings can't be kept, and aren't acknowledged until they can", "error", err)
	case err == nil && n > 0 && s.Failing != nil:
		in.c.Log.Info("readings are kept again", "after", time.Since(s.Since).Round(time.Second))
		s.Since, changed = time.Time{}, true
	}
	switch {
	case err != nil:
		s.Failing = err
		s.Failed++
	case n > 0:
		s.Failing = nil
		s.Kept += uint64(n)
		s.Commits++
	}
	return changed
}

// State says how the intake stands.
func (in *Intake) State() IntakeState {
	in.mu.Lock()
	defer in.mu.Unlock()
	s := in.state
	s.Waiting = in.queue.readings
	return s
}

// Lost gives how many readings were lost for want of room, by their source.
func (in *Intake) Lost() []web.FeedCount {
	in.mu.Lock()
	lost := maps.Clone(in.lost)
	in.mu.Unlock()
	list := make([]web.FeedCount, 0, len(lost))
	for source, n := range lost {
		list = append(list, web.FeedCount{Why: "readings of " + source + " that couldn't be kept on disk", N: n})
	}
	slices.SortFunc(list, func(a, b web.FeedCount) int { return cmp.Or(cmp.Compare(b.N, a.N), cmp.Compare(a.Why, b.Why)) })
	return list
}

// turned is how long ago the committing goroutine last went round.
func (in *Intake) turned() time.Duration { return time.Since(in.begun) - time.Duration(in.beat.Load()) }
