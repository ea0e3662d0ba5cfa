package job

import (
	"math"

	"gaugewright/internal/strict"
)

// known refuses a known curve that can't be, or that is of something else than the
// tank's readings.
func (r *ruler) known(t Tank) {
	k := t.Sender.Known
	place := func(names ...any) []any { return append([]any{"sender", "known"}, names...) }
	unit, signal, ok := knownIn(k)
	if !ok {
		return // the schema has said so
	}
	told := len(r.problems)
	if is := t.Unit(); is != unit {
		r.say(place("marks"), "the marks of the known curve are in %s, and those of the tank are in %s; the two can't be put together", unit.Symbol(), is.Symbol())
	}
	if is := t.Signal(); is != signal {
		r.say(place("gives"), "the known curve gives %s, and the readings are in %s; the two can't be put together", strict.Quoted(k.Gives), is.Figures())
	}
	for i, n := range k.Knots {
		if n.Mark > unit.Limit() {
			r.say(place("knots", i, "mark"), "found %g, expected up to %g, as the marks are in %s", n.Mark, unit.Limit(), unit.Symbol())
		}
		if i > 0 && !(n.Mark > k.Knots[i-1].Mark) {
			r.say(place("knots", i, "mark"), "%g after %g; the marks of the knots rise from each to the next", n.Mark, k.Knots[i-1].Mark)
		}
		r.within(place("knots", i, "value"), signal, n.Value)
		if len(n.Modes) != len(k.Knots[0].Modes) {
			r.say(place("knots", i, "modes"), "a list of %d, and the first knot has %d; every knot has the same modes", len(n.Modes), len(k.Knots[0].Modes))
			continue
		}
		parts := n.Floor * n.Floor
		for _, m := range n.Modes {
			parts += m * m
		}
		if math.Sqrt(parts) > n.U*(1+1e-6)+1e-9 {
			r.say(place("knots", i, "u"), "found %g, and floor and modes together come to %g; they are parts of it", n.U, math.Sqrt(parts))
		}
	}
	if err := k.Check(); err != nil && len(r.problems) == told {
		r.say(place(), "%v", err)
	}
}
