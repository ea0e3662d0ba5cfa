package circuit

import (
	"fmt"
	"math"

	"gaugewright/internal/doubt"
)

// MarkDoubt is how well an input knows the level at a mark.
type MarkDoubt struct {
	Mark   float64 // points of the span
	Ohm    float64 // the sender there
	Count  int
	Points float64      // per count
	Budget doubt.Budget // in points
	U      float64      // combined standard uncertainty, points
}

// Doubts gives the uncertainty that the input brings at some marks of a span, in
// points, with one budget line for each source (JCGM 100:2008, 5.1). What the
// sender and its calibration bring isn't in it.
func (in Input) Doubts(pullup float64, span Span, marks ...float64) ([]MarkDoubt, error) {
	if err := in.Check(); err != nil {
		return nil, err
	}
	if err := span.Check(); err != nil {
		return nil, err
	}
	if !(pullup > 0) || math.IsInf(pullup, 0) {
		return nil, fmt.Errorf("a pull-up of %g Ω; expected a figure above 0", pullup)
	}
	list := make([]MarkDoubt, 0, len(marks))
	for _, mark := range marks {
		if !(mark >= 0 && mark <= 100) {
			return nil, fmt.Errorf("a mark of %g points; expected 0 to 100", mark)
		}
		list = append(list, in.doubtAt(pullup, span, mark))
	}
	return list, nil
}

// doubtAt reckons one mark. The sensitivities are those of the ohms that are
// told from one and the same count, x = r/(R + r), dr/dx = (R + r)²/R:
//
//	resistor   ∂r/∂R = r/R
//	ratio      ∂r/∂ln k = −r·(R + r)/R
//	leakage    ΔV = I·R·r/(R + r), so Δr = I·r·(R + r)/V_ref
func (in Input) doubtAt(pullup float64, span Span, mark float64) MarkDoubt {
	ohm := span.Ohm(mark)
	per := math.Abs(span.PerOhm())
	r := ohm + in.Lead.Mid()
	m := MarkDoubt{Mark: mark, Ohm: ohm, Count: in.Counts(pullup, ohm), Points: in.PerCount(pullup, ohm) * per}
	m.Budget.Unit = "points"
	add := func(what string, value float64, unit string, u float64, d doubt.Distribution, sensitivity float64) {
		if u == 0 {
			return
		}
		m.Budget.Lines = append(m.Budget.Lines, doubt.Line{Quantity: what, Value: value, Unit: unit, U: u,
			Distribution: d, DF: math.Inf(1), Sensitivity: sensitivity})
	}
	count := float64(m.Count)
	add("count of the converter", count, "counts", doubt.Resolution(1), doubt.RectangularD, m.Points)
	add("noise of the converter", 0, "counts", in.Noise, doubt.Normal, m.Points)
	add("nonlinearity of the converter", 0, "counts", doubt.Rectangular(in.Nonlinearity), doubt.RectangularD, m.Points)
	add("tolerance of the resistor", pullup, "Ω", doubt.Rectangular(in.Tolerance*pullup), doubt.RectangularD, per*r/pullup)
	add("warmth of the resistor", 0, "Ω", doubt.Rectangular(in.Tempco*in.Warmth*pullup), doubt.RectangularD, per*r/pullup)
	add("reference", in.ratio(), "", doubt.Rectangular(in.referenceError()*in.ratio()), doubt.RectangularD, per*r*(pullup+r)/pullup/in.ratio())
	add("leakage of the input", 0, "A", doubt.Rectangular(in.Leakage), doubt.RectangularD, per*r*(pullup+r)/in.Reference)
	add("wire", in.Lead.Mid(), "Ω", doubt.Rectangular(in.Lead.Half()), doubt.RectangularD, per)
	m.U = m.Budget.Combined()
	return m
}

// largest names the line that brings most.
func (m MarkDoubt) largest() string {
	name, most := "", 0.0
	for _, l := range m.Budget.Lines {
		if c := l.Contribution(); c > most {
			name, most = l.Quantity, c
		}
	}
	return name
}
