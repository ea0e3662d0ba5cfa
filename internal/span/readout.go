package span

import (
	"math"

	"gaugewright/internal/quantity"
)

// Readout is what can be keyed into the device that shows the level.
type Readout struct {
	// Step is the step in which ohms, or what else the sender gives, can be keyed
	// in; 0 takes any value. It and the limits are in the unit of the curve's
	// Signal.
	Step quantity.Ohm
	// Lowest and Highest are the least and the largest ohms that can be keyed
	// in; 0 stands for no limit.
	Lowest, Highest quantity.Ohm
}

// NoChoiceError says that no setting meets every constraint: which one can't
// hold, and what the nearest is that can.
type NoChoiceError struct{ Text string }

func (e *NoChoiceError) Error() string { return e.Text }

// up gives the least multiple of step that isn't below v, down the greatest
// not above it; with step 0 v itself. A hair of tolerance keeps 200 from
// becoming 201 because it was reckoned as 200.0000000001.
func (r Readout) up(v float64) float64 {
	if r.Step == 0 {
		return v
	}
	return math.Ceil(v/float64(r.Step)-1e-9) * float64(r.Step)
}

func (r Readout) down(v float64) float64 {
	if r.Step == 0 {
		return v
	}
	return math.Floor(v/float64(r.Step)+1e-9) * float64(r.Step)
}
