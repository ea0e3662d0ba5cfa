package span

import (
	"fmt"
	"math"
	"sort"

	"gaugewright/internal/quantity"
)

// proofTie is how close, in points, a table on steps counts as proven best.
const proofTie = 1e-7

// The work that looking for a better table on steps may take, in links and
// limits looked at. It counts and doesn't time, so that every machine gives the
// same answer. Such work is a matter of tens of nanoseconds each.
const (
	proofWork = 3_000_000 // for the least score
	evenWork  = 1_000_000 // for following the curve between the readings
)

// onSteps brings a table onto the readout's steps, moves its entries while that
// helps, and then looks through all tables on the steps for a better one, until
// there is none or the work is used up.
func (t *tabler) onSteps(free foundTable, readout TableReadout) (foundTable, error) {
	found := free
	best, have := t.settle(free.table, readout)
	most := t.p.objective.greatestScore() + 1
	hi := most
	if have {
		hi = t.score(best)
	}
	lo := free.bound
	work := proofWork
	// ended says that the question was answered before the work was used up.
	try := func(e float64) (better, ended bool) {
		path, ok, ended := t.through(readout, t.doors(e, 100), &work)
		if ok {
			if table := t.table(path); len(table) > 1 {
				if score := t.score(table); score < hi {
					best, hi, have = table, score, true
				}
			}
		}
		return ok, ended
	}
	proven := lo
	for k := 0; k < 200 && hi-lo > 1.2*proofTie; k++ {
		e := (lo + hi) / 2
		if have && k%4 == 3 || hi-lo < 4*proofTie {
			e = hi - proofTie // most of the time nothing is left to find
		}
		before := hi
		better, ended := try(e)
		if !ended {
			break
		}
		switch {
		case !better:
			lo = max(lo, e)
			proven = max(proven, e)
		case hi == before:
			// There is a polyline, but with two corners at one resistance, and no
			// table can jump. Such a score can only be come near to.
			lo = max(lo, e)
		}
	}
	if !have {
		return foundTable{}, t.noTable(readout)
	}
	found.onSteps = proven
	if hi-found.onSteps <= 1.5*proofTie {
		found.onSteps = hi
		best = t.even(best, hi+1e-9, readout)
	}
	found.table, found.searched = best, proofWork-max(0, work)
	return found, nil
}

// even looks among the tables on the steps that score no more for the one that
// follows the curve best between the readings.
func (t *tabler) even(best []Entry, score float64, readout TableReadout) []Entry {
	apart := func(table []Entry) float64 {
		e := 0.0
		for _, m := range t.marks {
			if m.kind == between {
				shown := float64(Table(table).Show(quantity.Ohm(m.ohm))) * 100
				if t.sign < 0 {
					shown = 100 - shown
				}
				e = max(e, math.Abs(shown-m.target))
			}
		}
		return e
	}
	work := evenWork
	lo, hi := 0.0, apart(best)
	for hi-lo > 0.01 {
		mid := (lo + hi) / 2
		path, ok, ended := t.through(readout, t.doors(score, mid), &work)
		if !ended {
			break
		}
		if !ok {
			lo = mid
			continue
		}
		table := t.table(path)
		now := apart(table)
		if len(table) < 2 || t.score(table) > score || now >= hi {
			break
		}
		best, hi = table, now
	}
	return best
}

// noTable says that the steps and limits leave no table at all.
func (t *tabler) noTable(readout TableReadout) error {
	text := fmt.Sprintf("no table fits: in steps of %s %s and %s", quantity.Short(float64(readout.Step), 3), t.p.signal.Unit(), readout.ShareStep)
	if t.p.objective == NeverHigh {
		text += ", never showing more than there is,"
	}
	if readout.Highest > 0 || readout.Lowest > 0 {
		text += " within what can be keyed in"
	}
	text += " no entries can be laid through the readings; use smaller steps"
	if step, ok := t.p.finerStep(); ok && readout.Step > 0 {
		text += fmt.Sprintf(", such as %s %s", quantity.Short(step, 6), t.p.signal.Unit())
	}
	return &NoChoiceError{text}
}

// settle brings a table onto the steps and then moves its entries one by one,
// by one step of ohms or of the shown figure either way, for as long as the
// score falls. False where all entries fall together.
func (t *tabler) settle(table []Entry, readout TableReadout) ([]Entry, bool) {
	rounded := t.round(table, readout)
	if len(rounded) < 2 {
		return nil, false
	}
	best, bestScore := rounded, t.score(rounded)
	shareSteps := []quantity.Share{readout.ShareStep}
	if readout.ShareStep == 0 {
		shareSteps = []quantity.Share{0.01, 0.003, 0.001, 0.0003, 0.0001, 0.00003}
	}
	for _, shareStep := range shareSteps {
		for improved := true; improved; {
			improved = false
			for i := range best {
				for _, move := range []Entry{
					{readout.Step, 0}, {-readout.Step, 0}, {0, shareStep}, {0, -shareStep},
					{readout.Step, shareStep}, {readout.Step, -shareStep}, {-readout.Step, shareStep}, {-readout.Step, -shareStep},
				} {
					next := append([]Entry(nil), best...)
					next[i] = onStepsOf(Entry{next[i].Ohm + move.Ohm, next[i].Share + move.Share}, readout)
					if next[i] == best[i] || !t.allowed(next, i) {
						continue
					}
					if score := t.score(next); score < bestScore-1e-10 {
						best, bestScore, improved = next, score, true
					}
				}
			}
		}
	}
	return best, !math.IsInf(bestScore, 1) && t.allowedAll(best)
}

// allowed says whether entry i of a table keeps the limits and the order.
func (t *tabler) allowed(table []Entry, i int) bool {
	e, up := table[i], quantity.Share(t.sign)
	if !(float64(e.Ohm) >= t.p.leastOhm-1e-9 && float64(e.Ohm) <= t.p.mostOhm+1e-9 && e.Share >= 0 && e.Share <= 1) {
		return false
	}
	last := len(table) - 1
	if i > 0 && !(e.Ohm > table[i-1].Ohm && up*(e.Share-table[i-1].Share) >= 0) {
		return false
	}
	if i < last && !(e.Ohm < table[i+1].Ohm && up*(table[i+1].Share-e.Share) >= 0) {
		return false
	}
	if t.pinned && i == 0 && float64(e.Ohm) > t.marks[0].ohm+1e-9 {
		return false
	}
	return i < last || float64(e.Ohm) >= t.reach-1e-9
}

func (t *tabler) allowedAll(table []Entry) bool {
	for i := range table {
		if !t.allowed(table, i) {
			return false
		}
	}
	return true
}

// round puts every entry onto the steps; entries that fall together are one.
// The last is rounded up, so that the table still reaches as far.
func (t *tabler) round(table []Entry, readout TableReadout) []Entry {
	var out []Entry
	for i, e := range table {
		if i == len(table)-1 && readout.Step > 0 {
			e.Ohm = quantity.Ohm(min(t.p.mostOhm, readout.up(float64(e.Ohm))))
		}
		e.Ohm = max(e.Ohm, quantity.Ohm(t.p.leastOhm))
		e = onStepsOf(e, readout)
		if n := len(out); n > 0 && e.Ohm <= out[n-1].Ohm {
			if i == len(table)-1 {
				out[n-1] = e
			}
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
	if step := readout.ShareStep; step > 0 {
		e.Share = step * min(quantity.Share(math.Floor(float64(1/step)+1e-9)), quantity.Share(math.Round(float64(e.Share/step))))
	}
	e.Share = min(1, max(0, e.Share))
	return e
}

// through looks for a table on the steps that passes the doors, as a path; not
// ended where the work was used up first.
func (t *tabler) through(readout TableReadout, doors []door, work *int) (path []vertex, ok, ended bool) {
	narrowed, ok := narrow(doors)
	if !ok {
		return nil, false, true
	}
	// Entries are looked for as far as one span of the sender beyond what it
	// gives, on either side: further off, a link into it is all but level.
	first, last := narrowed[0].x, narrowed[len(narrowed)-1].x
	from, to := max(t.p.leastOhm, first-t.p.across), min(t.p.mostOhm, last+t.p.across)
	if t.pinned {
		from, to = first, last
	}
	shares := steps(0, 100, float64(readout.ShareStep)*100)
	if t.sign < 0 {
		for i := range shares {
			shares[i] = 100 - shares[i]
		}
		sort.Float64s(shares)
	}
	var l *lattice
	if readout.Step > 0 {
		columns := steps(from, to, float64(readout.Step))
		if t.pinned && columns[len(columns)-1] < to-1e-9 {
			columns = append(columns, to) // a step that doesn't go into a hundred
		}
		l = upright(narrowed, columns, t.reach, t.pinned)
		l.rows = shares
	} else {
		l = lying(narrowed, shares, from, to, t.reach, t.pinned)
	}
	l.work = work
	if path, ok, ended = l.find(readout.Points - 1); ok && readout.Step == 0 {
		for i := range path {
			path[i].x, path[i].y = path[i].y, path[i].x
			if i > 0 {
				path[i].x = max(path[i].x, path[i-1].x+1e-6)
			}
		}
	}
	return path, ok, ended
}

// steps gives the multiples of a step between two values; none for a step of 0.
func steps(from, to, step float64) []float64 {
	if step == 0 {
		return nil
	}
	var out []float64
	for k := math.Ceil(from/step - 1e-9); k*step <= to+1e-9*step; k++ {
		out = append(out, k*step)
	}
	return out
}
