package web

import (
	"fmt"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
	"gaugewright/internal/record"
)

// termsOf is the errors of a sender by the terms of IEC 61298-2, each with what it
// means. Figures are those of the curve's own findings.
func termsOf(c *curve.Curve) record.Table {
	t := record.Table{Heading: "Its errors, in the standard’s terms",
		Columns: []record.Column{{Name: "Term"}, {Name: "Here", Numeric: true}, {Name: "What it means"}},
		Notes:   []string{"Terms as in IEC 61298-2. Percent are of the sender’s own span."}}
	signal, span := c.Signal(), float64(c.Span())
	add := func(term, value, means string) {
		t.Rows = append(t.Rows, record.Row{Cells: []string{term, value, means}})
	}
	part := func(v float64) string { return quantity.Digits(v*100, 1) + " %" }
	add("Span", signal.Text(c.Span()), "From the least to the greatest value on the curve.")
	l := c.Linearity()
	add("Independent linearity", part(l.Independent), "The farthest that the curve stands from the straight line that suits it best.")
	add("Terminal-based linearity", part(l.Terminal), "The farthest from the straight line between its two ends: what two end values keyed in at the ends would be off by.")
	add("Zero-based linearity", part(l.Zero), "The farthest from the best straight line that begins at its lower end.")
	hysteresis, repeatability := "not known", "not known"
	if h := c.Hysteresis(); h.Known {
		hysteresis = fmt.Sprintf("%s (%s)", signal.Text(h.Ohm), part(float64(h.Ohm)/span))
	}
	if p := c.Repeatability(); p.DF > 0 {
		repeatability = fmt.Sprintf("%s %s (%s)", quantity.Digits(p.SD, signal.Decimals()+1), signal.Unit(), part(p.SD/span))
	}
	add("Hysteresis", hysteresis, "The most that a mark gives going up differs from what it gives going down. Read some marks both ways to know it.")
	add("Repeatability", repeatability, "How far readings of one mark, come to from the same side, scatter: one standard deviation. Read a mark twice the same way to know it.")
	return t
}
