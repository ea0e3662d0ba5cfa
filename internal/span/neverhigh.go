package span

import (
	"fmt"

	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
)

// ease lets the readings at 0 % be shown as more, each point too high counting
// like one too low, and says so; nothing where there is no such reading or the
// sender rises.
//
// A falling sender gives its greatest ohms at empty, and the lower value must
// stay beyond them by the margin, so that an empty tank isn't taken for a broken
// wire. So its display can't show 0 there, whatever is keyed in.
func (p *problem) ease() finding.Finding {
	eased := false
	for i, r := range p.readings {
		if p.sign < 0 && r.target <= 0 {
			p.readings[i].up, p.readings[i].slack = 1, 0
			eased = true
		}
	}
	if !eased {
		return finding.Finding{}
	}
	return finding.Finding{Kind: "high-at-empty", Weight: finding.Doubt, Text: "At empty itself the display shows a little more than nothing: the lower value lies beyond the sender's greatest ohms by the margin and the step, or an empty tank would be taken for a broken wire. At every other reading it shows no more than there is."}
}

// tooHigh says that every pair shows more than there is somewhere, what the
// least is that it can be kept to, and what would help.
func (p *problem) tooHigh() error {
	// The same readings with too high the only thing that counts.
	q := *p
	q.objective = NearEmpty // reckoned with weights, by those set here
	q.readings = append([]at(nil), p.readings...)
	for i := range q.readings {
		q.readings[i].up, q.readings[i].down, q.readings[i].slack = 1, never, 0
	}
	excess, best, ok := q.relax()
	if !ok {
		return p.noPair()
	}
	if q.readout.Step > 0 {
		if on, _, err := q.search(best); err == nil {
			excess = q.worst(on)
		}
	}
	text := fmt.Sprintf("no end values keep the display from showing more than there is: with a margin of %s Ω", quantity.Short(float64(p.margin), 2))
	if p.readout.Lowest > 0 {
		text += fmt.Sprintf(", no less than %s Ω", quantity.Short(float64(p.readout.Lowest), 3))
	}
	if p.readout.Highest > 0 {
		text += fmt.Sprintf(", no more than %s Ω", quantity.Short(float64(p.readout.Highest), 3))
	}
	if p.readout.Step > 0 {
		text += fmt.Sprintf(" and steps of %s Ω", quantity.Short(float64(p.readout.Step), 3))
	}
	return &NoChoiceError{text + fmt.Sprintf(" it can be kept to %s points too high; give it more room (a smaller margin or step, a lesser lowest or a greater highest value), or choose for near-empty",
		quantity.Digits(max(0.01, excess), 2))}
}

// never is how many points too low score one where too low doesn't count.
const never = 1e9
