package curve

import (
	"fmt"
	"math"

	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
)

// Linearity is how far the curve stands from a straight line, each as the
// largest distance in parts of the span (0.02 is 2 % of span), in the three
// ways of IEC 61298-2 to lay the line.
type Linearity struct {
	Independent float64 // the line that makes the largest distance least
	Terminal    float64 // the line through both ends
	Zero        float64 // the line through the lower end that makes it least
}

// Linearity measures the curve's points against the three lines.
func (c *Curve) Linearity() Linearity {
	x, y, span := c.cubic.x, c.cubic.y, float64(c.Span())
	if travel := x[len(x)-1] - x[0]; travel < 1e-100 {
		// Marks so near to each other that ohms over them are no number: the
		// distances are the same whatever the marks are counted in.
		apart := make([]float64, len(x))
		for i := range x {
			apart[i] = (x[i] - x[0]) / travel
		}
		x = apart
	}
	return Linearity{
		Independent: MinimaxLine(x, y).Error / span,
		Terminal:    TerminalLine(x, y).Error / span,
		Zero:        ZeroLine(x, y).Error / span,
	}
}

// describe puts what the curve shows into sentences.
func (c *Curve) describe(sweepsFromOrder bool) {
	if !c.Ordered() {
		return // nothing said of its errors would mean anything
	}
	first, last := c.points[0], c.points[len(c.points)-1]
	span := float64(c.Span())
	earlier := c.findings
	c.findings = nil
	c.say("direction", finding.Note, "%s: %s at %s, %s at %s.", capital(c.direction.String()),
		c.signal.Text(first.Ohm), c.unit.Text(first.Mark), c.signal.Text(last.Ohm), c.unit.Text(last.Mark))
	c.findings = append(c.findings, earlier...)

	if c.unit == Dial && (first.Mark > 0.005 || last.Mark < 0.995) {
		c.say("not-reached", finding.Note, "The dial was read from %s to %s; what the sender gives beyond isn't known.",
			c.unit.Text(first.Mark), c.unit.Text(last.Mark))
	}
	if len(c.points) < 5 {
		c.say("few-marks", finding.Doubt, "Only %d marks were read; what the sender does between them is a guess. Five or more tell.", len(c.points))
	}
	c.describeErrors(span, sweepsFromOrder)
	c.describeTravel(span)
	if span < 5*max(c.repeat.SD, c.resolution) {
		c.say("stuck", finding.Bad, "The %s move by only %s in all, hardly more than the readings scatter: the sender doesn't follow its mark.", c.signal.Figures(), c.signal.Text(c.Span()))
	}
}

func (c *Curve) describeErrors(span float64, sweepsFromOrder bool) {
	moved, at := 0.0, 0
	for i, p := range c.points {
		if d := math.Abs(float64(p.Measured - p.Ohm)); d > moved {
			moved, at = d, i
		}
	}
	if moved > 0 {
		c.say("order", finding.Note, "Neighbouring marks came out in the wrong order by up to %s (at %s); taken for noise and evened out.",
			c.signal.Text(quantity.Ohm(moved)), c.unit.Text(c.points[at].Mark))
	}
	if h := c.hysteresis; h.Known {
		higher := "down"
		if h.UpHigher {
			higher = "up"
		}
		source := ""
		if sweepsFromOrder {
			source = " The sweeps were taken from the order of the readings."
		}
		if h.Ohm == 0 {
			c.say("hysteresis", finding.Note, "No hysteresis: going up and going down gave the same %s.%s", c.signal.Figures(), source)
		} else {
			c.say("hysteresis", finding.Note, "Hysteresis %s (%s of span), largest at %s, where the reading going %s was higher.%s",
				c.signal.Text(h.Ohm), percent(float64(h.Ohm)/span), c.unit.Text(h.Mark), higher, source)
		}
	} else {
		c.say("hysteresis", finding.Note, "Hysteresis isn't known: no mark was read both going up and going down.")
	}
	if c.repeat.DF > 0 {
		freedom := "degrees"
		if c.repeat.DF == 1 {
			freedom = "degree"
		}
		c.say("repeatability", finding.Note, "Repeatability %s %s (%s of span, one standard deviation, %d %s of freedom).",
			quantity.Digits(c.repeat.SD, c.signal.Decimals()+1), c.signal.Unit(), percent(c.repeat.SD/span), c.repeat.DF, freedom)
	} else {
		c.say("repeatability", finding.Note, "Repeatability isn't known: no mark was read twice the same way. The doubts given hold only what these readings show.")
	}
	l := c.Linearity()
	c.say("linearity", finding.Note, "Off a straight line by %s of span at best (independent), %s from end to end (terminal-based), %s from the lower end (zero-based).",
		percent(l.Independent), percent(l.Terminal), percent(l.Zero))
}

// stretch is a run of points, from index a to b, over which the ohms stand still.
type stretch struct{ a, b int }

// describeTravel finds stretches where the mark moves and the ohms don't: dead
// travel at the ends, steps all the way along.
func (c *Curve) describeTravel(span float64) {
	x, y := c.cubic.x, c.cubic.y
	n := len(x)
	travel := x[n-1] - x[0]
	still := max(c.resolution/2, 3*c.repeat.SD, 0.003*span)
	var runs []stretch
	for i := 0; i < n-1; {
		j := i
		// What was evened out isn't flat: the readings themselves must stand still.
		for j+1 < n && y[j+1]-y[i] <= still && math.Abs(float64(c.points[j+1].Measured-c.points[i].Measured)) <= still {
			j++
		}
		// A run counts when a steady sender would clearly have moved meanwhile.
		if j > i && span*(x[j]-x[i])/travel > 4*still {
			runs = append(runs, stretch{i, j})
		}
		i = max(j, i+1)
	}
	if steps := c.steps(runs, still); steps != "" {
		c.say("steps", finding.Note, "%s", steps)
		return
	}
	for _, r := range runs {
		switch {
		case r.a == 0 && r.b == n-1:
		case r.a == 0:
			c.say("dead-travel", finding.Doubt, "Dead travel at the bottom: from %s to %s the %s don't change, so nothing can be told apart there.",
				c.unit.Text(x[r.a]), c.unit.Text(x[r.b]), c.signal.Figures())
		case r.b == n-1:
			c.say("dead-travel", finding.Doubt, "Dead travel at the top: from %s to %s the %s don't change, so nothing can be told apart there.",
				c.unit.Text(x[r.a]), c.unit.Text(x[r.b]), c.signal.Figures())
		default:
			c.say("flat", finding.Doubt, "Between %s and %s the %s don't change: the level is uncertain there.",
				c.unit.Text(x[r.a]), c.unit.Text(x[r.b]), c.signal.Figures())
		}
	}
}

// steps says how a sender on a chain of resistors moves, when three or more
// stretches stand still with jumps between them; otherwise it says nothing.
func (c *Curve) steps(runs []stretch, still float64) string {
	if len(runs) < 3 {
		return ""
	}
	x, y := c.cubic.x, c.cubic.y
	var jumps, widths []float64
	for k := 1; k < len(runs); k++ {
		jump := y[runs[k].a] - y[runs[k-1].b]
		if runs[k].a == runs[k-1].b {
			jump = y[runs[k].a] - y[runs[k-1].a]
		}
		if jump > 3*still {
			jumps = append(jumps, jump)
			widths = append(widths, x[runs[k].a]-x[runs[k-1].a])
		}
	}
	if len(jumps) < 2 {
		return ""
	}
	return fmt.Sprintf("Moves in steps of about %s (%s of span), one every %s: it can't show less than that.",
		c.signal.Text(quantity.Ohm(median(jumps))), percent(median(jumps)/float64(c.Span())), c.unit.Text(median(widths)))
}

// Claim is a span as a data sheet states it: ohms, or what else the sender gives
// in its shown unit, at the empty and the full end.
type Claim struct{ Empty, Full quantity.Ohm }

// String gives the claim as it is typed: "0:90".
func (c Claim) String() string {
	return quantity.Short(float64(c.Empty), 3) + ":" + quantity.Short(float64(c.Full), 3)
}

// Verdict is what the readings say of a claim.
type Verdict string

const (
	// Agrees: every mark lies within the tolerance of the claim.
	Agrees Verdict = "agrees"
	// RulesOut: some mark lies further off than the tolerance and twice its
	// standard uncertainty together.
	RulesOut Verdict = "rules out"
	// Undecided: between the two; more readings would tell.
	Undecided Verdict = "undecided"
)

// ClaimTolerance is how far a sender may stand from its claimed span and still
// be said to agree, in parts of that span: 5 %, typical of what dials and
// floats are sold with (common practice, no source).
const ClaimTolerance = 0.05

func percent(part float64) string { return quantity.Digits(part*100, 1) + " %" }

func capital(s string) string { return string(s[0]-'a'+'A') + s[1:] }
