package span

import (
	"fmt"
	"math"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
)

// onSteps brings a table onto the readout's steps and then moves its entries
// one by one, by one step of ohms or of the shown figure either way, for as
// long as the worst error falls.
func (t *tabler) onSteps(table Table, readout TableReadout, c *curve.Curve, s scale.Scale) (Table, error) {
	used := c.Used()
	worst := func(table Table) float64 {
		e := 0.0
		for _, r := range used {
			e = max(e, math.Abs(float64(table.Show(r.Ohm)-s.Target(r.Mark))))
		}
		return e
	}
	limit := readout.Highest
	if limit == 0 {
		limit = quantity.Ohm(math.Inf(1))
	}
	least := table[len(table)-1].Ohm // what the last entry must still reach
	rounded := roundTable(table, readout)
	if len(rounded) < 2 {
		return nil, &NoChoiceError{fmt.Sprintf("no table fits: in steps of %s Ω and %s all entries fall together; use smaller steps",
			quantity.Short(float64(readout.Step), 3), readout.ShareStep)}
	}
	best, bestError := rounded, worst(rounded)
	shareSteps := []quantity.Share{readout.ShareStep}
	if readout.ShareStep == 0 {
		shareSteps = []quantity.Share{0.01, 0.003, 0.001, 0.0003, 0.0001, 0.00003}
	}
	allowed := func(table Table, i int) bool {
		e := table[i]
		return e.Ohm >= 0 && e.Ohm <= limit && e.Share >= 0 && e.Share <= 1 &&
			(i == 0 || e.Ohm > table[i-1].Ohm) && (i == len(table)-1 || e.Ohm < table[i+1].Ohm) &&
			t.ordered(table, i) && (i < len(table)-1 || e.Ohm >= least-1e-9)
	}
	for _, shareStep := range shareSteps {
		for improved := true; improved; {
			improved = false
			for i := range best {
				for _, move := range []Entry{
					{readout.Step, 0}, {-readout.Step, 0}, {0, shareStep}, {0, -shareStep},
					{readout.Step, shareStep}, {readout.Step, -shareStep}, {-readout.Step, shareStep}, {-readout.Step, -shareStep},
				} {
					next := append(Table(nil), best...)
					next[i] = onStepsOf(Entry{next[i].Ohm + move.Ohm, next[i].Share + move.Share}, readout)
					if next[i] == best[i] || !allowed(next, i) {
						continue
					}
					if e := worst(next); e < bestError-1e-12 {
						best, bestError, improved = next, e, true
					}
				}
			}
		}
	}
	return best, nil
}

// ordered says whether the shares at entry i keep the sender's direction.
func (t *tabler) ordered(table Table, i int) bool {
	up := quantity.Share(t.sign)
	return (i == 0 || up*(table[i].Share-table[i-1].Share) >= 0) &&
		(i == len(table)-1 || up*(table[i+1].Share-table[i].Share) >= 0)
}

// roundTable puts every entry onto the steps; entries that fall together are
// one. The last is rounded up, so that the table still reaches as far.
func roundTable(table Table, readout TableReadout) Table {
	var out Table
	for i, e := range table {
		if i == len(table)-1 && readout.Step > 0 {
			e.Ohm = quantity.Ohm(readout.up(float64(e.Ohm)))
		}
		e = onStepsOf(e, readout)
		if n := len(out); n > 0 && e.Ohm <= out[n-1].Ohm {
			continue
		}
		out = append(out, e)
	}
	return out
}

func onStepsOf(e Entry, readout TableReadout) Entry {
	if readout.Step > 0 {
		e.Ohm = quantity.Ohm(math.Round(float64(e.Ohm/readout.Step))) * readout.Step
	}
	if readout.ShareStep > 0 {
		e.Share = quantity.Share(math.Round(float64(e.Share/readout.ShareStep))) * readout.ShareStep
	}
	e.Share = min(1, max(0, e.Share))
	return e
}
