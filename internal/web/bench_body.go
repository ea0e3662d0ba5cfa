package web

import (
	"context"
	"slices"
	"strings"

	"gaugewright/internal/chart"
	"gaugewright/internal/curve"
	"gaugewright/internal/finding"
	"gaugewright/internal/job"
	"gaugewright/internal/record"
	"gaugewright/internal/sitting"
)

// benchBody is what the bench page shows.
type benchBody struct {
	takeBody
	Chosen bool // how the marks are known was settled
	Setup  benchSetup

	Column    chart.Drawing
	Curve     record.Figure
	HasCurve  bool
	Sentences []record.Sentence
	So        string // how many readings there are, and how good the curve is

	Cautions []string // first the one that is always in view
	Fold     bool     // of the others
}

func (s *Site) benchBody(ctx context.Context, kept *job.Kept, at *tankAt, ask benchAsk, wrong benchWrong, meter meterWords) benchBody {
	t := at.Tank
	b := benchBody{takeBody: takeOf(at.Path+"/bench", *t, ask, wrong), Chosen: benchChosen(*t)}
	b.Correct, b.Held = at.Path+"/bench/correct", at.Path
	b.Setup = setupOf(kept.Job, *t)
	if ask.Setup != nil {
		b.Setup.typed(*ask.Setup)
	}
	b.cautions(*t)
	if !b.Chosen {
		return b
	}
	s.listen(&b.takeBody, meter)
	next := b.place(*t, ask, func(sweep curve.Sweep) sitting.Next {
		if next, ok := byType(*t); ok {
			return next
		}
		return sitting.Suggest(*t, sweep, nil)
	})
	b.Column = benchColumn(at, b.Low, b.High, next)
	b.Curve, b.HasCurve = at.View.Curve()
	b.does(at)
	b.Sentences = append(b.Sentences, s.typeOdds(ctx, *t)...)
	b.strip(kept, at)
	s.hand(&b.takeBody)
	return b
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
			so = append(so, strings.TrimSuffix(step.String(), "."))
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
	b.Cautions = cautionLines(t)
	b.Fold = b.Chosen // then the ohms and Take are what has to be in sight
}

// cautionLines gives the cautions of a tank with the one line before them; nil
// where there are none.
func cautionLines(t job.Tank) []string {
	list := t.Cautions()
	if len(list) == 0 {
		return nil
	}
	line, ok := benchLines[t.Contents]
	if !ok {
		line = benchLines[job.Other]
	}
	return append([]string{line}, list...)
}
