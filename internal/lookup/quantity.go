package lookup

import (
	"fmt"

	"gaugewright/internal/curve"
	"gaugewright/internal/gauge"
)

// Quantity is what the table tells, and in which whole steps.
type Quantity int

const (
	// TenthsPct is the level on the gauge's scale in tenths of a percent: 0 to 1000.
	TenthsPct Quantity = iota
	// TenthsLitre is what is in the tank in tenths of a litre. It needs marks in
	// litres, or a scale that knows the tank and its capacity.
	TenthsLitre
	// Millimetre is the height in whole millimetres. It needs marks of height.
	Millimetre
)

// Quantities lists everything that a table can tell.
var Quantities = []Quantity{TenthsPct, TenthsLitre, Millimetre}

var quantities = [...]struct {
	column   string  // and the end of field names
	words    string  // what a step is
	function string  // in C and MicroPython
	unit     string  // in which errors are told
	steps    float64 // in one such unit
}{
	TenthsPct:   {"tenths_pct", "tenths of a percent", "gw_level_tenths", "points", 10},
	TenthsLitre: {"tenths_l", "tenths of a litre", "gw_volume_tenths", "L", 10},
	Millimetre:  {"mm", "millimetres", "gw_height_mm", "mm", 1},
}

// Column gives the name of the column and of fields: "tenths_pct".
func (q Quantity) Column() string { return quantities[q].column }

// Words says what one step is: "tenths of a percent".
func (q Quantity) Words() string { return quantities[q].words }

// Unit gives the unit in which errors are told: "points", "L" or "mm".
func (q Quantity) Unit() string { return quantities[q].unit }

// Function gives the name of the function in C and MicroPython.
func (q Quantity) Function() string { return quantities[q].function }

// InUnit turns steps of the table into the unit in which errors are told.
func (q Quantity) InUnit(steps float64) float64 { return steps / quantities[q].steps }

// mostSteps is the largest figure in a table: it fits 16 bits with a sign, and a
// product of two differences, of figures and of counts, fits 32.
const mostSteps = 32767

// of gives how a quantity follows from a mark, in steps; an error where the gauge
// can't tell it.
func (q Quantity) of(g gauge.Gauge) (func(mark float64) float64, error) {
	switch q {
	case TenthsPct:
		return func(mark float64) float64 { return 1000 * float64(g.Scale.Target(mark)) }, nil
	case TenthsLitre:
		if g.Curve.Unit() == curve.Volume {
			return func(mark float64) float64 { return 10_000 * mark }, nil
		}
		if empty, _ := g.Scale.Ends(); volumeKnown(g, empty) {
			return func(mark float64) float64 {
				v, _ := g.Scale.Volume(mark)
				return 10_000 * float64(v)
			}, nil
		}
		return nil, fmt.Errorf("a table in litres needs marks in litres, or a tank whose capacity is known; found marks in %s and no tank", g.Curve.Unit().Symbol())
	case Millimetre:
		if g.Curve.Unit() != curve.Height {
			return nil, fmt.Errorf("a table in millimetres needs marks of height; found marks in %s", g.Curve.Unit().Symbol())
		}
		return func(mark float64) float64 { return 1000 * mark }, nil
	}
	return nil, fmt.Errorf("quantity %d is not known; expected one of %d", int(q), len(quantities))
}

func volumeKnown(g gauge.Gauge, mark float64) bool {
	_, ok := g.Scale.Volume(mark)
	return ok
}
