package sitting

import (
	"fmt"

	"gaugewright/internal/curve"
	"gaugewright/internal/job"
)

// Next is the next mark to go to.
type Next struct {
	Known bool        // false: there is none to name, and Words say why
	Mark  float64     // share, m, m³ or kg, in the unit of the bench
	Sweep curve.Sweep // the way by which to come to it
	First bool        // it belongs to the first two sweeps
	Words string      // for a person: "next: 40 %, going up"
}

// Suggest says which mark to go to next. Where the dial or the float stands now
// may be given, as it is inside; nil stands for the mark of the last reading.
//
//   - A sender of which it is known how units of its type differ goes by the type's
//     own plan, for as long as its readings don't refuse the type: two or three
//     marks. One that is refused is read as any other.
//   - A mark at which the curve sets aside all that was read comes first: it is
//     to be read once more; and so is one whose two readings lie so far apart, by
//     what is usual at the others, that one of them must be wrong.
//   - Then a first sweep over the marks of [Ladder], from the bottom up, and the
//     same marks down again. Someone who begins at the top goes down first. Within
//     a sweep a mark that was passed isn't asked for any more, whether it was
//     skipped, read or read twice, or others were read in its place. Turning
//     round early is turning round: once the second sweep has come to its end,
//     both are done.
//   - Then the best reading of [curve.Curve.Plan], for as long as a few of them
//     are worth taking.
//
// No mark lies outside [Reach], and so none poured or weighed beyond the
// permitted fill.
func Suggest(t job.Tank, sweep curve.Sweep, at *float64) Next {
	low, high, err := Reach(t)
	if err != nil {
		return Next{Words: err.Error()}
	}
	sheet, err := t.Sheet()
	if err != nil {
		return Next{Words: err.Error()}
	}
	p := passOf(sheet.Readings, ladder(sheet.Unit, low, high), sweep, at)
	n, ok, refused := ofType(t, sheet, low, high, p)
	if ok {
		return n
	}
	c, err := curve.Fit(sheet, curve.Options{Doubts: t.Doubts()})
	sheet.Readings = leadsOff(t, sheet.Readings)
	if err == nil {
		within := func(i int) bool { return sheet.Readings[i].Mark >= low && sheet.Readings[i].Mark <= high }
		if i, ok := toRepeat(c, sheet.Readings); ok && within(i) {
			return again(sheet.Unit, sheet.Readings[i], p, "the last reading there doesn't go with the others")
		}
		if i, apart, ok := toSettle(c, sheet.Readings); ok && within(i) {
			return again(sheet.Unit, sheet.Readings[i], p, fmt.Sprintf("the readings there lie %s apart", sheet.Signal.Text(apart)))
		}
	}
	if n, ok := p.next(sheet.Unit); ok {
		if refused {
			n.Words += "; it isn't of its type, so it is read in full"
		}
		return n
	}
	if err != nil {
		return Next{Words: fmt.Sprintf("no curve can be made of these readings yet, so it can't be told where more are needed: %v", err)}
	}
	return planned(c, low, high, p)
}

// again asks for a doubtful reading once more.
func again(unit curve.MarkUnit, r curve.Reading, p pass, because string) Next {
	return Next{Known: true, Mark: r.Mark, Sweep: r.Sweep,
		Words: fmt.Sprintf("%s once more%s: %s", unit.Text(r.Mark), going(r.Sweep, r.Mark, p.stands), because)}
}

// going gives ", going up", ", going down" or nothing; for a mark that lies behind
// where the sender stands, with from where.
func going(s curve.Sweep, mark, stands float64) string {
	switch {
	case s == curve.Up && mark < stands:
		return ", going up from below it"
	case s == curve.Down && mark > stands:
		return ", going down from above it"
	case s == curve.Unstated:
		return ""
	}
	return ", going " + s.String()
}
