package span

import (
	"fmt"
	"sort"
	"strings"

	"gaugewright/internal/curve"
	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
)

// Correction is one line of a correction table: the percentage that comes in,
// as a share 0..1, and what is shown for it.
type Correction struct{ In, Out quantity.Share }

// EndsThenTable is the setting of a readout that first reckons a percentage
// from two end values and then corrects it by a table: the first line at 0 %,
// the last at 100 %, straight between.
type EndsThenTable struct {
	Ends  Ends
	Table []Correction
}

// Show gives 100·(R−L)/(U−L), held to 0..100 and corrected, as a share.
func (e EndsThenTable) Show(ohm quantity.Ohm) quantity.Share {
	return e.percents().Show(quantity.Ohm(e.Ends.Show(ohm) * 100))
}

// percents is the correction as a table whose "ohms" are percents.
func (e EndsThenTable) percents() Table {
	table := make(Table, len(e.Table))
	for i, c := range e.Table {
		table[i] = Entry{quantity.Ohm(c.In * 100), c.Out}
	}
	return table
}

// Texts gives the percentages in and out as they are keyed in.
func (e EndsThenTable) Texts() (in, out []string) { return e.percents().Texts() }

// String gives "0 and 101, then 0→0 %, 48→51 %, 100→100 %".
func (e EndsThenTable) String() string {
	parts := make([]string, len(e.Table))
	for i, c := range e.Table {
		parts[i] = quantity.Short(float64(c.In)*100, 2) + "→" + c.Out.String()
	}
	return e.Ends.String() + ", then " + strings.Join(parts, ", ")
}

// BestEndsThenTable gives two end values and a correction table of at most so
// many points, the first at 0 % and the last at 100 %.
//
// The end values hold the sender's whole travel between them, beyond its
// greatest ohms by the margin, as closely as the readout's steps and limits
// allow. (Wider ends do no better: every line that a wider pair could use
// passes these ends within 0..100 too.) The percentage reckoned from them is a
// straight function of the ohms, so the table is found as any other, in
// percents: see [BestTableFor]. ShareStep is the step of the percentages in and
// out. LowerBound holds for any values, ends and table, that hold the travel;
// Proven and Gap are for the table behind these ends.
func BestEndsThenTable(c *curve.Curve, s scale.Scale, readout TableReadout, margin Margin, objective Objective) (Choice, error) {
	if err := readout.check(); err != nil {
		return Choice{}, err
	}
	p, err := newProblem(c, s, readout.Readout, margin, objective)
	if err != nil {
		return Choice{}, err
	}
	if p.objective == RMS {
		return Choice{}, &NoChoiceError{"the least root-mean-square error isn't sought for two end values and a table together; choose worst, near-empty or never-high, or a readout with end values or a table alone"}
	}
	ends, notes := p.holding(c)
	inPercents := TableReadout{Readout: Readout{Step: quantity.Ohm(readout.ShareStep) * 100}, Points: readout.Points, ShareStep: readout.ShareStep}
	found, err := newTabler(p, c, s).inPercents(ends).best(inPercents)
	if err != nil {
		return Choice{}, err
	}
	if readout.Step > 0 {
		// The bound is for the closest ends of any value.
		q := *p
		q.readout.Step = 0
		tight, _ := q.holding(c)
		free, err := newTabler(&q, c, s).inPercents(tight).best(TableReadout{Points: readout.Points})
		if err != nil {
			return Choice{}, err
		}
		found.bound = min(found.bound, free.bound)
	}
	setting := EndsThenTable{Ends: ends}
	for _, e := range found.table {
		setting.Table = append(setting.Table, Correction{quantity.Share(e.Ohm / 100), e.Share})
	}
	choice := p.chosen(c, s, setting, found)
	choice.Findings = append(choice.Findings, notes...)
	if len(found.table) < readout.Points {
		choice.Findings = append(choice.Findings, finding.Finding{Kind: "enough", Text: fmt.Sprintf(
			"%d points are enough: more would not make it better.", len(found.table))})
	}
	if unseen := p.unseen(c, s); unseen != "" {
		choice.Findings = append(choice.Findings, finding.Finding{Kind: "not-reached", Weight: finding.Doubt, Text: unseen})
	}
	choice.Findings = append(choice.Findings, shortOf(c, s)...)
	return choice, nil
}

// holding gives the closest end values that hold the sender's whole travel, the
// greatest ohms with the margin, and what the readout's limits don't let in.
func (p *problem) holding(c *curve.Curve) (Ends, []finding.Finding) {
	least, greatest := c.Range()
	low := max(p.leastOhm, p.readout.down(float64(least)))
	high := min(p.mostOhm, max(p.readout.up(p.inside), p.readout.up(float64(greatest)+float64(p.margin))))
	if low >= high {
		low = high - max(float64(p.readout.Step), 1e-3*high)
	}
	var notes []finding.Finding
	if low > float64(least)+1e-9 || high < float64(greatest)-1e-9 {
		notes = append(notes, finding.Finding{Kind: "limits", Weight: finding.Doubt, Text: fmt.Sprintf(
			"The sender gives %s to %s, more than the readout takes: what lies beyond is shown as the end.", c.Signal().Text(least), c.Signal().Text(greatest))})
	}
	if p.sign < 0 {
		return Ends{Lower: quantity.Ohm(high), Upper: quantity.Ohm(low)}, notes
	}
	return Ends{Lower: quantity.Ohm(low), Upper: quantity.Ohm(high)}, notes
}

// inPercents gives the tabler of a correction table behind two end values:
// percents in place of ohms, which rise with what should be shown for falling
// senders too, and entries pinned to 0 and 100.
func (t *tabler) inPercents(ends Ends) *tabler {
	q := *t.p
	q.sign, q.leastOhm, q.mostOhm = 1, 0, 100
	in := &tabler{p: &q, sign: 1, reach: 100, pinned: true}
	for _, m := range t.marks {
		if m.kind == reach {
			continue
		}
		if t.sign < 0 {
			m = slot{m.ohm, 100 - m.target, m.kind, m.down, m.up, m.below, m.above}
		}
		m.ohm = float64(ends.Show(quantity.Ohm(m.ohm))) * 100
		in.marks = append(in.marks, m)
	}
	for _, percent := range []float64{0, 100} {
		in.marks = append(in.marks, slot{ohm: percent, target: percent, kind: reach, up: 1, down: 1})
	}
	sort.SliceStable(in.marks, func(a, b int) bool { return in.marks[a].ohm < in.marks[b].ohm })
	return in
}
