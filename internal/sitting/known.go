package sitting

import (
	"fmt"
	"math"

	"gaugewright/internal/curve"
	"gaugewright/internal/job"
	"gaugewright/internal/kin"
	"gaugewright/internal/quantity"
)

// A sender of a known type isn't read in full: typeLeast readings at the least say
// whether it is one of them, and where typeMost can't say it is read as any other
// (common practice, no source).
const (
	typeLeast = 2
	typeMost  = 5
)

// ofType gives the next mark of a sender that is thought to be of a known type: the
// one that leaves the least doubt on the whole. False where nothing is known of how
// units differ, where the readings refuse the type, or where they can't tell and
// there are enough of them; refused says which.
func ofType(t job.Tank, sheet curve.Sheet, low, high float64, p pass) (n Next, ok, refused bool) {
	known := t.Sender.Known
	if known == nil || !known.Differs() {
		return Next{}, false, false
	}
	o := curve.Options{Doubts: t.Doubts()}
	judgement := kin.CantTell
	have := make([]float64, len(sheet.Readings))
	for i, r := range sheet.Readings {
		have[i] = r.Mark
	}
	if len(have) > 0 {
		_, v, err := known.With(sheet, o)
		if err != nil {
			return Next{}, false, false
		}
		judgement = v.Judgement
	}
	if judgement == kin.Refused || judgement == kin.CantTell && len(have) >= typeMost {
		return Next{}, false, judgement == kin.Refused
	}
	plan, err := known.Plan(kin.MostPlanned, o, have...)
	if err != nil {
		return Next{}, false, false
	}
	if judgement == kin.Accepted && len(have) >= typeLeast && plan.Enough == 0 {
		return Next{Words: fmt.Sprintf("more readings hardly help: the sender is accepted as one of its type, and the doubt is ±%s points at the worst mark", points(plan.Worst))}, true, false
	}
	for _, next := range plan.Next {
		// What lies beyond the permitted fill isn't read, whatever the type's units were.
		if next.Mark < low || next.Mark > high {
			continue
		}
		unit := sheet.Unit
		n = Next{Known: true, Mark: next.Mark, Sweep: p.towards(next.Mark)}
		n.Words = "next: " + unit.Text(n.Mark) + going(n.Sweep, n.Mark, p.stands)
		if math.IsNaN(p.stands) {
			n.Words = "begin at " + unit.Text(n.Mark)
		}
		n.Words += "; it tells most of a sender of this type"
		return n, true, false
	}
	return Next{}, false, false
}

// leadsOff gives readings as a curve of the tank has them: without the shorted test
// leads.
func leadsOff(t job.Tank, readings []curve.Reading) []curve.Reading {
	leads := t.Doubts().Leads
	if leads == 0 {
		return readings
	}
	out := make([]curve.Reading, len(readings))
	for i, r := range readings {
		r.Ohm = quantity.Ohm(quantity.Round(float64(r.Ohm-leads), 9))
		out[i] = r
	}
	return out
}
