package station

import "time"

// IntakeState is how the intake stands.
type IntakeState struct {
	Kept    uint64 // readings
	Commits uint64
	Failed  uint64 // readings that couldn't be kept; their source was told so
	Waiting int    // readings
	// Failing is why the last commit failed, nil where it didn't, and Since is when
	// the first of an unbroken row of failures was.
	Failing error
	Since   time.Time
}

// note notes how a commit went, and logs where that changed.
func (in *Intake) note(n int, err error) {
	in.mu.Lock()
	defer in.mu.Unlock()
	s := &in.state
	switch {
	case err != nil && s.Failing == nil:
		s.Since = time.Now()
		in.c.Log.Error("readings can't be kept, and aren't acknowledged until they can", "error", err)
	case err == nil && s.Failing != nil:
		in.c.Log.Info("readings are kept again", "after", time.Since(s.Since).Round(time.Second), "not kept", s.Failed)
		s.Since = time.Time{}
	}
	if s.Failing = err; err != nil {
		s.Failed += uint64(n)
		return
	}
	s.Kept += uint64(n)
	s.Commits++
}

// State says how the intake stands.
func (in *Intake) State() IntakeState {
	in.mu.Lock()
	defer in.mu.Unlock()
	s := in.state
	s.Waiting = len(in.next.readings)
	return s
}
