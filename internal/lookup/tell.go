package lookup

import (
	"fmt"

	"gaugewright/internal/finding"
	"gaugewright/internal/gauge"
	"gaugewright/internal/quantity"
)

// fewCounts is how few counts of an open wire noise may miss (common practice,
// no source).
const fewCounts = 3

// tell says what stands in the way of this input telling everything.
func (t *Table) tell(g gauge.Gauge, ohms []float64, least, greatest quantity.Ohm) {
	add := func(kind string, weight finding.Weight, format string, args ...any) {
		t.Findings = append(t.Findings, finding.Finding{Kind: kind, Text: fmt.Sprintf(format, args...), Weight: weight})
	}
	from, to := quantity.Ohm(ohms[0]), quantity.Ohm(ohms[len(ohms)-2])
	if openEnd(ohms) == 0 {
		from, to = quantity.Ohm(ohms[len(ohms)-1]), quantity.Ohm(ohms[1])
	}
	if from > least || to < greatest {
		add("input-too-narrow", finding.Doubt, "The input tells resistances from %s to %s, and the sender gives %s to %s. What lies beyond the input is told as a fault: choose an input that takes in the whole sender.",
			from, to, least, greatest)
	}
	if t.count(Short) == 0 {
		end := "empty"
		if g.Curve.Direction() < 0 {
			end = "full"
		}
		add("short-not-told", finding.Note, "A short can't be told from a level: it reads like a tank that is nearly %s.", end)
	}
	if n := t.count(Open); n < fewCounts {
		add("open-on-few-counts", finding.Note, "An open wire has %d of the %d counts to itself, so noise may hide it. Look at the counts with the wire off.", n, t.Full+1)
	}
}

// count gives how many counts mean a fault.
func (t *Table) count(f Fault) int {
	n := 0
	for _, z := range t.Zones {
		if z.Fault == f {
			n += z.To - z.From + 1
		}
	}
	return n
}
