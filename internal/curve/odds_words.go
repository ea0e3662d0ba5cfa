package curve

import (
	"fmt"
	"math"
	"strings"

	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
)

// OddsFindings puts the odds of claims, or of the usual spans, into sentences,
// the most probable first. A curve without order gives none: its findings say
// what is wrong.
func (c *Curve) OddsFindings(o Odds) []finding.Finding {
	if !c.Ordered() || len(o.List) == 0 {
		return nil
	}
	if o.Usual {
		return c.familyFindings(o)
	}
	var out []finding.Finding
	add := func(weight finding.Weight, format string, args ...any) {
		out = append(out, finding.Finding{Kind: "claim", Weight: weight, Text: fmt.Sprintf(format, args...)})
	}
	agreed, possible := 0, false
	for _, d := range o.List {
		possible = possible || d.Verdict != RulesOut
		switch {
		case d.Verdict == Agrees && agreed == 0:
			add(finding.Note, "Agrees with %s over %s (%s), %s.", c.named(d.Stated), c.reach(o), finding.InHundred(d.Probability), c.within(d))
			agreed++
		case d.Verdict == Agrees:
			add(finding.Note, "Agrees with %s too, %s (%s), %s.", c.named(d.Stated), comparison(o.List[0].Probability, d.Probability), finding.InHundred(d.Probability), c.within(d))
			agreed++
		case d.Verdict == RulesOut && d.direction() != c.direction:
			add(finding.Note, "Rules out %s: its %s %s as the mark goes up, and these %s.", c.named(d.Stated), c.signal.Figures(), goes(d.direction()), goes(c.direction))
		case d.Verdict == RulesOut && d.Ends:
			add(finding.Note, "Rules out %s on a straight line, though both ends fit: %s.", c.named(d.Stated), c.against(d))
		case d.Verdict == RulesOut:
			add(finding.Note, "Rules out %s: %s.", c.named(d.Stated), c.against(d))
		case d.Ends && d.Probability >= ruledOut && o.between(d.Mark):
			add(finding.Note, "Can't decide on %s: both ends fit it (%s), but it doesn't run straight between them: %s.", c.named(d.Stated), finding.InHundred(d.Probability), c.against(d))
		case d.Worst > d.Tolerance+c.strayAllowance(o.share(d.Mark)):
			add(finding.Note, "Can't decide on %s (%s): %s, %s of span off where %s is allowed.",
				c.named(d.Stated), finding.InHundred(d.Probability), c.against(d), percent(d.Worst), percent(d.Tolerance+c.strayAllowance(o.share(d.Mark))))
		default:
			add(finding.Note, "Can't decide on %s (%s): the marks read are within %s of it, but they point to %s: read nearer to the ends.",
				c.named(d.Stated), finding.InHundred(d.Probability), percent(d.Tolerance), c.pointTo(o))
		}
	}
	for _, t := range o.Twice {
		add(finding.Note, "%s is claimed more than once and counted once.", c.named(Stated{Claim: t}))
	}
	if !possible {
		add(finding.Doubt, "None of the claimed spans fits: go by the readings, not by the data sheet.")
	}
	return out
}

// familyFindings says which of the usual spans the sender looks like.
func (c *Curve) familyFindings(o Odds) []finding.Finding {
	say := func(text string) []finding.Finding { return []finding.Finding{{Kind: "family", Text: text}} }
	short := ""
	if first, last := c.points[0].Mark, c.points[len(c.points)-1].Mark; last-first < 0.8*(o.Full-o.Empty) {
		verb := "was read"
		if c.known() {
			verb = "is known"
		}
		short = fmt.Sprintf(" Only %s to %s %s; marks nearer to the ends would tell more.", c.unit.Figure(first), c.unit.Text(last), verb)
	}
	if o.None >= 0.5 {
		return say(fmt.Sprintf("Fits none of the usual spans (%s): the %s to %s.%s", finding.InHundred(o.None), c.pointing(), c.pointTo(o), short))
	}
	// Those that together make up nine in ten of what is left beside none.
	var names []string
	sum := 0.0
	for _, d := range o.List {
		if sum >= 0.9*(1-o.None) {
			break
		}
		sum += d.Probability
		names = append(names, fmt.Sprintf("%s (%s)", c.named(d.Stated), finding.InHundred(d.Probability)))
	}
	switch first := o.List[0]; {
	case len(names) == 1 && first.Worst > 0.7*first.Tolerance && first.Verdict == Agrees:
		return say(fmt.Sprintf("Looks most like the usual %s, though %s.%s", names[0], c.within(first), short))
	case len(names) == 1 && first.Verdict != Agrees && !first.Ends:
		return say(fmt.Sprintf("Looks most like the usual %s, but %s.%s", names[0], c.against(first), short))
	case len(names) == 1:
		return say("Looks like the usual " + names[0] + "." + short)
	case len(names) > 4:
		return say("Could be any of several usual spans, most likely " + names[0] + ": these readings can't tell them apart." + short)
	}
	last := len(names) - 1
	return say("Looks like one of the usual spans " + strings.Join(names[:last], ", ") + " or " + names[last] + "." + short)
}

// pointTo says what the readings tell of both ends.
func (c *Curve) pointTo(o Odds) string {
	if 2*float64(max(o.EndU[0], o.EndU[1])) > math.Abs(float64(o.EndOhm[1]-o.EndOhm[0])) {
		return "nothing certain at the ends"
	}
	return fmt.Sprintf("%s at %s and %s at %s", c.give(max(0, o.EndOhm[0]), o.EndU[0]), c.unit.Text(o.Empty), c.give(max(0, o.EndOhm[1]), o.EndU[1]), c.unit.Text(o.Full))
}

// pointing names what the end values are told from, and its verb.
func (c *Curve) pointing() string {
	if c.known() {
		return "curve points"
	}
	return "readings point"
}

func goes(d Direction) string {
	if d == Falling {
		return "fall"
	}
	return "rise"
}

func (c *Curve) named(s Stated) string {
	return fmt.Sprintf("%s to %s %s", quantity.Short(float64(s.Empty), 3), quantity.Short(float64(s.Full), 3), c.signal.Unit())
}

// between says that a mark is neither at the one end nor at the other.
func (o *Odds) between(mark float64) bool {
	s := o.share(mark)
	return s > 0.02 && s < 0.98
}

// reach says between which marks the claimed ends stand: "the dial from 0 to
// 100 %".
func (c *Curve) reach(o Odds) string {
	what := "the marks"
	if c.unit == Dial {
		what = "the dial"
	}
	return fmt.Sprintf("%s from %s to %s", what, c.unit.Figure(o.Empty), c.unit.Text(o.Full))
}

// within says how near a claim is that agrees. Where the marks are quantities
// that is told of the ends alone.
func (c *Curve) within(d Odd) string {
	switch {
	case c.strayAllowance(0.5) > 0:
		return "as far as its ends go: between them the tank's shape counts too"
	case d.Worst < 0.0005:
		return "nowhere off"
	}
	return fmt.Sprintf("at most %s of span off (at %s)", percent(d.Worst), c.unit.Text(d.Mark))
}

// against gives the mark that speaks most against a claim, with the doubt of
// what was read there.
func (c *Curve) against(d Odd) string {
	return fmt.Sprintf("at %s it would read %s and read %s", c.unit.Text(d.Mark), c.signal.Text(d.Expected), c.give(d.Found, d.UFound))
}

// give prints ohms, or what else the sender gives, with about 95 % doubt, which is twice the standard
// uncertainty.
func (c *Curve) give(ohm, u quantity.Ohm) string {
	decimals := c.signal.Decimals()
	last := math.Pow(10, -float64(decimals)) // 0.1 for ohms
	if 2*float64(u) >= 95*last {
		decimals--
	}
	doubt := quantity.Digits(2*float64(u), decimals)
	if 2*float64(u) < last/2 {
		doubt = "less than " + quantity.Digits(last, c.signal.Decimals())
	}
	return fmt.Sprintf("%s ± %s %s", quantity.Digits(float64(ohm), decimals), doubt, c.signal.Unit())
}

// comparison says how a claim stands to the first.
func comparison(first, this float64) string {
	switch {
	case this > 0.8*first:
		return "about as likely"
	case this > 0.1*first:
		return "less likely"
	}
	return "far less likely"
}
