package watch

import (
	"fmt"
	"math"

	"gaugewright/internal/gauge"
	"gaugewright/internal/quantity"
)

// Ends makes the instrument of a sender that is known by its end values alone:
// the ohms at empty and at full with a straight line between them, and no doubt
// of its own. The capacity is 0 where it isn't known.
func Ends(lower, upper quantity.Ohm, capacity quantity.CubicMetre) (*Instrument, error) {
	l, u := float64(lower), float64(upper)
	switch {
	case !(l >= 0 && u >= 0) || math.IsInf(l, 0) || math.IsInf(u, 0):
		return nil, fmt.Errorf("end values of %g Ω at empty and %g Ω at full; expected 0 Ω or more", l, u)
	case math.Abs(u-l) < 1e-3:
		return nil, fmt.Errorf("end values of %g Ω at empty and %g Ω at full; expected two that differ", l, u)
	case !(capacity >= 0) || math.IsInf(float64(capacity), 0):
		return nil, fmt.Errorf("a capacity of %g m³; expected above 0, or 0 where it isn't known", float64(capacity))
	}
	p := Parts{
		Mark:  func(ohm float64) (mark, uMark float64, ok bool) { return (ohm - l) / (u - l), 0, true },
		Least: min(l, u), Most: max(l, u), High: 1,
	}
	if capacity > 0 {
		p.Volume = func(s quantity.Share) gauge.Figure { return gauge.Figure{Mid: float64(s) * float64(capacity)} }
	}
	return NewInstrument(p)
}
