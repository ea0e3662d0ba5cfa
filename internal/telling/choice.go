package telling

import (
	"fmt"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
	"gaugewright/internal/span"
)

// Numbers is what to key in, and what it means and is worth.
type Numbers struct {
	// Lower and Upper are the values at 0 % and at 100 %, in Unit; empty where a
	// table alone is keyed in.
	Lower, Upper, Unit string
	// Table is to be keyed in, by itself or after the two values; nil where there
	// is none.
	Table *Grid
	// Lines say what 100 % means, what was made least unless it is the worst error,
	// and how good it is.
	Lines []string
}

// Choice tells a choice. Steps says what the readout takes, as StepWords has it.
func Choice(c *curve.Curve, sc scale.Scale, choice span.Choice, steps string) Numbers {
	worst := fmt.Sprintf("Worst error %s points, at %s.", Points(choice.Worst), Marks(c.Unit(), choice.WorstAt))
	switch choice.Objective {
	case span.NearEmpty:
		worst += fmt.Sprintf(" Counted as said, at most %s points.", Points(choice.Score))
	case span.RMS:
		worst += fmt.Sprintf(" Root-mean-square error %s points.", Points(choice.Score))
	}
	n := Numbers{Unit: c.Signal().Unit()}
	switch setting := choice.Setting.(type) {
	case span.Ends:
		n.ends(setting)
		if choice.Searched > 0 {
			worst += fmt.Sprintf(" No other pair in %s does better (all searched); values of any kind could reach %s.", steps, Points(choice.LowerBound))
		} else {
			worst += " No other pair does better."
		}
	case span.Table:
		n.Table = &Grid{Head: []string{c.Signal().Head(), "shown %"}}
		n.Table.columns(setting.TextsOf(c.Signal()))
		worst += tableBound(choice)
	case span.EndsThenTable:
		n.ends(setting.Ends)
		n.Table = &Grid{Head: []string{"from %", "shown %"}}
		n.Table.columns(setting.Texts())
		worst += tableBound(choice)
	}
	n.Lines = append(n.Lines, sc.Sentence())
	if choice.Objective != span.Worst {
		n.Lines = append(n.Lines, choice.Objective.Sentence())
	}
	n.Lines = append(n.Lines, worst)
	return n
}

func (n *Numbers) ends(e span.Ends) {
	n.Lower, n.Upper = quantity.Short(float64(e.Lower), 4), quantity.Short(float64(e.Upper), 4)
}

// columns adds rows of two columns.
func (g *Grid) columns(a, b []string) {
	for i := range a {
		g.Add(a[i], b[i])
	}
}

// tableBound says how much better another table could be.
func tableBound(choice span.Choice) string {
	bound := Points(choice.LowerBound)
	switch {
	case choice.Searched > 0 && choice.Proven:
		return fmt.Sprintf(" No other table of as many points on these steps does better (all searched); values of any kind could reach %s.", bound)
	case choice.Objective == span.RMS:
		return fmt.Sprintf(" It is the best that was found; no table of as many points can do better than %s.", bound)
	}
	return fmt.Sprintf(" No table of as many points can do better than %s.", bound)
}

// StepWords says what the readout takes, for "no other pair in … does better". A
// nil step is the usual one of the signal.
func StepWords(signal curve.Signal, step *float64) string {
	switch {
	case signal != curve.Ohms && step == nil:
		return "steps of " + quantity.Short(float64(signal.Step()), 3) + " " + signal.Unit()
	case signal != curve.Ohms && *step != 0:
		return "steps of " + quantity.Short(*step, 6) + " " + signal.Unit()
	case step == nil || *step == 1:
		return "whole ohms"
	case *step == 0:
		return "any values"
	}
	return "steps of " + quantity.Short(*step, 3) + " ohm"
}
