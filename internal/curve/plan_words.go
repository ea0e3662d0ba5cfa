package curve

import (
	"fmt"
	"strings"

	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
)

// Findings puts a plan into sentences for whoever takes the readings. Doubts
// are about 95 %, twice the standard uncertainty, in points: percent of the
// scale.
func (p Plan) Findings() []finding.Finding {
	var out []finding.Finding
	say := func(format string, args ...any) {
		out = append(out, finding.Finding{Kind: "plan", Text: fmt.Sprintf(format, args...)})
	}
	if p.Limit == LimitOrder {
		say("More readings don't help before the sender keeps one direction.")
		return out
	}
	if len(p.Next) > 0 {
		now, then := points(p.U), points(p.Next[len(p.Next)-1].U)
		switch {
		case p.Limit == LimitSteps:
			say("Read %s: that shows where the steps lie.", p.marks())
		case now == then:
			say("Read %s: the doubt stays at ±%s points at the worst, and falls on the whole.", p.marks(), now)
		default:
			say("Read %s: the doubt falls from ±%s to ±%s points.", p.marks(), now, then)
		}
		if p.beyondRead() {
			say("A mark above %s means filling further than was read: never beyond the permitted fill.", p.Unit.Text(p.Above))
		}
	}
	if text := p.halving(); text != "" {
		say("%s", text)
	}
	switch p.Missing {
	case Down:
		say("Read some marks going down too: none was read both ways, so hysteresis isn't known and isn't in the doubt.")
	case Up:
		say("Read some marks going up too: none was read both ways, so hysteresis isn't known and isn't in the doubt.")
	}
	return out
}

// beyondRead says whether a planned mark means filling more in than was.
func (p Plan) beyondRead() bool {
	if p.Unit != Volume && p.Unit != Mass {
		return false
	}
	for _, n := range p.Next {
		if n.Mark > p.Above {
			return true
		}
	}
	return false
}

// marks lists what to read: "45 % next, then 90 % and 10 %".
func (p Plan) marks() string {
	names := make([]string, len(p.Next))
	for i, n := range p.Next {
		names[i] = p.Unit.Text(n.Mark)
		if n.Again {
			names[i] += " again"
		}
	}
	first := names[0] + " next"
	switch rest := names[1:]; len(rest) {
	case 0:
		return first
	case 1:
		return first + ", then " + rest[0]
	default:
		return first + ", then " + strings.Join(rest[:len(rest)-1], ", ") + " and " + rest[len(rest)-1]
	}
}

// halving says how many readings halve the doubt, or why none do.
func (p Plan) halving() string {
	switch p.Limit {
	case NoLimit:
		if p.Halve == 1 {
			return "One reading halves the doubt."
		}
		return fmt.Sprintf("%d readings halve it.", p.Halve)
	case LimitHysteresis:
		return "More readings can't halve the doubt: the sender's hysteresis stays."
	case LimitMeter:
		if p.Signal != Ohms {
			return "More readings can't halve the doubt: what the meter, its last digit and the marks add stays."
		}
		return "More readings can't halve the doubt: what the meter, its last digit, the leads and the marks add stays."
	case LimitMarks:
		return "More readings can't halve the doubt: the marks stand as close as they can be set by hand."
	case LimitSteps:
		return "More readings can't halve the doubt: the sender moves in steps."
	case LimitKnown:
		return "This curve isn't drawn through readings; what some would be worth depends on where it comes from."
	case LimitCount:
		return fmt.Sprintf("Even %d more readings don't halve the doubt.", MostPlanned)
	}
	return ""
}

// points prints a standard uncertainty in parts of the span as about 95 %, in
// points.
func points(u float64) string {
	v := 200 * u
	if v < 0.1 {
		return quantity.Digits(v, 2)
	}
	return quantity.Digits(v, 1)
}
