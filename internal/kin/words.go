package kin

import (
	"fmt"
	"math"
	"strings"

	"gaugewright/internal/curve"
	"gaugewright/internal/doubt"
	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
)

// describe puts what was gathered into sentences.
func (g *Gathered) describe(t *Type) {
	say := func(kind string, weight finding.Weight, format string, args ...any) {
		g.Findings = append(g.Findings, finding.Finding{Kind: kind, Weight: weight, Text: fmt.Sprintf(format, args...)})
	}
	unit, _ := unitOf(t.Marks)
	signal, _ := signalOf(t.Gives)
	k := g.Known
	total := math.Sqrt(g.Spread.Unit + g.Spread.Batch)
	say("type-spread", finding.Note, "%s: units differ by %s of span (one standard deviation over all marks, %s degrees of freedom).",
		t.Name, percent(total), quantity.Short(g.Spread.DF, 1))
	switch {
	case g.Widened && k.Batches == 0:
		say("type-batches", finding.Doubt, "No batch is stated, so how batches differ isn't known; the spread is widened %s times. State the batches of the units.", quantity.Short(oneBatch, 2))
	case g.Widened:
		say("type-batches", finding.Doubt, "All units are of one batch, so how batches differ isn't known; the spread is widened %s times. Add units of another batch.", quantity.Short(oneBatch, 2))
	case !g.Spread.UnitKnown:
		say("type-batches", finding.Note, "Every unit is of another batch: how much of the spread is from batch to batch can't be told apart, and is all in it.")
	case g.Spread.Batch == 0:
		say("type-batches", finding.Note, "Batches differ no more than units of one batch do. As there are only %d of them, they are taken to differ by %s of span all the same.",
			g.Spread.BatchDF+1, percent(math.Sqrt(g.Spread.leastBatch()*g.Spread.Unit)))
	default:
		say("type-batches", finding.Note, "From batch to batch they differ by %s of span, within a batch by %s (%d batches, so the first figure is a rough one).",
			percent(math.Sqrt(g.Spread.Batch)), percent(math.Sqrt(g.Spread.Unit)), g.Spread.BatchDF+1)
	}
	if g.Spread.BatchKnown && g.Spread.UnitKnown && g.Spread.BatchDF == 1 {
		say("type-batches", finding.Doubt, "How batches differ rests on two of them, which is one figure. Where batches differ far more than units do, a unit of another batch is refused wrongly up to 4 times in 100 instead of once. Add a third batch.")
	}
	switch n := k.Units; {
	case n == 2:
		say("type-few", finding.Doubt, "Two units tell the course of the curve, and hardly how units differ: their difference is one figure, and the truth may be %s times as much. The next unit needs as many readings as one that isn't known; what the type saves is told from four or five units on.",
			quantity.Digits(doubt.Factor(0.95, 1)/doubt.UsualFactor, 0))
	case n < 5:
		say("type-few", finding.Doubt, "Only %d units: how they differ is known roughly, and bands are widened %s times for it.", n, quantity.Digits(doubt.Factor(0.95, k.DF)/doubt.Factor(0.95, math.Inf(1)), 1))
	}
	if k.NoiseDF == 0 {
		say("type-noise", finding.Note, "No unit was read twice at a mark the same way, so the scatter of one reading isn't known; %s %% of span stands for it.", quantity.Short(100*noiseUnknown, 2))
	} else {
		say("type-noise", finding.Note, "One reading scatters by %s (one standard deviation, %d degrees of freedom).", signal.Text(quantity.Ohm(k.Noise)), k.NoiseDF)
	}
	for _, o := range g.Odd {
		u := t.Units[o.Index]
		say("type-odd", finding.Doubt, "%s doesn't look like the others: at %s it is %s off, and among %d units of one type one looks so odd %s. Read it again, or leave it out.",
			capital(u.Name()), unit.Text(o.Mark), signal.Text(quantity.Ohm(math.Abs(float64(o.Off)))), k.Units, chance(o.P))
	}
	if plan, err := k.Plan(3, curve.Options{}); err == nil {
		say("type-next", finding.Note, "%s", plan.Words())
	}
}

// Words says what the type alone and the planned readings give: about 95 %, in
// points of the span.
func (p Plan) Words() string {
	text := fmt.Sprintf("The type alone gives the next unit to ±%s of span at the worst", percent(doubt.UsualFactor*p.Worst))
	if len(p.Next) == 0 {
		return text + "."
	}
	var steps []string
	for i, n := range p.Next {
		steps = append(steps, fmt.Sprintf("%d to ±%s", i+1, percent(doubt.UsualFactor*n.Worst)))
	}
	text = fmt.Sprintf("%s; readings of its own: %s. Read %s.", text, strings.Join(steps, ", "), p.Marks())
	if p.Unit == curve.Volume || p.Unit == curve.Mass {
		text += " Never fill beyond the permitted fill for a reading."
	}
	return text
}

func capital(s string) string {
	if s == "" || s[0] < 'a' || s[0] > 'z' {
		return s
	}
	return string(s[0]-'a'+'A') + s[1:]
}
