package web

import (
	"encoding/json"
	"math"
	"slices"
	"strings"

	"gaugewright/internal/chart"
	"gaugewright/internal/curve"
	"gaugewright/internal/finding"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/record"
	"gaugewright/internal/sitting"
)

// benchBody is what the bench page shows.
type benchBody struct {
	Key    string
	Wrong  benchWrong
	Said   string
	Chosen bool // how the marks are known was settled
	Setup  benchSetup

	Unit, MarkUnit, Figures string // "Ω", "%", "ohms"
	Meter                   meterWords
	MeterJSON               string // the same for the page's script
	Metered                 bool   // ohms come from a meter
	Ready                   bool   // there is something that Take takes
	Typed                   string

	Mark, Sweep     string
	Suggested       benchNext
	Step, Low, High string
	Ladder          string // the marks of a first sweep, with a blank between

	Column    chart.Drawing
	Curve     record.Figure
	HasCurve  bool
	Doubtful  *record.Sentence
	Sentences []record.Sentence
	So        string // how many readings there are, and how good the curve is
	Strip     []benchLine
	Undo      *benchUndo
	StripNote []string

	Cautions []string // first the one that is always in view
	Fold     bool     // of the others
	Hand     *benchHand
}

// benchNext is a mark that is worth going to, as it is written.
type benchNext struct{ Mark, Sweep, Words string }

// benchHand is the panel that moves a simulated sender.
type benchHand struct{ Low, High, Step, At, Next string }

func (s *Site) benchBody(kept *job.Kept, at *tankAt, ask benchAsk, wrong benchWrong, meter meterWords) benchBody {
	t := at.Tank
	unit, signal := t.Unit(), t.Signal()
	b := benchBody{Key: newKey(), Wrong: wrong, Said: benchSaid[ask.Said],
		Unit: signal.Unit(), MarkUnit: unit.Symbol(), Figures: signal.Figures(), Typed: ask.Typed,
		Chosen: benchChosen(*t)}
	b.Setup = setupOf(kept.Job, *t)
	if ask.Setup != nil {
		b.Setup.typed(*ask.Setup)
	}
	b.cautions(*t)
	if !b.Chosen {
		return b
	}
	b.Meter = s.meterNow()
	if text, err := json.Marshal(meter); err == nil { // it is text and numbers
		b.MeterJSON = string(text)
	}
	b.Metered = b.Meter.Name != ""
	b.Ready = !b.Metered || b.Meter.State == sitting.Reading.String() && b.Meter.Unit == b.Unit
	next := b.place(*t, ask)
	b.Column = benchColumn(at, b.Low, b.High, next)
	b.Curve, b.HasCurve = at.View.Curve()
	b.does(at)
	b.strip(kept, at)
	if s.o.Hand != nil && b.High != "" {
		b.Hand = &benchHand{Low: b.Low, High: b.High, Step: b.Step, At: b.Mark, Next: b.Suggested.Mark}
	}
	return b
}

// place settles which mark the page stands at and which way it goes; it gives
// the mark, or false where there is none.
func (b *benchBody) place(t job.Tank, ask benchAsk) benchMark {
	unit := t.Unit()
	low, high, step, known := benchRange(t)
	b.Step = quantity.Short(step, 3)
	if known {
		b.Low, b.High = quantity.Short(low, 3), quantity.Short(high, 3)
	}
	if ladder, err := sitting.Ladder(t); err == nil {
		marks := make([]string, len(ladder))
		for i, m := range ladder {
			marks[i] = quantity.Short(unit.ToShown(m), 3)
		}
		b.Ladder = strings.Join(marks, " ")
	}
	sweep, err := curve.ParseSweep(ask.Sweep)
	if err != nil || sweep == curve.Unstated {
		sweep = lastSweep(t)
	}
	next := sitting.Suggest(t, sweep, nil)
	mark := benchMark{Mark: next.Mark, Known: next.Known}
	b.Suggested.Words = strings.TrimSuffix(next.Words, ".") + "."
	if next.Known {
		b.Suggested.Mark, b.Suggested.Sweep = quantity.Short(unit.ToShown(next.Mark), 3), next.Sweep.String()
	}
	b.Mark, b.Sweep = b.Suggested.Mark, sweep.String()
	if next.Known && next.Sweep != curve.Unstated {
		b.Sweep = next.Sweep.String()
	}
	if ask.Mark == "" {
		return mark
	}
	// The fitter goes elsewhere.
	b.Mark, b.Sweep = ask.Mark, sweep.String()
	if m, err := sitting.ParseMark(unit, ask.Mark); err == nil {
		return benchMark{Mark: m, Known: true}
	}
	return mark
}

// benchMark is the mark that is lit.
type benchMark struct {
	Mark  float64 // in SI
	Known bool
}

// lastSweep is the direction of the reading before, or up.
func lastSweep(t job.Tank) curve.Sweep {
	for _, r := range slices.Backward(t.Bench.Readings) {
		if sweep, err := curve.ParseSweep(r.Sweep); err == nil && sweep != curve.Unstated {
			return sweep
		}
	}
	return curve.Up
}

// benchRange gives the lowest and the highest mark of the bench and a step
// between marks to press through, in the shown unit; false where it isn't known
// how far they go.
func benchRange(t job.Tank) (low, high, step float64, known bool) {
	unit := t.Unit()
	l, h, err := sitting.Reach(t)
	if err != nil {
		return 0, 0, map[curve.MarkUnit]float64{curve.Dial: 5, curve.Height: 10, curve.Volume: 1, curve.Mass: 0.5}[unit], false
	}
	low, high = unit.ToShown(l), unit.ToShown(h)
	if unit == curve.Dial {
		return low, high, 5, true
	}
	// About twenty steps, each 1, 2 or 5 of something.
	ten := math.Pow(10, math.Floor(math.Log10((high-low)/20)))
	for _, m := range []float64{1, 2, 5, 10} {
		if step = m * ten; (high-low)/step <= 21 {
			break
		}
	}
	return low, high, step, true
}

// does is what the sender is found to do so far, the worst first.
func (b *benchBody) does(at *tankAt) {
	list := at.View.Findings().List
	if _, err := at.View.Fitted(); err != nil {
		list = nil // too few readings yet; how far it has come says so
	}
	weight := map[string]int{finding.Bad.String(): 0, finding.Doubt.String(): 1}
	rank := func(s record.Sentence) int {
		if n, ok := weight[s.Weight]; ok {
			return n
		}
		return 2
	}
	list = slices.Clone(list)
	slices.SortStableFunc(list, func(x, y record.Sentence) int { return rank(x) - rank(y) })
	b.Sentences = list
	var so []string
	for _, step := range at.Summary() {
		if step.Name == "Bench" || step.Name == "Curve" && len(at.Bench.Readings) > 0 {
			so = append(so, step.String())
		}
	}
	b.So = strings.Join(so, ". ") + "."
}

// benchLines are the cautions in one line each, for a page that is looked at
// with a sender in the hand. The whole of them stands under it.
var benchLines = map[job.Contents]string{
	job.LPG:    "Gas burns and explodes: dial head off the tank, in open air. Touch only the dial’s small screws. Never fill beyond the permitted fill.",
	job.Diesel: "Diesel burns: work in open air, away from flames and hot parts. Never fill to the brim.",
	job.Petrol: "Petrol vapour ignites from a spark: work away from the tank, in open air. Never fill to the brim.",
	job.Other:  "Find out what is in this tank before you touch it; handle it as if it burned or harmed.",
}

func (b *benchBody) cautions(t job.Tank) {
	list := t.Cautions()
	if len(list) == 0 {
		return
	}
	line, ok := benchLines[t.Contents]
	if !ok {
		line = benchLines[job.Other]
	}
	b.Cautions = append([]string{line}, list...)
	b.Fold = b.Chosen // then the ohms and Take are what has to be in sight
}

// benchSaid is what became of a form, by its word in the address.
var benchSaid = map[string]string{
	"already": "Taken already, on another page or a moment ago.",
}
