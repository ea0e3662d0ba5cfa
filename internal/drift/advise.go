package drift

import (
	"errors"
	"fmt"
	"math"

	"gaugewright/internal/curve"
	"gaugewright/internal/doubt"
	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
	"gaugewright/internal/span"
)

// tooFar is how far a sender may have moved, in points of its span, and still be
// worth keying in again: a quarter (common practice, no source).
const tooFar = 25

// Advise says what to do about a setting in the light of a comparison.
//
// The present setting is judged at every later reading, and at the points of the
// curve as it is now, by [doubt.Decide] with the usual guard band: leave where
// every error lies within the tolerance. Where reading low near the top invites
// overfilling, an error there that a change brought has to be within by the
// whole of its doubt. Where no change is seen, an error that is outside by less than its doubt is no
// reason to key in anything; and where the display was off by more than the
// tolerance by the record already, as over dead travel, it may be off there by
// as much.
//
// Else the best values on the sender's curve as it is now are looked for as
// package span does. Where they bring every error within the tolerance, or
// within what it was by the record, they are what to key in. Replace the sender where they don't, where the track is worn,
// open or stands still, where its order is broken, where it moved by more than
// 25 points, or where two services or more show it to move so fast that they
// wouldn't hold for a year.
//
// A leak, resistance in series and a shifted mark are mended first.
func Advise(r Result, in Readout) (Advice, error) {
	if in.Setting == nil {
		return Advice{}, errors.New("nothing is keyed in, so there is nothing to advise on; state the setting")
	}
	if in.Tolerance == 0 {
		in.Tolerance = span.DefaultTolerance
	}
	if !(in.Tolerance > 0 && in.Tolerance < 1) {
		return Advice{}, fmt.Errorf("a tolerance lies above 0 and below 100 points; found %g", float64(in.Tolerance)*100)
	}
	if in.Margin == (span.Margin{}) {
		in.Margin = span.UsualMargin()
	}
	a := adviser{r: r, b: r.bench, in: in}
	now, from, err := r.now()
	a.now, a.Advice.From = now, from
	a.Advice.curve = now
	broken := err != nil || !now.Ordered()
	if broken {
		a.now = r.bench.record // for the errors at the later readings alone
	}
	a.present(broken)
	interval, err := a.rate()
	if err != nil {
		return Advice{}, err
	}
	a.Interval = interval
	a.decide(broken)
	return a.Advice, nil
}

type adviser struct {
	Advice
	r   Result
	b   *bench
	in  Readout
	now *curve.Curve
	low bool // reads low near the top, within the tolerance by less than its doubt
	// reserve is what the tolerance leaves at the record, in points, where it is
	// kept; before the worst error by the record.
	reserve, before float64
}

// look is one error of the display.
type look struct {
	mark, e, u float64 // shares
	verdict    doubt.Verdict
}

// looks gives the errors of a setting at the later readings and on a curve.
func (a *adviser) looks(setting span.Setting, c *curve.Curve, readings bool) []look {
	var out []look
	add := func(mark, value, u float64) {
		s := a.in.Scale
		if !s.Holds(mark) && !a.in.Overfills {
			return
		}
		shown, target := setting.Show(quantity.Ohm(value)), s.Target(mark)
		spread, _, _ := span.Spread(setting, quantity.Ohm(value), quantity.Ohm(u))
		l := look{mark: mark, e: float64(shown - target), u: doubt.Combine(float64(spread), float64(s.Spread(mark, a.b.doubts.MarkHalfWidth/math.Sqrt(3))))}
		allowed := float64(a.in.Tolerance)
		if was := a.b.record.Ohm(mark, curve.Refuse); was.Known {
			allowed = max(allowed, math.Abs(float64(a.in.Setting.Show(was.Ohm)-target))*(1+1e-9))
		}
		if d, err := doubt.Decide(l.e, l.u, allowed, doubt.UsualGuard); err == nil {
			l.verdict = d.Verdict
		}
		out = append(out, l)
	}
	if readings {
		odd := -1
		if a.r.Changed && a.r.told() && a.r.fits[0].cause == Misread {
			odd = a.r.fits[0].from
		}
		for i, p := range a.b.places {
			if i != odd {
				add(p.mark, p.found, a.b.laterU[i])
			}
		}
	}
	if c != nil {
		for _, p := range c.Points() {
			u := float64(p.U)
			if c != a.b.record {
				u = max(u, a.b.uAt(p.Mark))
			}
			add(p.Mark, float64(p.Ohm), u)
		}
	}
	return out
}

// present judges the setting as it is.
func (a *adviser) present(broken bool) {
	c := a.now
	if broken {
		c = nil
	}
	looks := a.looks(a.in.Setting, c, true)
	a.Within = true
	worst := doubt.Pass
	for i, l := range looks {
		a.Within = a.Within && (l.verdict.Within() || !a.r.Changed && l.verdict < doubt.Fail)
		worst = max(worst, l.verdict)
		if a.in.Overfills && a.r.Changed && l.e < 0 && a.nearTop(l.mark) && l.verdict > doubt.Pass {
			a.low = true
		}
		if i == 0 || math.Abs(l.e) > math.Abs(a.Worst) {
			a.Worst, a.WorstU, a.WorstAt = l.e, l.u, l.mark
		}
	}
	a.Verdict = worst.String()
	a.Worst, a.WorstU = value(100*a.Worst), value(100*a.WorstU)
	a.WorstAt = value(a.b.unit.ToShown(a.WorstAt))
	kept := 0.0
	for _, l := range a.looks(a.in.Setting, a.b.record, false) {
		e := math.Abs(l.e)
		a.before = max(a.before, 100*e)
		if e <= float64(a.in.Tolerance) {
			kept = max(kept, e)
		}
	}
	a.reserve = 100 * (float64(a.in.Tolerance) - kept)
}

// nearTop says whether a mark lies where a figure too low invites overfilling.
func (a *adviser) nearTop(mark float64) bool { return a.in.Scale.Target(mark) >= a.topFrom() }

// topFrom is the figure from which on one too low invites overfilling: the last
// tenth of a scale that ends at the permitted fill, and the last third of one
// that goes on beyond it.
func (a *adviser) topFrom() quantity.Share {
	if k := a.in.Scale.Kind(); k == scale.Mark || k == scale.Volume {
		return 0.67
	}
	return 0.9
}

// rate tells how fast the display moves, and when to look again.
func (a *adviser) rate() (Interval, error) {
	if a.in.RecordDay.IsZero() || !a.in.Day.After(a.in.RecordDay) {
		return unknownRate(a.reserve), nil
	}
	visits := append([]Visit(nil), a.in.Earlier...)
	if v, ok := a.visit(); ok {
		visits = append(visits, v)
	}
	return NextCheck(a.in.RecordDay, visits, a.reserve)
}

// visit is what the display does now beside what it did by the record, at the
// mark where that differs most.
func (a *adviser) visit() (Visit, bool) {
	v := Visit{Day: a.in.Day}
	found := false
	for i, p := range a.b.places {
		if !a.in.Scale.Holds(p.mark) {
			continue
		}
		d := float64(a.in.Setting.Show(quantity.Ohm(p.found)) - a.in.Setting.Show(quantity.Ohm(p.expected)))
		u, _, _ := span.Spread(a.in.Setting, quantity.Ohm(p.expected), quantity.Ohm(math.Sqrt(a.b.v.At(i, i))))
		if !found || math.Abs(d) > math.Abs(v.Change)/100 {
			v.Change, v.U = value(100*d), value(100*float64(u))
		}
		found = true
	}
	return v, found && v.U > 0
}

// Visit gives what this service found of the display, to be kept for the next:
// the largest change of the figure shown at any mark, in points.
func (r Result) Visit(in Readout) (Visit, bool) {
	a := adviser{r: r, b: r.bench, in: in}
	return a.visit()
}

// VisitOf gives what [Result.Visit] gives of a later bench, without judging whether
// the sender has changed, which takes a hundred times as long. Errors are those of
// [Compare].
func VisitOf(record *curve.Curve, later curve.Sheet, doubts curve.Doubts, in Readout) (Visit, bool, error) {
	b, err := against(record, later, doubts)
	if err != nil {
		return Visit{}, false, err
	}
	a := adviser{b: b, in: in}
	v, ok := a.visit()
	return v, ok, nil
}

func (a *adviser) say(kind string, weight finding.Weight, format string, args ...any) {
	a.Findings = append(a.Findings, finding.Finding{Kind: kind, Weight: weight, Text: fmt.Sprintf(format, args...)})
}
