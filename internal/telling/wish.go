package telling

import (
	"fmt"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
	"gaugewright/internal/span"
)

// The readouts that a wish may name.
const (
	TwoPoint      = "two-point"       // two end values
	Table         = "table"           // a table
	EndsThenTable = "ends-then-table" // two end values, then a table that corrects the percentage
)

// Wish is what a person wants of the numbers to key in, as they state it.
type Wish struct {
	Readout   string // TwoPoint, Table or EndsThenTable
	Objective string // a word of [span.Objectives]
	Points    int    // the most points a table takes
	// Step is the step in which values can be keyed in, in the unit of the sender's
	// signal, 0 for any value; nil is the signal's usual step for end values and
	// any value for a table.
	Step        *float64
	PercentStep float64 // of the percentages in a table, in percent; 0: any value
	// Lowest and Highest are the least and the largest value that the readout
	// takes, in the unit of the signal; 0: no limit.
	Lowest, Highest float64
	Margin          string // as [span.ParseMarginFor] reads it
}

// UsualWish is a wish where nothing in particular is wanted: two end values with
// the least worst error, with the usual margin; a table of up to eight points.
func UsualWish() Wish {
	return Wish{Readout: TwoPoint, Objective: string(span.Worst), Points: 8, Margin: "usual"}
}

// Best makes the choice that a wish asks for. A *FieldError says what in the wish
// can't be read; the errors of [span.BestEndsFor] and its like come as they are.
func Best(c *curve.Curve, sc scale.Scale, w Wish) (span.Choice, error) {
	margin, err := span.ParseMarginFor(c.Signal(), w.Margin)
	if err != nil {
		return span.Choice{}, from("margin", " ", err)
	}
	objective, err := span.ParseObjective(w.Objective)
	if err != nil {
		return span.Choice{}, from("objective", ": ", err)
	}
	if w.Lowest < 0 || w.Highest < 0 || w.PercentStep < 0 {
		return span.Choice{}, &FieldError{Fields: []string{"lowest", "highest", "percent-step"},
			Rest: fmt.Sprintf(" can't be below zero; found %g, %g and %g", w.Lowest, w.Highest, w.PercentStep)}
	}
	readout := span.Readout{Lowest: quantity.Ohm(w.Lowest), Highest: quantity.Ohm(w.Highest)}
	if w.Readout != Table {
		readout.Step = c.Signal().Step()
	}
	if w.Step != nil {
		readout.Step = quantity.Ohm(*w.Step)
	}
	table := span.TableReadout{Readout: readout, Points: w.Points, ShareStep: quantity.Share(w.PercentStep / 100)}
	switch w.Readout {
	case TwoPoint:
		return span.BestEndsFor(c, sc, readout, margin, objective)
	case Table:
		return span.BestTableFor(c, sc, table, margin, objective)
	case EndsThenTable:
		return span.BestEndsThenTable(c, sc, table, margin, objective)
	}
	return span.Choice{}, &FieldError{Fields: []string{"readout"},
		Rest: fmt.Sprintf(" %q isn't known; expected %s, %s or %s", w.Readout, TwoPoint, Table, EndsThenTable)}
}
