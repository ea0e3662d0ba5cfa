package span

import (
	"fmt"
	"math"

	"gaugewright/internal/curve"
	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
)

// TableReadout is a device into which a table is keyed.
type TableReadout struct {
	Readout
	Points    int            // the most entries it takes, 2 or more
	ShareStep quantity.Share // the step of the shown figure; 0 takes any value
}

// BestTable gives the table of at most so many entries whose worst error over
// the readings is least; see [BestTableFor].
func BestTable(c *curve.Curve, s scale.Scale, readout TableReadout, margin Margin) (Choice, error) {
	return BestTableFor(c, s, readout, margin, Worst)
}

// BestTableFor gives the table of at most so many entries that an objective
// likes best, the entries standing wherever that needs them. Among tables that
// do equally well it takes the one that follows the fitted curve best between
// the readings. The table reaches beyond the sender's greatest ohms by the
// margin, as for end values.
//
// For a given worst score E every reading is a door of a height that E asks
// for, which the polyline of the table must pass; the fewest entries for E come
// from thread, and E is found by halving. Without steps the result is the least
// there is. With steps the entries are rounded and moved step by step for as
// long as that helps, and then every table on the steps is held against that,
// as [lattice] says; Proven and Gap tell whether it came to an end. For [RMS]
// see tabler.leastSquares, which gives a bound and no proof.
func BestTableFor(c *curve.Curve, s scale.Scale, readout TableReadout, margin Margin, objective Objective) (Choice, error) {
	if err := readout.check(); err != nil {
		return Choice{}, err
	}
	p, err := newProblem(c, s, readout.Readout, margin, objective)
	if err != nil {
		return Choice{}, err
	}
	found, err := newTabler(p, c, s).best(readout)
	if err != nil {
		return Choice{}, err
	}
	choice := p.chosen(c, s, Table(found.table), found)
	if len(found.table) < readout.Points && p.objective != RMS {
		choice.Findings = append(choice.Findings, finding.Finding{Kind: "enough", Text: fmt.Sprintf(
			"%d points are enough: more would not make it better.", len(found.table))})
	}
	if unseen := p.unseen(c, s); unseen != "" {
		choice.Findings = append(choice.Findings, finding.Finding{Kind: "not-reached", Weight: finding.Doubt,
			Text: unseen + " A table holds its end value there."})
	}
	choice.Findings = append(choice.Findings, shortOf(c, s)...)
	return choice, nil
}

// check refuses what can't be a table.
func (r TableReadout) check() error {
	if r.Points < 2 || r.Points > 1000 {
		return &NoChoiceError{fmt.Sprintf("a table of %d points can't be made; expected 2 to 1000", r.Points)}
	}
	if !(r.ShareStep >= 0 && r.ShareStep <= 0.25) {
		return &NoChoiceError{fmt.Sprintf("a step of %s in what is shown isn't a step; expected 0 %% (any value) to 25 %%", r.ShareStep)}
	}
	return nil
}

// foundTable is a table with what is known of it, in points.
type foundTable struct {
	table    []Entry
	bound    float64 // no values of any kind score less
	onSteps  float64 // nothing on the steps scores less
	searched int
}

// chosen makes a choice of a setting found through doors.
func (p *problem) chosen(c *curve.Curve, s scale.Scale, setting Setting, found foundTable) Choice {
	choice := Choice{Trial: Try(c, s, setting), Objective: p.objective, Margin: p.margin, Searched: found.searched}
	choice.Score = p.objective.Score(choice.Trial)
	choice.LowerBound = min(quantity.Share(found.bound/100), choice.Score)
	if gap := choice.Score - quantity.Share(found.onSteps/100); gap > proofTie/100*1.01 {
		choice.Gap = gap
	} else {
		choice.Proven = true
	}
	choice.Findings = []finding.Finding{{Kind: "margin", Text: p.why}}
	return choice
}

// best finds the table, in the order of ohms (or of percents, see inPercent).
func (t *tabler) best(readout TableReadout) (foundTable, error) {
	if t.p.objective == RMS {
		return t.leastSquares(readout)
	}
	links := readout.Points - 1
	bound, e, _ := t.least(links, 1e-10, t.p.objective.greatestScore(), func(e float64) []door { return t.doors(e, 100) })
	slack := e + 1e-9
	_, _, path := t.least(links, 1e-7, 100, func(d float64) []door { return t.doors(slack, d) })
	found := foundTable{table: t.table(path), bound: bound, onSteps: bound}
	if readout.Step > 0 || readout.ShareStep > 0 {
		return t.onSteps(found, readout)
	}
	found.onSteps = math.Inf(1) // there are none
	return found, nil
}

// least finds by halving the least height, in points, at which the doors can be
// threaded with so many links: the last height shown to be impossible, the
// least found possible, and the path for that.
func (t *tabler) least(links int, precision, most float64, doors func(height float64) []door) (bound, height float64, path []vertex) {
	try := func(h float64) bool {
		narrowed, ok := narrow(doors(h))
		if !ok {
			return false
		}
		found, ok := thread(narrowed, links, t.reach, t.pinned)
		if ok {
			path = found
		}
		return ok
	}
	if try(0) {
		return 0, 0, path
	}
	lo, hi := 0.0, most
	try(hi)
	for hi-lo > precision {
		mid := (lo + hi) / 2
		if mid == lo || mid == hi {
			break
		}
		if try(mid) {
			hi = mid
		} else {
			lo = mid
		}
	}
	return lo, hi, path
}
