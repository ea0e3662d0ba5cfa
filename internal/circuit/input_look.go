package circuit

import (
	"fmt"
	"math"

	"gaugewright/internal/finding"
)

// Look tells what a pull-up of one's own would do over a span, as Choose does of
// the best one. One that doesn't keep the limits is a bad finding; at a fuel or
// gas tank too.
func (in Input) Look(pullup float64, span Span) (Choice, error) {
	if err := in.Check(); err != nil {
		return Choice{}, err
	}
	if err := span.Check(); err != nil {
		return Choice{}, err
	}
	if !(pullup >= inputLeast && pullup <= inputMost) || math.IsNaN(pullup) {
		return Choice{}, fmt.Errorf("a pull-up of %g Ω; expected %g to %g Ω", pullup, inputLeast, inputMost)
	}
	candidate, ok := in.candidate(pullup, span)
	c := Choice{Candidate: candidate, WorstAt: span.Points(span.Most()), Tried: 1, Bound: in.bound(span)}
	lead := in.Lead.Mid()
	c.CurrentEmpty = in.Reference / (pullup + lead + span.Empty)
	c.CurrentFull = in.Reference / (pullup + lead + span.Full)
	c.SenderPower, c.PullupPower = in.hottest(pullup, span), in.Reference*in.Reference/pullup
	var err error
	if c.Marks, err = in.Doubts(pullup, span, 0, 25, 50, 75, 100); err != nil {
		return Choice{}, err
	}
	c.Findings = in.findings(c)
	if !ok {
		c.Refused = 1
		c.Findings = append(c.Findings, finding.Finding{Kind: "limits", Weight: finding.Bad, Text: fmt.Sprintf(
			"this resistor doesn't keep the limits: up to %.3g mA where %.3g mA may flow, %.3g mW in the sender where %.3g may be, and the span's larger end at %d counts where an open sender gives %d",
			c.Shorted*1e3, in.current()*1e3, c.SenderPower*1e3, in.power()*1e3, in.Counts(pullup, span.Most()), in.Open())})
	}
	return c, nil
}
