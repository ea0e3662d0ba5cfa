package telling

import (
	"fmt"
	"math"

	"gaugewright/internal/curve"
	"gaugewright/internal/doubt"
	"gaugewright/internal/quantity"
)

// BudgetProbability is the probability that budgets are expanded to.
const BudgetProbability = 0.95

// Budget is an uncertainty budget as the metrology trade writes it, of the mark
// told from one reading: its title, a line for each thing in doubt, and below them
// what they come to.
func Budget(unit curve.MarkUnit, signal curve.Signal, at curve.Answer, b doubt.Budget) (title string, g Grid, notes []string) {
	title = fmt.Sprintf("Budget of the mark told from one reading of %s (%s)", signal.Text(at.Ohm), FineMark(unit, at.Mark))
	s := unit.Symbol()
	g = Grid{Head: []string{"quantity", "value", "u", "distribution", "df", "sensitivity", "adds, " + s, "share"}, Left: 1}
	decimals := signal.Decimals()
	for i, l := range b.Lines {
		df := "∞"
		if !math.IsInf(l.DF, 1) {
			df = quantity.Short(l.DF, 0)
		}
		g.Add(l.Quantity, quantity.Short(l.Value, decimals)+" "+l.Unit, quantity.Digits(l.U, decimals+2)+" "+l.Unit, string(l.Distribution), df,
			quantity.Digits(l.Sensitivity, 3)+" "+s+"/"+l.Unit, quantity.Digits(l.Contribution(), 3), quantity.Digits(b.Share(i)*100, 0)+" %")
	}
	k := b.Coverage(BudgetProbability)
	df := "unlimited"
	if v := b.DF(); !math.IsInf(v, 1) {
		df = quantity.Short(math.Floor(v), 0)
	}
	return title, g, []string{
		fmt.Sprintf("combined standard uncertainty %s %s, effective degrees of freedom %s", quantity.Digits(b.Combined(), 3), s, df),
		fmt.Sprintf("expanded (95 %%, k = %s): ± %s %s", quantity.Digits(k, 2), quantity.Digits(k*b.Combined(), 2), s),
	}
}
