package span

import (
	"fmt"
	"math"
	"strings"

	"gaugewright/internal/curve"
	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
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
	return finding.Finding{Kind: "high-at-empty", Weight: finding.Doubt, Text: "At empty itself the display shows a little more than nothing: the lower value lies beyond the sender's greatest " + p.signal.Figures() + " by the margin and the step, or an empty tank would be taken for " + trouble(p.signal) + ". At every other reading it shows no more than there is."}
}

// tooHigh says that every pair shows more than there is somewhere, and what the
// least is that it can be kept to.
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
	return &NoChoiceError{fmt.Sprintf("no end values keep the display from showing more than there is: with a margin of %s%s it can be kept to %s points too high",
		short(p.signal, float64(p.margin)), p.readout.words(p.signal), quantity.Digits(max(0.01, excess), 2))}
}

// words names what limits a readout: ", no more than 90 Ω, steps of 1 Ω".
func (r Readout) words(signal curve.Signal) string {
	symbol := signal.Unit()
	text := ""
	if r.Lowest > 0 {
		text += fmt.Sprintf(", no less than %s %s", quantity.Short(float64(r.Lowest), 3), symbol)
	}
	if r.Highest > 0 {
		text += fmt.Sprintf(", no more than %s %s", quantity.Short(float64(r.Highest), 3), symbol)
	}
	if r.Step > 0 {
		text += fmt.Sprintf(", steps of %s %s", quantity.Short(float64(r.Step), 6), symbol)
	}
	return text
}

// never is how many points too low score one where too low doesn't count.
const never = 1e9

// cure adds to such an error the nearest constraint that would do, each of them
// being let off by itself.
func (e *NoChoiceError) cure(c *curve.Curve, s scale.Scale, readout Readout, margin Margin) *NoChoiceError {
	can := func(readout Readout, margin Margin) bool {
		p, err := newProblem(c, s, readout, margin, NeverHigh)
		if err != nil {
			return false
		}
		if _, _, _, err = p.leastWorst(p.natural(c, s)); err != nil && p.ease().Kind != "" {
			_, _, _, err = p.leastWorst(p.natural(c, s))
		}
		return err == nil
	}
	var cures []string
	digit := math.Pow(10, float64(c.Signal().Decimals()+1)) // of what is told
	// nearest halves its way from a value that does to the one that doesn't.
	nearest := func(does, doesnt float64, try func(v float64) bool, format string) {
		if does == doesnt || !try(does) {
			return
		}
		for range 40 {
			if mid := (does + doesnt) / 2; try(mid) {
				does = mid
			} else {
				doesnt = mid
			}
		}
		// To a digit that still does.
		v := math.Floor(does*digit) / digit
		if does > doesnt {
			v = math.Ceil(does*digit) / digit
		}
		if !try(v) {
			v = does
		}
		cures = append(cures, fmt.Sprintf(format, quantity.Short(v, 4)+" "+c.Signal().Unit()))
	}
	ohm, _ := margin.Over(c, s)
	nearest(0, float64(ohm), func(v float64) bool { return can(readout, Margin{Ohm: quantity.Ohm(v)}) }, "a margin of %s")
	nearest(0, float64(readout.Lowest), func(v float64) bool {
		r := readout
		r.Lowest = quantity.Ohm(v)
		return can(r, margin)
	}, "a lowest value of %s")
	if readout.Highest > 0 {
		nearest(10*float64(readout.Highest), float64(readout.Highest), func(v float64) bool {
			r := readout
			r.Highest = quantity.Ohm(v)
			return can(r, margin)
		}, "a highest value of %s")
	}
	for step := readout.Step / 2; step >= readout.Step/1000 && step > 0; step /= 2 {
		r := readout
		r.Step = step
		if can(r, margin) {
			cures = append(cures, fmt.Sprintf("steps of %s %s", quantity.Short(float64(step), 6), c.Signal().Unit()))
			break
		}
	}
	if len(cures) == 0 {
		bent := "the sender is bent"
		if s.Bend() >= 0.005 {
			bent = "the sender or the tank is bent"
		}
		return &NoChoiceError{e.Text + ", because " + bent + "; use a readout that takes a table, or choose for near-empty"}
	}
	return &NoChoiceError{e.Text + "; " + strings.Join(cures, ", or ") + " would do"}
}
