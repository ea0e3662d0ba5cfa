package span

import (
	"fmt"
	"sort"

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
// the readings is least, the entries standing wherever that needs them. Among
// tables that do equally well it takes the one that follows the fitted curve
// best between the readings. The table reaches beyond the sender's greatest
// ohms by the margin, as for end values.
//
// For a given worst error E every reading is a door of height 2E that the
// polyline of the table must pass; the fewest entries for E come from thread,
// and E is found by halving. Without steps the result is the least there is.
// With steps the entries are rounded and then moved step by step for as long
// as that helps; what that may have missed is Worst − LowerBound at the most.
func BestTable(c *curve.Curve, s scale.Scale, readout TableReadout, margin Margin) (Choice, error) {
	if readout.Points < 2 || readout.Points > 1000 {
		return Choice{}, &NoChoiceError{fmt.Sprintf("a table of %d points can't be made; expected 2 to 1000", readout.Points)}
	}
	if !(readout.ShareStep >= 0 && readout.ShareStep <= 0.25) {
		return Choice{}, &NoChoiceError{fmt.Sprintf("a step of %s in what is shown isn't a step; expected 0 %% (any value) to 25 %%", readout.ShareStep)}
	}
	p, err := newProblem(c, s, readout.Readout, margin)
	if err != nil {
		return Choice{}, err
	}
	t := newTabler(p, c, s)
	links := readout.Points - 1
	bound, e, _ := t.least(links, 1e-10, func(e float64) []door { return t.doors(e, 100) })
	slack := e + 1e-9
	_, _, path := t.least(links, 1e-7, func(d float64) []door { return t.doors(slack, d) })
	table := t.table(path)
	if readout.Step > 0 || readout.ShareStep > 0 {
		if table, err = t.onSteps(table, readout, c, s); err != nil {
			return Choice{}, err
		}
	}
	choice := Choice{Trial: Try(c, s, table), LowerBound: quantity.Share(bound / 100), Margin: p.margin}
	choice.LowerBound = min(choice.LowerBound, choice.Worst)
	_, why := margin.Over(c)
	choice.Findings = append(choice.Findings, finding.Finding{Kind: "margin", Text: why})
	if len(table) < readout.Points {
		choice.Findings = append(choice.Findings, finding.Finding{Kind: "enough", Text: fmt.Sprintf(
			"%d points are enough: more would not make it better.", len(table))})
	}
	if unseen := p.unseen(c, s); unseen != "" {
		choice.Findings = append(choice.Findings, finding.Finding{Kind: "not-reached", Weight: finding.Doubt,
			Text: unseen + " A table holds its end value there."})
	}
	return choice, nil
}

// least finds by halving the least height, in points, at which the doors can be
// threaded with so many links: the last height shown to be impossible, the
// least found possible, and the path for that.
func (t *tabler) least(links int, precision float64, doors func(height float64) []door) (bound, height float64, path []vertex) {
	try := func(h float64) bool {
		narrowed, ok := narrow(doors(h))
		if !ok {
			return false
		}
		found, ok := thread(narrowed, links, t.reach)
		if ok {
			path = found
		}
		return ok
	}
	if try(0) {
		return 0, 0, path
	}
	lo, hi := 0.0, 100.0
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

// tabler holds what the doors are made of. For a falling sender the percents
// are turned, 100 − target, so that they rise with the ohms.
type tabler struct {
	sign  float64
	marks []slot  // rising in ohms
	reach float64 // the ohms before which the last entry must not stand

	room []door // where doors are made, again and again
}

// slot is one place on the ohms axis with a target that rises along it.
type slot struct {
	ohm, target float64
	kind        slotKind
}

type slotKind int

const (
	reading slotKind = iota // the table is judged here
	between                 // the curve passes here
	reach                   // the table must reach to here, no more
)

func newTabler(p *problem, c *curve.Curve, s scale.Scale) *tabler {
	t := &tabler{sign: p.sign}
	add := func(ohm, target float64, kind slotKind) {
		if p.sign < 0 {
			ohm, target = -ohm, 100-target
		}
		t.marks = append(t.marks, slot{ohm, target, kind})
	}
	for _, r := range p.readings {
		add(r.ohm, r.target, reading)
	}
	points := c.Points()
	// Enough places between the readings to hold the table to the curve there,
	// and no more than keeps this quick.
	pieces := min(16, max(2, 400/len(points)))
	for i := range len(points) - 1 {
		for k := range pieces {
			mark := points[i].Mark + float64(k)/float64(pieces)*(points[i+1].Mark-points[i].Mark)
			add(p.sign*float64(c.Ohm(mark, curve.Refuse).Ohm), float64(s.Target(mark))*100, between)
		}
	}
	// Where the greatest ohms stand, with their margin; any share will do there.
	endOhm, endTarget := p.lowestUpper, 100.0
	if p.sign < 0 {
		endOhm, endTarget = p.highestLower, 0
	}
	add(endOhm, endTarget, reach)
	t.reach = p.sign * endOhm
	sort.SliceStable(t.marks, func(a, b int) bool { return t.marks[a].ohm < t.marks[b].ohm })
	return t
}

// doors gives the doors for a worst error of e points at the readings and of d
// along the curve between them. They stand until it is asked again.
func (t *tabler) doors(e, d float64) []door {
	doors := t.room[:0]
	for _, m := range t.marks {
		height := 100.0
		switch m.kind {
		case reading:
			height = e
		case between:
			if d >= 100 {
				continue
			}
			height = d
		}
		doors = append(doors, door{m.ohm, max(0, m.target-height), min(100, m.target+height)})
	}
	t.room = doors
	return doors
}

// table turns a path into entries in rising order of ohms.
func (t *tabler) table(path []vertex) Table {
	var table Table
	for _, v := range path {
		e := Entry{quantity.Ohm(v.x), quantity.Share(min(100, max(0, v.y)) / 100)}
		if t.sign < 0 {
			e.Share = 1 - e.Share
		}
		if n := len(table); n > 0 && float64(e.Ohm-table[n-1].Ohm) < 1e-9 {
			table[n-1] = e
			continue
		}
		table = append(table, e)
	}
	return table
}
