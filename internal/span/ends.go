package span

import (
	"fmt"

	"gaugewright/internal/curve"
	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
)

// Choice is the best setting there is, and why.
type Choice struct {
	Trial
	Objective Objective
	// Score is what the objective makes least, as a share: with [Worst] and
	// [NeverHigh] the worst error, with [NearEmpty] the worst weighted one,
	// with [RMS] the root-mean-square error.
	Score quantity.Share
	// LowerBound is the least score that any values at all could reach within
	// the same margin and limits, steps or no steps. Score − LowerBound is what
	// the readout's steps cost, and Gap with them.
	LowerBound quantity.Share
	// Proven says that nothing on the readout's steps scores less. Gap is how
	// much less something on them could still score: 0 where it's proven.
	Proven bool
	Gap    quantity.Share
	// Searched is how many pairs on the readout's steps were ruled out by
	// trying them or by a bound, so that none does better; for a table, how many
	// links between entries were looked at. 0 where the choice isn't tied to
	// steps.
	Searched int
	Margin   quantity.Ohm // kept above the sender's greatest ohms
	Findings []finding.Finding
}

// BestEnds gives the end values for a two-point readout that make the worst
// error over the readings least; see [BestEndsFor].
func BestEnds(c *curve.Curve, s scale.Scale, readout Readout, margin Margin) (Choice, error) {
	return BestEndsFor(c, s, readout, margin, Worst)
}

// BestEndsFor gives the end values for a two-point readout that an objective
// likes best, on the readout's steps and within its limits, with the sender's
// greatest ohms within the scale inside the greater end value by the margin.
// Where several pairs do equally well, the one nearest to the natural ends
// (what the sender gives at 0 % and 100 % of the scale) is taken.
//
// The search is exhaustive: for a given upper value the largest reading too
// high falls and the largest reading too low grows as the lower value grows,
// so the best lower value stands where they cross; upper values are tried
// outward from the best one without steps until even the best lower value of
// any kind could not beat the pair in hand. For [RMS] see problem.leastSquares.
//
// A *NoChoiceError means that the margin can't be kept below the largest value
// the readout takes, or that another limit leaves no pair; it names the nearest
// that does. A *curve.SenderError says that the sender keeps no order.
func BestEndsFor(c *curve.Curve, s scale.Scale, readout Readout, margin Margin, objective Objective) (Choice, error) {
	p, err := newProblem(c, s, readout, margin, objective)
	if err != nil {
		return Choice{}, err
	}
	var best pair
	var bound float64
	var eased finding.Finding
	searched := 0
	if p.objective == RMS {
		best, bound, searched, err = p.leastSquares(p.natural(c, s))
	} else {
		best, bound, searched, err = p.leastWorst(p.natural(c, s))
		if _, none := err.(*NoChoiceError); none && p.objective == NeverHigh {
			if eased = p.ease(); eased.Kind != "" {
				best, bound, searched, err = p.leastWorst(p.natural(c, s))
			}
		}
	}
	if none, ok := err.(*NoChoiceError); ok && p.objective == NeverHigh {
		return Choice{}, none.cure(c, s, readout, margin)
	}
	if err != nil {
		return Choice{}, err
	}
	choice := Choice{
		Trial:      Try(c, s, p.ends(best)),
		Objective:  p.objective,
		LowerBound: quantity.Share(bound / 100),
		Proven:     true,
		Searched:   searched,
		Margin:     p.margin,
	}
	choice.Score = p.objective.Score(choice.Trial)
	// Rounding must not make a bound look better than what it bounds.
	choice.LowerBound = min(choice.LowerBound, choice.Score)
	choice.Findings = p.explain(c, s, choice)
	if eased.Kind != "" {
		choice.Findings = append([]finding.Finding{eased}, choice.Findings...)
	}
	return choice, nil
}

// leastWorst finds the best pair for the objectives that look at the worst
// reading: without steps by halving, on steps by search.
func (p *problem) leastWorst(natural pair) (best pair, bound float64, searched int, err error) {
	bound, best, ok := p.relax()
	if !ok {
		return pair{}, 0, 0, p.tooHigh()
	}
	if p.readout.Step > 0 {
		best, searched, err = p.search(best)
		if err != nil {
			return pair{}, 0, 0, err
		}
	}
	return p.nearestTo(natural, best), bound, searched, nil
}

// explain says what the margin is for and what the scale leaves out.
func (p *problem) explain(c *curve.Curve, s scale.Scale, choice Choice) []finding.Finding {
	out := []finding.Finding{{Kind: "margin", Text: p.why}}
	ends := choice.Setting.(Ends)
	greater := max(ends.Lower, ends.Upper)
	if _, greatest := c.Range(); greatest > greater {
		out = append(out, finding.Finding{Kind: "above-scale", Weight: finding.Doubt, Text: fmt.Sprintf(
			"Beyond 100 %% the sender gives up to %s, more than the upper value: a readout may then show a fault instead of 100 %%. It must not be filled that far.", c.Signal().Text(greatest))})
	}
	if unseen := p.unseen(c, s); unseen != "" {
		out = append(out, finding.Finding{Kind: "not-reached", Weight: finding.Doubt, Text: unseen})
	}
	out = append(out, shortOf(c, s)...)
	if float64(choice.Between) > float64(choice.Worst)+0.005 {
		out = append(out, finding.Finding{Kind: "between", Weight: finding.Note, Text: fmt.Sprintf(
			"Between the marks that were read the error may reach %s points, if the sender follows the curve drawn there.", quantity.Digits(float64(choice.Between)*100, 1))})
	}
	return out
}
