package drift

import (
	"fmt"
	"math"
	"strings"

	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
	"gaugewright/internal/span"
)

// decide chooses between leaving, keying in again and replacing.
func (a *adviser) decide(broken bool) {
	cause := Cause("")
	if f, ok := a.r.Cause(); ok {
		cause = f.Cause
	}
	a.Mend = cause == Series || cause == Leak || cause == Shift || cause == Lever || cause == Misread
	first := a.firstStep(cause)
	worn := cause == Wear || cause == Open || cause == Dead
	switch {
	case broken:
		a.Do, a.Reason = Replace, "the values no longer keep an order over the marks, and nothing that can be keyed in makes sense of that"
	case worn:
		a.Do, a.Reason = Replace, "the track is damaged at one place, which no setting mends and which grows"
	case a.Within && !a.low:
		a.Do = Leave
		a.leave()
	default:
		a.rekey(cause)
		if a.Do == Replace && !a.r.Changed {
			// Nothing has changed, and nothing that can be keyed in does better.
			a.Do = Leave
			a.Reason = fmt.Sprintf("it is off by %s points at %s, and nothing that can be keyed in does better; it was so by the record", points(a.Worst), a.b.unit.Text(a.b.unit.FromShown(a.WorstAt)))
		}
	}
	weight := finding.Note
	switch a.Do {
	case Leave:
		if a.Verdict != "pass" {
			weight = finding.Doubt
		}
	default:
		weight = finding.Bad
	}
	text := ""
	switch a.Do {
	case Leave:
		text = "Leave the setting as it is: " + a.Reason + "."
	case ReKey:
		text = "Key in " + a.setting.String() + ": " + a.Reason + "."
	case Replace:
		text = "Replace the sender: " + a.Reason + "."
	}
	if first != "" {
		then := "Only if the change stays: " + strings.ToLower(text[:1]) + text[1:]
		if a.Do == Leave {
			then = text
		}
		text = first + " " + then
	}
	a.say("advice", weight, "%s", text)
	if a.Do != Replace {
		a.say("next-check", finding.Note, "%s", a.Interval.Sentence)
	}
}

// leave says why the setting may stay.
func (a *adviser) leave() {
	size := fmt.Sprintf("with what is keyed in the display is off by %s points at the most, ", points(a.Worst))
	switch over := math.Abs(a.Worst) > 100*float64(a.in.Tolerance); {
	case over && a.before >= math.Abs(a.Worst)-0.05:
		a.Reason = size + fmt.Sprintf("at %s, where by the record it was no better", a.b.unit.Text(a.b.unit.FromShown(a.WorstAt)))
	case over:
		a.Reason = size + fmt.Sprintf("at %s, beyond the tolerance of %s by less than its doubt, and no change is seen", a.b.unit.Text(a.b.unit.FromShown(a.WorstAt)), tolerance(a.in.Tolerance))
	case a.Verdict != "pass":
		a.Reason = size + "within the tolerance of " + tolerance(a.in.Tolerance) + ", though by less than its doubt"
	default:
		a.Reason = size + "within the tolerance of " + tolerance(a.in.Tolerance)
	}
}

// firstStep is what has to be done before anything is keyed in.
func (a *adviser) firstStep(cause Cause) string {
	switch cause {
	case Series, Leak:
		return "Find and mend the joint first, then check again."
	case Shift:
		return "Set the dial or the arm back to where it was first, then check again."
	case Lever:
		return "Straighten or set the arm first, then check again."
	case Misread:
		return "Read that mark again first."
	}
	return ""
}

// rekey looks for what to key in, and for what speaks against it.
func (a *adviser) rekey(cause Cause) {
	a.Do = Replace
	mendable := cause == Series || cause == Leak || cause == Shift || cause == Lever
	if far := math.Abs(a.r.Largest.Points); far > tooFar && !mendable {
		a.Reason = fmt.Sprintf("it has moved by %s points of its span, more than keying in again is good for (%d)", points(far), tooFar)
		return
	}
	setting, remaining, err := a.best()
	if err != nil {
		a.Reason = "nothing that can be keyed in brings it within the tolerance of " + tolerance(a.in.Tolerance) + ": " + strings.TrimSuffix(err.Error(), ".")
		return
	}
	if setting.String() == a.in.Setting.String() {
		a.Do, a.Reason = Leave, fmt.Sprintf("it is off by %s points at the most, and it is the best there is", points(a.Worst))
		return
	}
	left := 100*float64(a.in.Tolerance) - remaining
	if left < 0 {
		left = a.reserve // where it is kept
	}
	after := a.Interval.ahead(left)
	// One service alone can't tell a drift from a step that is over.
	if a.Interval.Visits > 1 && a.Interval.fast() && left < math.Abs(a.Interval.Rate) {
		a.Reason = fmt.Sprintf("it moves by %s points a year, so nothing keyed in now would hold until next year", points(a.Interval.Rate))
		return
	}
	a.Do, a.setting, a.Remaining = ReKey, setting, value(remaining)
	a.Interval = after
	a.Reason = fmt.Sprintf("the display is off by %s points with what is keyed in now and would be off by %s with that; the tolerance is %s", points(a.Worst), points(remaining), tolerance(a.in.Tolerance))
	if remaining > 100*float64(a.in.Tolerance) {
		a.Reason += ", which by the record wasn't kept either"
	}
	if a.low && a.Within {
		a.Reason = fmt.Sprintf("near the top the display reads low by more than its doubt leaves of the tolerance, which invites overfilling; with that it would be off by %s points at the most", points(remaining))
	}
	switch s := setting.(type) {
	case span.Ends:
		lower, upper := value(s.Lower), value(s.Upper)
		a.Lower, a.Upper = &lower, &upper
	case span.EndsThenTable:
		lower, upper := value(s.Ends.Lower), value(s.Ends.Upper)
		a.Lower, a.Upper = &lower, &upper
		for _, c := range s.Table {
			a.Table = append(a.Table, KeyEntry{Value: value(c.In * 100), Pct: value(c.Out * 100)})
		}
	case span.Table:
		for _, e := range s {
			a.Table = append(a.Table, KeyEntry{Value: value(e.Ohm), Pct: value(e.Share * 100)})
		}
	}
}

// best looks for the setting of the same kind that is best on the curve as it
// is, and gives the worst error with it in points.
func (a *adviser) best() (span.Setting, float64, error) {
	table := span.TableReadout{Readout: a.in.Takes, Points: a.in.Points, ShareStep: a.in.ShareStep}
	var choice span.Choice
	var err error
	switch s := a.in.Setting.(type) {
	case span.Table:
		if table.Points == 0 {
			table.Points = len(s)
		}
		choice, err = span.BestTableFor(a.now, a.in.Scale, table, a.in.Margin, a.in.Objective)
	case span.EndsThenTable:
		if table.Points == 0 {
			table.Points = len(s.Table)
		}
		choice, err = span.BestEndsThenTable(a.now, a.in.Scale, table, a.in.Margin, a.in.Objective)
	default:
		choice, err = span.BestEndsFor(a.now, a.in.Scale, a.in.Takes, a.in.Margin, a.in.Objective)
	}
	if err != nil {
		return nil, 0, err
	}
	setting := choice.Setting
	if a.in.Overfills && a.tooLow(setting) {
		higher, ok := a.higher(setting)
		if !ok {
			return nil, 0, fmt.Errorf("the best there is, %s, would read low near the top, which invites overfilling", setting)
		}
		setting = higher
	}
	worst := a.worst(setting)
	if worst > a.goal()+1e-9 {
		return nil, 0, fmt.Errorf("the best there is, %s, would still be off by %s points", setting, points(worst))
	}
	return setting, worst, nil
}

// goal is what a setting has to come to, in points: the tolerance, or what was
// had by the record where that was more.
func (a *adviser) goal() float64 {
	t := span.Try(a.b.record, a.in.Scale, a.in.Setting)
	return max(100*float64(a.in.Tolerance), 100*float64(max(t.Worst, t.Between)))
}

// worst gives the largest error of a setting on the curve as it is, in points.
func (a *adviser) worst(setting span.Setting) float64 {
	t := span.Try(a.now, a.in.Scale, setting)
	return 100 * float64(max(t.Worst, t.Between))
}

// tooLow says whether a setting reads low near the top by more than half a point
// and what the margin and a step of the readout cost any setting there.
func (a *adviser) tooLow(setting span.Setting) bool {
	allowed := 0.005
	if e, ok := setting.(span.Ends); ok && e.Upper > e.Lower {
		margin, _ := a.in.Margin.Over(a.now, a.in.Scale)
		allowed += float64((margin + a.in.Takes.Step) / (e.Upper - e.Lower))
	}
	const looks = 40
	from, to := a.in.Scale.Of(a.topFrom()), min(a.in.Scale.Of(1), a.now.Points()[len(a.now.Points())-1].Mark)
	for k := range looks + 1 {
		at := span.WhatIf(a.now, a.in.Scale, setting, from+float64(k)/looks*(to-from))
		if at.Known && float64(at.Target-at.Shown) > allowed {
			return true
		}
	}
	return false
}

// higher moves the end value at 100 % step by step to where the display no
// longer reads low near the top, the other end following for the least error.
func (a *adviser) higher(setting span.Setting) (span.Setting, bool) {
	ends, ok := setting.(span.Ends)
	if !ok {
		return nil, false
	}
	step := a.in.Takes.Step
	if step == 0 {
		step = quantity.Ohm(a.b.span / 500)
	}
	margin, _ := a.in.Margin.Over(a.now, a.in.Scale)
	_, greatest := a.now.Range()
	_, full := a.in.Scale.Ends()
	if top := a.now.Ohm(min(full, a.now.Points()[len(a.now.Points())-1].Mark), 0); top.Known && ends.Upper > ends.Lower {
		greatest = top.Ohm
	}
	sign := quantity.Ohm(1)
	if ends.Upper > ends.Lower {
		sign = -1
	}
	for k := range 60 {
		upper := ends.Upper + sign*step*quantity.Ohm(k)
		if sign < 0 && upper < greatest+margin || upper < a.in.Takes.Lowest {
			return nil, false
		}
		best, least := span.Ends{}, math.Inf(1)
		for j := -40; j <= 40; j++ {
			e := span.Ends{Lower: ends.Lower + step*quantity.Ohm(j), Upper: upper}
			if e.Lower < a.in.Takes.Lowest || e.Lower < 0 || a.in.Takes.Highest > 0 && e.Lower > a.in.Takes.Highest || (e.Upper > e.Lower) != (sign < 0) ||
				sign > 0 && e.Lower < greatest+margin {
				continue
			}
			if w := a.worst(e); w < least && !a.tooLow(e) {
				best, least = e, w
			}
		}
		if least <= a.goal() {
			return best, true
		}
	}
	return nil, false
}

// points prints an error without its sign.
func points(v float64) string { return quantity.Digits(math.Abs(v), 1) }

func tolerance(t quantity.Share) string { return quantity.Short(float64(t)*100, 2) + " points" }
