package record

import (
	"fmt"
	"math"
	"strings"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
)

// budgetProbability is what budgets are expanded to.
const budgetProbability = 0.95

// budgetTable is the uncertainty budget of the mark told from one reading of the
// sender, where the display should show a half: in the middle of the scale, for
// want of a place that matters more. Where the sender stands still there, the
// budget is that of what it gives there, which no slope can turn into a mark. It
// is false without a curve, or where nothing is in doubt.
func (b tank) budgetTable() (Table, bool) {
	mark, where := b.middle()
	at := b.curve.Ohm(mark, curve.Refuse)
	if !at.Known {
		return Table{}, false
	}
	signal, symbol := b.Signal(), b.unit.Symbol()
	budget, told := b.curve.BudgetOfMark(at.Ohm, curve.Refuse)
	what := fmt.Sprintf("Budget of the mark told from one reading of %s, which is at %s, %s.", signal.Text(at.Ohm), b.unit.Text(mark), where)
	if !told {
		if budget, told = b.curve.BudgetOfOhm(mark); !told {
			return Table{}, false
		}
		symbol = signal.Symbol()
		what = fmt.Sprintf("Budget of what the sender gives at %s, %s: it stands still there, so no mark can be told.", b.unit.Text(mark), where)
	}
	if len(budget.Lines) == 0 || budget.Combined() == 0 {
		return Table{}, false
	}
	t := Table{ID: b.id + "-budget", Of: b.id, Heading: "Uncertainty budget", Scrolls: true, Parts: []float64{0.31, 0.15, 0.18, 0.16, 0.1, 0.1},
		Columns: []Column{{"In doubt", false}, {"Standard uncertainty", true}, {"Distribution, degrees of freedom", false}, {"Sensitivity", true}, {"Adds, " + symbol, true}, {"Share, %", true}}}
	for i, l := range budget.Lines {
		of := string(l.Distribution)
		if !math.IsInf(l.DF, 1) {
			of += ", " + quantity.Short(l.DF, 0)
		}
		t.Rows = append(t.Rows, Row{Cells: []string{capital(l.Quantity), quantity.Digits(l.U, signal.Decimals()+2) + " " + l.Unit, of,
			quantity.Minus(quantity.Digits(l.Sensitivity, 3)) + " " + symbol + "/" + l.Unit, quantity.Digits(l.Contribution(), 3), quantity.Digits(budget.Share(i)*100, 0)}})
	}
	df := "effective: ∞"
	if v := budget.DF(); !math.IsInf(v, 1) {
		df = "effective: " + quantity.Short(math.Floor(v), 0)
	}
	k := budget.Coverage(budgetProbability)
	t.Rows = append(t.Rows, Row{Strong: true, Cells: []string{"Combined", "", df, "", quantity.Digits(budget.Combined(), 3), "100"}})
	t.Notes = []string{
		what,
		fmt.Sprintf("Expanded uncertainty, 95 %%: ± %s %s, with a coverage factor of %s (JCGM 100:2008).", upwardTo(k*budget.Combined(), 2), symbol, quantity.Digits(k, 2)),
	}
	if b.Bench.Doubts == nil && len(b.Bench.Readings) > 0 {
		t.Notes = append(t.Notes, "The errors of the meter, of its leads and of the marks weren't stated, so they are not in it.")
	}
	return t, true
}

// middle is the mark of the budget, and where that is.
func (b tank) middle() (mark float64, where string) {
	if b.scaleErr == nil {
		if mark = b.scale.Of(0.5); b.curve.Ohm(mark, curve.Refuse).Known {
			return mark, "where the display should show 50 %"
		}
	}
	points := b.curve.Points()
	return (points[0].Mark + points[len(points)-1].Mark) / 2, "halfway between the lowest and the highest mark read"
}

// upwardTo rounds up to so many places.
func upwardTo(v float64, places int) string {
	step := math.Pow(10, float64(places))
	return quantity.Digits(math.Ceil(v*step-1e-6)/step, places)
}

// doubtsFact is what is stated of the errors of what the bench was read with.
func (b tank) doubtsFact() Fact {
	d := b.Bench.Doubts
	if d == nil {
		return fact("Errors of the meter", "")
	}
	signal := b.Signal().Unit()
	var parts []string
	add := func(v float64, format string, args ...any) {
		if v > 0 {
			parts = append(parts, fmt.Sprintf(format, args...))
		}
	}
	add(d.MeterPct, "meter ±%s %% of the reading", quantity.Short(d.MeterPct, 3))
	if d.MeterStep > 0 {
		add(d.MeterDigits, "±%s digits of %s %s", quantity.Short(d.MeterDigits, 1), quantity.Short(d.MeterStep, 4), signal)
	} else {
		add(d.MeterDigits, "±%s of its last digits", quantity.Short(d.MeterDigits, 1))
	}
	add(d.LeadsOhm, "leads %s Ω, taken off", quantity.Short(d.LeadsOhm, 3))
	add(d.Mark, "marks ±%s %s", quantity.Short(d.Mark, 3), b.unit.Symbol())
	add(d.TemperaturePct, "temperature ±%s %% of the reading", quantity.Short(d.TemperaturePct, 3))
	return fact("Errors of the meter", strings.Join(parts, "; "))
}
