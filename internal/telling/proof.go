package telling

import (
	"fmt"
	"strings"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
	"gaugewright/internal/span"
)

// Proof is a check of a display mark by mark, and what its doubt and its verdicts
// come from. Its verdict is Verdict's to tell, what would cure a check that is too
// coarse its findings'.
func Proof(unit curve.MarkUnit, p span.Proof) (g Grid, lines []string) {
	within := fmt.Sprintf("within %s points", quantity.Short(float64(p.Tolerance)*100, 2))
	g.Head = []string{"mark", "should show", "shown", "error", "±", within, "verdict"}
	for _, row := range p.Rows {
		verdict := row.Verdict.String()
		if !row.Pass {
			verdict = strings.ToUpper(verdict)
		}
		g.Add(unit.Text(row.Mark), Points(row.Target), Points(row.Shown), Signed(row.Error()), wide(row.U), row.Odds()+" sure", verdict)
	}
	return g, []string{
		fmt.Sprintf("± is the doubt of the error, about 95 %%, from %s.", p.Sources()),
		p.Rule(),
	}
}

// Verdict is the whole check in one sentence: "Pass: 3 of 3 within 2 points."
func Verdict(p span.Proof) string {
	word := p.Verdict.String()
	return strings.ToUpper(word[:1]) + word[1:] + ": " + p.Judgement() + "."
}

// VerdictLoud is Verdict with its word in capitals, for where it stands by itself.
func VerdictLoud(p span.Proof) string {
	return strings.ToUpper(p.Verdict.String()) + ": " + p.Judgement() + "."
}
