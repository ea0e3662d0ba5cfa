package fitted

import (
	"fmt"

	"gaugewright/internal/circuit"
	"gaugewright/internal/watch"
)

// Converter is an input that turns the ohms of a sender into volts and counts: a
// pull-up to a reference voltage, and a converter across the sender.
type Converter struct {
	Input  circuit.Input
	Pullup float64 // Ω
}

// through lets an instrument of ohms take what a converter gives. The ohms of a
// voltage v are R·v/(V − v) less the lead, R the pull-up and V the reference; a
// count is a part of full scale (see [circuit.Input.Counts]).
func through(p *watch.Parts, c Converter) error {
	in := c.Input
	if err := in.Check(); err != nil {
		return err
	}
	if !(c.Pullup > 0) {
		return fmt.Errorf("a pull-up of %g Ω; expected one above 0", c.Pullup)
	}
	if p.Own != watch.Ohm {
		return fmt.Errorf("a pull-up and a converter read ohms, and this sender gives something else")
	}
	full := in.FullScale
	if full == 0 || in.Ratiometric {
		full = in.Reference
	}
	counts := float64(int64(1) << in.Bits)
	p.Reach[watch.Volt].Most = in.Reference
	p.Reach[watch.Count].Most = counts - 1
	p.Into = func(signal watch.Signal, value float64) (float64, bool) {
		if signal == watch.Count {
			value *= full / counts
		}
		part := value / in.Reference
		if !(part < 1) {
			return 0, false // open
		}
		return c.Pullup*part/(1-part) - in.Lead.Mid(), true
	}
	return nil
}
