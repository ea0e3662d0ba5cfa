package history

import (
	"math"

	"gaugewright/internal/watch"
)

// perUnit gives how many steps there are to the unit of a signal, as its readings
// are kept: 0.1 Ω, 1 mV, 0.1 of a converter's count, 0.01 %.
func perUnit(s watch.Signal) float64 {
	switch s {
	case watch.Volt:
		return 1000
	case watch.Percent:
		return 100
	}
	return 10
}

// mostSteps is the largest value that is rounded: below it a float64 holds every
// step exactly.
const mostSteps = 1 << 50

// Steps rounds a value of a signal to the steps in which readings are kept, halves
// away from zero; ok is false for one that isn't finite or is too large, above
// 10¹⁴ steps or so, and has to be kept as it is.
func Steps(s watch.Signal, value float64) (steps int64, ok bool) {
	v := math.Round(value * perUnit(s))
	if !(math.Abs(v) <= mostSteps) {
		return 0, false
	}
	return int64(v), true
}

// Value gives the value of so many steps: the float64 next to the decimal, so that
// rounding it again changes nothing.
func Value(s watch.Signal, steps int64) float64 { return float64(steps) / perUnit(s) }
