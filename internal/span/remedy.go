package span

import (
	"fmt"

	"gaugewright/internal/curve"
	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
)

// Remedy says what would help where two end values leave more error than a
// fitter accepts: a table, if the sender or the tank is bent; nothing that can be keyed in,
// if it's the sender's own scatter, steps or dead travel. It says nothing where
// the error is within DefaultTolerance.
func Remedy(c *curve.Curve, s scale.Scale, choice Choice) []finding.Finding {
	if _, two := choice.Setting.(Ends); !two || choice.Worst <= DefaultTolerance {
		return nil
	}
	worst := quantity.Digits(float64(choice.Worst)*100, 1)
	const most = 12
	objective, why := choice.Objective, "with what is asked of them"
	switch objective {
	case Worst, "":
		objective, why = Worst, bentBy(c, s, choice)
	case RMS: // a table for the worst error is found sooner, and for certain
		objective = Worst
	}
	for points := 3; points <= most; points++ {
		table, err := BestTableFor(c, s, TableReadout{Points: points}, Margin{Ohm: choice.Margin}, objective)
		if err != nil {
			return nil
		}
		if table.Worst <= DefaultTolerance || (points == most && table.Worst < 0.6*choice.Worst) {
			return []finding.Finding{{Kind: "remedy", Weight: finding.Doubt, Text: fmt.Sprintf(
				"Two end values leave up to %s points of error, %s. A readout that takes a table of %d points brings it down to %s.",
				worst, why, len(table.Setting.(Table)), quantity.Digits(float64(table.Worst)*100, 1))}}
		}
	}
	return []finding.Finding{{Kind: "remedy", Weight: finding.Doubt, Text: fmt.Sprintf(
		"Up to %s points of error stay, and a table would hardly help: it is the sender's own hysteresis, steps, dead travel or scatter.", worst)}}
}

// bentBy says whose bend it is that two end values can't follow: the sender's,
// the tank's, or both. The sender's own is what the best two end values leave
// on a scale that is straight between the same marks.
func bentBy(c *curve.Curve, s scale.Scale, choice Choice) string {
	const sender = "because the sender is bent"
	if s.Bend() < 0.005 {
		return sender
	}
	empty, full := s.Ends()
	straight, err := scale.New(scale.Mark, 1, empty, full, false)
	if err != nil {
		return sender
	}
	own, err := BestEnds(c, straight, Readout{}, Margin{Ohm: choice.Margin})
	switch {
	case err == nil && own.Worst < choice.Worst/4:
		return "because of the shape of the tank"
	case err == nil && s.Bend() < choice.Worst/4:
		return sender
	}
	return "because both the tank and the sender are bent"
}
