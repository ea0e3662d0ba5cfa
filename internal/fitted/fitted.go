package fitted

import (
	"gaugewright/internal/job"
	"gaugewright/internal/watch"
)

// Of makes the instrument of a tank.
func Of(t *job.Tank) (*watch.Instrument, error) { panic("not written yet") }
