package telling

import (
	"fmt"
	"strings"

	"gaugewright/internal/circuit"
	"gaugewright/internal/quantity"
)

// Wire says what a run of wire adds. The length one way is told as it was stated.
func Wire(length string, added circuit.Added) string {
	return fmt.Sprintf("%s there and back adds %s Ω (%s to %s Ω): %s.", length,
		quantity.Digits(added.Ohm, 4), quantity.Digits(added.Low, 4), quantity.Digits(added.High, 4), added.Basis)
}

// FaultWords says what a fault of the wiring would look like. Reads is the fault
// with its verb, "1 Ω in a corroded joint reads".
func FaultWords(reads string, look circuit.Look) string {
	points := func(v float64) string { return Signed(quantity.Share(v / 100)) }
	return fmt.Sprintf("%s %s points at empty, %s at half, %s at full.", reads, points(look.Empty), points(look.Half), points(look.Full))
}

// Input tells a pull-up and what the converter makes of the sender with it: what it
// is worth, a table along the span, and the next best values, "" where there are
// none.
func Input(in circuit.Input, ends circuit.Span, c circuit.Choice) (lines []string, g Grid, next string) {
	lines = append(lines, fmt.Sprintf("Pull-up %s Ω to %s V, %d bits: the sender's %s to %s Ω come to %d to %d counts.",
		quantity.Short(c.Pullup, 2), quantity.Short(in.Reference, 3), in.Bits, quantity.Short(ends.Empty, 1), quantity.Short(ends.Full, 1),
		in.Counts(c.Pullup, ends.Empty), in.Counts(c.Pullup, ends.Full)))
	step := fmt.Sprintf("One step is worth %s points at worst", quantity.Short(c.Resolution, 3))
	if c.Bound > 0 {
		step += fmt.Sprintf("; no resistor at all could do better than %s within the limits", quantity.Short(c.Bound, 3))
	}
	lines = append(lines, step+".",
		fmt.Sprintf("Up to %s mA with the sender shorted, %s mW in the sender.", quantity.Short(c.Shorted*1e3, 3), quantity.Short(c.SenderPower*1e3, 3)))
	g = Grid{Head: []string{"of the span, %", "ohms", "counts", "points a count", "±, points"}}
	for _, m := range c.Marks {
		g.Add(quantity.Short(m.Mark, 1), quantity.Digits(m.Ohm, 1), fmt.Sprint(m.Count), quantity.Digits(m.Points, 3), quantity.Digits(2*m.U, 2))
	}
	if len(c.RunnersUp) == 0 {
		return lines, g, ""
	}
	texts := make([]string, len(c.RunnersUp))
	for i, r := range c.RunnersUp {
		texts[i] = fmt.Sprintf("%s Ω (%s)", quantity.Short(r.Pullup, 2), quantity.Short(r.Resolution, 3))
	}
	return lines, g, fmt.Sprintf("Next best of %s: %s. %d values were tried, %d of them don't keep the limits.", c.Series, strings.Join(texts, ", "), c.Tried, c.Refused)
}
