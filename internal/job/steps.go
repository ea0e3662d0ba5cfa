package job

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"time"

	"gaugewright/internal/curve"
	"gaugewright/internal/doubt"
	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
	"gaugewright/internal/span"
)

// Step is one of the steps of the work on a tank, as a card shows it.
type Step struct {
	Name string // "Bench", "Curve", "Set" or "Prove"
	Text string // what was done, or what is to be done
	Done bool
}

// String gives "Bench: 14 readings, 3 Nov".
func (s Step) String() string { return s.Name + ": " + s.Text }

// MarksToProve is at how many different marks a display is checked before its
// record can be handed over: bottom, middle and top (common practice, no
// source).
const MarksToProve = 3

// Summary gives the steps of the work on this tank in their order, each with
// how far it has come. They are worked out from what is in the job and are
// nowhere stored; the record isn't among them, as the job doesn't know of it.
func (t Tank) Summary() []Step {
	c, err := t.Curve()
	return []Step{t.benchStep(err), t.curveStep(c, err), t.setStep(), t.proveStep()}
}

// Next says in one sentence what is to be done next.
func (t Tank) Next() string {
	for _, s := range t.Summary() {
		if !s.Done {
			return s.String()
		}
	}
	return "done: record can be handed over"
}

func (t Tank) benchStep(err error) Step {
	n := len(t.Bench.Readings)
	if k := t.Sender.Known; n == 0 && k != nil {
		return Step{"Bench", "no readings; the sender is known from " + k.From, true}
	}
	if n == 0 {
		return Step{"Bench", "take readings", false}
	}
	text := count(n, "reading", "readings") + onDay(t.Bench.Date)
	var sender *curve.SenderError
	if err != nil && !errors.As(err, &sender) {
		return Step{"Bench", fmt.Sprintf("%s; not enough yet: %v", text, err), false}
	}
	return Step{"Bench", text, true}
}

func (t Tank) curveStep(c *curve.Curve, err error) Step {
	var sender *curve.SenderError
	switch {
	case errors.As(err, &sender):
		return Step{"Curve", sender.Text, false}
	case err != nil:
		return Step{"Curve", "waits for the readings", false}
	}
	for _, f := range c.Findings() {
		if f.Weight == finding.Bad {
			return Step{"Curve", f.Text, false}
		}
	}
	// What is known of one sender is all that there is until it is read; what is
	// known of a type counts beside the readings.
	from, k := "", t.Sender.Known
	if k != nil && (len(t.Bench.Readings) == 0 || k.Differs()) {
		from = ", known from " + k.From
	}
	if c.Repeatability().DF == 0 && from == "" {
		return Step{"Curve", fmt.Sprintf("drawn through %d marks; how well they repeat isn't known, as none was read twice the same way", len(c.Points())), true}
	}
	// Rounded up, so that it doesn't say more than is known (JCGM 100:2008, 7.2.6).
	points := math.Ceil(t.doubt(c)*10-1e-6) / 10
	return Step{"Curve", fmt.Sprintf("good to ±%s points", quantity.Digits(points, 1)) + from, true}
}

// doubt gives the largest expanded uncertainty (k = 2, about 95 %; JCGM
// 100:2008, 6.3.3) of the mark over the points of a curve, in percent of the
// scale from 0 to 100 %.
func (t Tank) doubt(c *curve.Curve) float64 {
	points := c.Points()
	empty, full := points[0].Mark, points[len(points)-1].Mark
	s, err := t.Scale()
	if err != nil {
		// The marks of a curve rise, so there is no error.
		s, _ = scale.New(scale.Mark, 1, empty, full, false)
	}
	worst := quantity.Share(0)
	for _, p := range points {
		worst = max(worst, s.Spread(p.Mark, c.Mark(p.Ohm, curve.Refuse).UMark))
	}
	return doubt.UsualFactor * float64(worst) * 100
}

func (t Tank) setStep() Step {
	if t.Setting == nil {
		return Step{"Set", "choose the end values", false}
	}
	keyed, err := t.Setting.Keyed()
	if err == nil {
		_, err = t.Scale()
	}
	if err != nil {
		return Step{"Set", err.Error(), false}
	}
	if table, ok := keyed.(span.Table); ok {
		return Step{"Set", fmt.Sprintf("key in a table of %d entries", len(table)), true}
	}
	text, then := "key in "+keyed.String(), ""
	if both, ok := keyed.(span.EndsThenTable); ok {
		text, then = "key in "+both.Ends.String(), fmt.Sprintf(", then a table of %d entries", len(both.Table))
	}
	if signal := t.Signal(); signal != curve.Ohms {
		text += " " + signal.Unit()
	}
	return Step{"Set", text + then, true}
}

// proveStep goes by the last check made after the setting. A conditional pass
// is a pass; what is conditional about it is said.
func (t Tank) proveStep() Step {
	proofs, err := t.Proofs()
	if err != nil {
		return Step{"Prove", err.Error(), false}
	}
	for i := len(proofs) - 1; i >= 0; i-- {
		p := proofs[i]
		if p.Check.When != AsLeft {
			continue
		}
		marks := map[float64]bool{}
		for _, r := range p.Proof.Rows {
			marks[r.Mark] = true
		}
		text := p.Proof.Judgement() + onDay(p.Check.Date)
		switch {
		case p.Proof.Verdict == doubt.ConditionalFail:
			return Step{"Prove", text + "; check again more closely, or set again", false}
		case !p.Proof.Pass:
			return Step{"Prove", text + "; set again, or look at the sender", false}
		case len(marks) < MarksToProve:
			return Step{"Prove", fmt.Sprintf("%s; check the display at three marks", text), false}
		}
		return Step{"Prove", text, true}
	}
	return Step{"Prove", "check the display at three marks", false}
}

// count writes a number with its noun.
func count(n int, one, more string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + more
}

// onDay gives ", 3 Nov" for a date, and nothing where there is none.
func onDay(date string) string {
	d, err := time.Parse(time.DateOnly, date)
	if err != nil {
		return ""
	}
	return d.Format(", 2 Jan")
}

// onFill says whether 100 % stands for the permitted fill.
func (t Tank) onFill() bool {
	return t.Setting != nil && (t.kind() == scale.Fill || t.kind() == scale.Usable && t.PermittedPct() > 0)
}
