package circuit

import (
	"fmt"
	"math"
	"slices"

	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
)

// The pull-ups that are tried, Ω.
const (
	inputLeast = 1.0
	inputMost  = 1e7
)

// Candidate is one pull-up and what it would do.
type Candidate struct {
	Pullup     float64 // Ω
	Resolution float64 // the worst over the span, points
	Shorted    float64 // the most current, A
}

// Choice is the pull-up that was chosen and why.
type Choice struct {
	Candidate
	Series  Series
	WorstAt float64 // the mark of the worst resolution, points
	// Currents through the sender at empty and at full, A.
	CurrentEmpty, CurrentFull float64
	SenderPower               float64 // the most within the span, W
	PullupPower               float64 // with the sender shorted, W
	RunnersUp                 []Candidate
	// Tried is how many values of the series there are, Refused how many of them
	// don't keep the limits. Every other one was compared: none is better.
	Tried, Refused int
	// Bound is the worst resolution that no resistor of any value could better
	// within the current limit, in points.
	Bound    float64
	Marks    []MarkDoubt
	Findings []finding.Finding
}

// Choose finds the pull-up of a series, 1 Ω to 10 MΩ, whose worst resolution over
// the span is the least, by trying every value. Left out are those with which
// the current with a shorted sender is above its limit, a sender within the span
// gets more than its power, or the span's larger end can't be told from an open
// sender. Of two that are as good the one with less current is taken.
//
// Where several marks matter, Marks says how well each is known.
func (in Input) Choose(series Series, span Span) (Choice, error) {
	if err := in.Check(); err != nil {
		return Choice{}, err
	}
	if err := span.Check(); err != nil {
		return Choice{}, err
	}
	values, err := series.Within(inputLeast, inputMost)
	if err != nil {
		return Choice{}, err
	}
	var kept []Candidate
	for _, r := range values {
		if c, ok := in.candidate(r, span); ok {
			kept = append(kept, c)
		}
	}
	if len(kept) == 0 {
		return Choice{}, fmt.Errorf("none of the %d values of %s keeps %g mA, %g mW in the sender and the span of %s to %s Ω on the converter's scale; expected limits that some resistor meets: take another reference or full scale", len(values), series, in.current()*1e3, in.power()*1e3, ohms(span.Empty), ohms(span.Full))
	}
	// Rising pull-ups, so of equals the last comes first.
	slices.Reverse(kept)
	slices.SortStableFunc(kept, func(a, b Candidate) int {
		switch {
		case a.Resolution < b.Resolution:
			return -1
		case a.Resolution > b.Resolution:
			return 1
		}
		return 0
	})
	c := Choice{
		Candidate: kept[0], Series: series, WorstAt: span.Points(span.Most()),
		RunnersUp: slices.Clone(kept[1:min(len(kept), 5)]),
		Tried:     len(values), Refused: len(values) - len(kept), Bound: in.bound(span),
	}
	lead := in.Lead.Mid()
	c.CurrentEmpty = in.Reference / (c.Pullup + lead + span.Empty)
	c.CurrentFull = in.Reference / (c.Pullup + lead + span.Full)
	c.SenderPower, c.PullupPower = in.hottest(c.Pullup, span), in.Reference*in.Reference/c.Pullup
	if c.Marks, err = in.Doubts(c.Pullup, span, 0, 25, 50, 75, 100); err != nil {
		return Choice{}, err
	}
	c.Findings = in.findings(c)
	return c, nil
}

// candidate reckons one pull-up, and says whether it keeps the limits.
func (in Input) candidate(pullup float64, span Span) (Candidate, bool) {
	// The ohms for a count grow with r throughout, so the worst is at the larger end.
	c := Candidate{Pullup: pullup, Resolution: in.Resolution(pullup, span.Most(), span), Shorted: in.Shorted(pullup)}
	// A few units in the last place, so that 3.3 V over 3300 Ω counts as 1 mA.
	const slack = 1 + 1e-12
	ok := c.Shorted <= in.current()*slack && in.hottest(pullup, span) <= in.power()*slack &&
		in.Counts(pullup, span.Most()) < in.Open()
	return c, ok
}

// bound gives the least worst resolution of any pull-up that keeps the current
// limit. (R + r)²/R falls until R = r and grows after it, so the best resistor is
// the span's larger end, or as near above it as the current allows.
func (in Input) bound(span Span) float64 {
	least := in.Shorted(1) / in.current()
	return in.Resolution(max(least, span.Most()+in.Lead.Mid()), span.Most(), span)
}

// findings puts what has to be known of a choice into sentences.
func (in Input) findings(c Choice) []finding.Finding {
	var list []finding.Finding
	add := func(weight finding.Weight, kind, format string, args ...any) {
		list = append(list, finding.Finding{Kind: kind, Weight: weight, Text: fmt.Sprintf(format, args...)})
	}
	if !in.NotFlammable {
		add(finding.Note, "hazardous-place", "%s", CodeCaution)
	}
	if in.current() > UsualCurrent && !in.NotFlammable {
		add(finding.Doubt, "current-raised", "up to %s mA may flow through a sender that may sit in fuel or gas, where %s mA is usual: this was asked for, and has to be answered for by someone licensed",
			quantity.Short(in.current()*1e3, 3), quantity.Short(UsualCurrent*1e3, 3))
	}
	if c.Resolution > 1 {
		add(finding.Doubt, "coarse", "one count and its noise are %s points at worst, at mark %s; take a converter of more bits, average, or amplify", quantity.Short(c.Resolution, 2), quantity.Short(c.WorstAt, 0))
	}
	worst := slices.MaxFunc(c.Marks, func(a, b MarkDoubt) int { return cmpFloat(a.U, b.U) })
	if largest := worst.largest(); largest != "" && worst.U > 0 {
		add(finding.Note, "largest-doubt", "the level is known to ±%s points (twice the standard uncertainty) at mark %s at worst; most of it is from the %s", quantity.Digits(2*worst.U, 2), quantity.Short(worst.Mark, 0), largest)
	}
	if !in.Ratiometric && in.ReferenceError > 0 {
		add(finding.Note, "reference", "the reference's own error goes into the level; it would cancel if the converter measured against the same voltage")
	}
	return list
}

func cmpFloat(a, b float64) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

// worstOf gives the larger size of some figures.
func worstOf(values ...float64) float64 {
	worst := 0.0
	for _, v := range values {
		worst = max(worst, math.Abs(v))
	}
	return worst
}
