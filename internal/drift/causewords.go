package drift

import (
	"fmt"
	"math"

	"gaugewright/internal/quantity"
)

// nouns name the causes in a sentence.
var nouns = map[Cause]string{
	Series:  "resistance added in series",
	Leak:    "a leak beside the sender",
	Shift:   "a shifted mark",
	Lever:   "a changed arm",
	Gain:    "a change in proportion",
	Offset:  "an even shift of all values",
	Wear:    "wear at one place",
	Dead:    "a stretch that stands still",
	Open:    "an open stretch",
	Misread: "one reading misread",
	Unnamed: "something else",
}

func noun(c Cause) string { return nouns[c] }

// causeWords says what a cause is and what to look at.
func (b *bench) causeWords(f fitted) string {
	p, _ := b.shown(f.cause, f.parameter)
	u, _ := b.shown(f.cause, 2*f.u)
	amount := fmt.Sprintf("%s ± %s", b.signed(f.parameter), b.signal.Text(quantity.Ohm(2*f.u)))
	percent := func() string {
		return fmt.Sprintf("%s ± %s %%", quantity.Minus(quantity.Digits(p, 1)), quantity.Digits(u, 1))
	}
	var where string
	if f.to > f.from && f.to <= len(b.places) {
		from, to := b.unit.Text(b.places[f.from].mark), b.unit.Text(b.places[f.to-1].mark)
		where = "from " + from + " to " + to
		if from == to {
			where = "at " + from
		}
	}
	switch f.cause {
	case Series:
		return fmt.Sprintf("It looks like resistance added in series, %s: a corroded joint or earth, or test leads that were not taken off.", amount)
	case Leak:
		return fmt.Sprintf("It looks like a leak beside the sender, about %s: a wet or dirty connector.", leakText(f.parameter))
	case Shift:
		way := "higher"
		if f.parameter < 0 {
			way = "lower"
		}
		return fmt.Sprintf("It looks as if the sender stood %s ± %s %s than the mark says: a bent arm, or a dial that slipped.",
			b.unit.Text(math.Abs(f.parameter)), b.unit.Text(2*f.u), way)
	case Lever:
		return fmt.Sprintf("It looks as if the sender's arm moved in another proportion, by %s: a bent or shortened arm.", percent())
	case Gain:
		if !b.ohmic() {
			return fmt.Sprintf("It looks as if all %s had changed in proportion, by %s: another supply, another meter, or the sender's electronics.", b.signal.Figures(), percent())
		}
		return fmt.Sprintf("It looks as if all %s had changed in proportion, by %s: another temperature, another meter, or a track that aged evenly.", b.signal.Figures(), percent())
	case Offset:
		return fmt.Sprintf("It looks as if all %s had moved alike, by %s: a poor earth or common wire, or a shifted zero.", b.signal.Figures(), amount)
	case Wear:
		return fmt.Sprintf("It looks like wear at one place: %s it is off by %s while the rest is as before.", where, amount)
	case Dead:
		return fmt.Sprintf("It looks as if the sender stood still %s, at %s: a hanging float, or a track that is dead there.", where, b.signal.Text(quantity.Ohm(f.parameter)))
	case Open:
		return fmt.Sprintf("It looks like an open stretch of the track: %s the value lies %s and more off the record.", where, b.signal.Text(quantity.Ohm(f.parameter)))
	case Misread:
		return fmt.Sprintf("Only the reading %s is off, by %s: read it again. If it comes again, the track is worn there.", where, amount)
	}
	return "None of the causes looked for explains the change; look at the float or dial, the joints and the track, and read all marks again."
}

// leakText gives a leak in ohms: what stands beside the sender.
func leakText(siemens float64) string {
	ohm := 1 / siemens
	if ohm >= 10_000 {
		return quantity.Digits(ohm/1000, 0) + " kΩ"
	}
	if ohm >= 1000 {
		return quantity.Digits(ohm/1000, 1) + " kΩ"
	}
	return quantity.Digits(ohm, 0) + " Ω"
}
