package drift

import (
	"fmt"
	"math"
	"strings"

	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
	"gaugewright/internal/wording"
)

// say puts the result into sentences, the verdict first.
func (r *Result) say(o Options) {
	b := r.bench
	add := func(kind string, weight finding.Weight, format string, args ...any) {
		r.Findings = append(r.Findings, finding.Finding{Kind: kind, Weight: weight, Text: fmt.Sprintf(format, args...)})
	}
	if r.Changed {
		add("changed", finding.Doubt, "The sender has changed: %s than in %s; %s.", r.most(), o.record(), oddsOfNoise(r.P))
		r.sayWhere(add)
		r.sayCause(add)
	} else {
		add("no-change", finding.Note, "No change is seen against %s: readings like these come about %s where nothing has changed. %s", o.record(), often(r.P), r.unseen())
	}
	if n := len(b.skipped); n > 0 {
		texts := make([]string, n)
		for i, m := range b.skipped {
			texts[i] = b.unit.Text(m)
		}
		add("outside", finding.Doubt, "The record has no answer at %s, so what was read there is left out.", wording.Several(texts, "and"))
	}
	for _, row := range r.Rows {
		if row.Outside {
			add("continued", finding.Note, "Some marks lie outside the record's readings, which go from %s to %s; there they are held against its straight continuation, with the doubt that brings.", b.unit.Text(b.first()), b.unit.Text(b.last()))
			break
		}
	}
	if len(b.taken) > 0 {
		add("assumed", finding.Note, "What isn't known was taken as usual: %s. A stated meter, marks held closer and readings taken twice show smaller changes.", strings.Join(b.taken, "; "))
	}
	if len(r.Rows) < 4 {
		add("few", finding.Doubt, "%s; four or five, spread over the scale, tell what has changed much better.", places(len(r.Rows)))
	}
}

func places(n int) string {
	if n == 1 {
		return "There is a later reading at one mark only"
	}
	return fmt.Sprintf("There are later readings at %d places only", n)
}

// most is the largest change in words: "at 40 % it gives 3.1 Ω more". Where no
// mark by itself is beyond doubt the sentence says it of all marks together.
func (r Result) most() string {
	b := r.bench
	l := r.Largest
	way := "more"
	if l.Change < 0 {
		way = "less"
	}
	return fmt.Sprintf("at %s it gives %s %s", b.unit.Text(b.unit.FromShown(l.Mark)), b.signal.Text(quantity.Ohm(math.Abs(l.Change))), way)
}

// oddsOfNoise says how probable it is to see this by chance.
func oddsOfNoise(p float64) string {
	switch {
	case p < 0.001:
		return "the odds of seeing this from noise alone are under 1 in 1000"
	case p < 0.01:
		return fmt.Sprintf("the odds of seeing this from noise alone are about 1 in %s", quantity.Digits(math.Round(1/p/10)*10, 0))
	}
	return fmt.Sprintf("the odds of seeing this from noise alone are about 1 in %s", quantity.Digits(math.Round(1/p), 0))
}

// often says how often readings like these come about where nothing changed.
func often(p float64) string {
	if p > 0.5 {
		return "more often than not"
	}
	return fmt.Sprintf("once in %s times", quantity.Digits(math.Round(1/p), 0))
}

// unseen says what these readings couldn't have shown.
func (r Result) unseen() string {
	whole, one := 0.0, Detectable{}
	for _, d := range r.Power {
		if d.Cause == Misread {
			one = d
		} else {
			whole = max(whole, d.Points)
		}
	}
	b := r.bench
	return fmt.Sprintf("They would have shown, 95 times in 100, a change of the whole sender of %s %% of the span (%s) or more, and one at a single mark of %s %% (%s); a smaller one may be there unseen.",
		quantity.Digits(whole, 1), b.signal.Text(quantity.Ohm(whole*b.span/100)), quantity.Digits(one.Points, 1), b.signal.Text(quantity.Ohm(one.Change)))
}

func (r Result) sayWhere(add func(string, finding.Weight, string, ...any)) {
	b := r.bench
	var beyond []string
	for _, row := range r.Rows {
		text := b.unit.Text(b.unit.FromShown(row.Mark))
		if row.Beyond && (len(beyond) == 0 || beyond[len(beyond)-1] != text) {
			beyond = append(beyond, text)
		}
	}
	l := r.Largest
	size := fmt.Sprintf("The largest change is %s ± %s (%s %% of the span) at %s", b.signed(l.Change), b.signal.Text(quantity.Ohm(2*l.U)), quantity.Minus(quantity.Digits(l.Points, 1)), b.unit.Text(b.unit.FromShown(l.Mark)))
	switch len(beyond) {
	case 0:
		add("where", finding.Note, "%s. No single mark is beyond doubt; it is all of them together that tell.", size)
	case len(r.Rows):
		add("where", finding.Note, "%s. The change is beyond doubt at every mark.", size)
	default:
		add("where", finding.Note, "%s. It is beyond doubt at %s.", size, wording.Several(beyond, "and"))
	}
}

// signed prints a value with its sign and unit.
func (b *bench) signed(v float64) string {
	text := b.signal.Text(quantity.Ohm(v))
	if v > 0 {
		return "+" + text
	}
	return quantity.Minus(text)
}

func (r Result) sayCause(add func(string, finding.Weight, string, ...any)) {
	if len(r.Causes) == 0 {
		return
	}
	b := r.bench
	first := r.Causes[0]
	switch {
	case first.Cause == Unnamed:
		add("cause", finding.Doubt, "%s", first.Sentence)
	case r.told():
		odds := "nothing else comes near"
		if len(r.fits) > 1 && r.fits[1].log > 1e-6 {
			odds = fmt.Sprintf("next comes %s, at odds of 1 to %s", noun(r.fits[1].cause), ratio(r.fits[0].log/r.fits[1].log))
		}
		add("cause", finding.Doubt, "%s Of what could be, that fits best; %s.", first.Sentence, odds)
	default:
		add("cause", finding.Doubt, "These readings can't tell %s from %s: both fit about as well. %s", noun(first.Cause), noun(r.Causes[1].Cause), first.Sentence)
	}
	if t := r.Tell; t != nil {
		add("tell", finding.Note, "One more reading at %s would best tell them apart: %s would give %s there and %s %s.",
			b.unit.Text(b.unit.FromShown(t.Mark)), noun(r.Causes[0].Cause), b.signal.Text(quantity.Ohm(t.First)), noun(r.Causes[1].Cause), b.signal.Text(quantity.Ohm(t.Second)))
	} else if first.Cause != Unnamed && !r.told() && r.Causes[1].Cause != Unnamed {
		add("tell", finding.Note, "No single reading would tell them apart: what they do to this sender differs by less than its doubt at every mark.")
	}
}

func ratio(v float64) string {
	if v > 1000 {
		return "over 1000"
	}
	if v < 10 {
		return quantity.Digits(v, 1)
	}
	return quantity.Digits(v, 0)
}
