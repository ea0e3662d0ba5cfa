package kin

import (
	"fmt"
	"math"
	"slices"

	"gaugewright/internal/curve"
	"gaugewright/internal/finding"
)

const (
	// mostGathered is how many knots a gathered type has: more marks than any
	// bench reads.
	mostGathered = 33
	// apart is how near two marks may be, in parts of the range, before they are
	// one knot.
	apart = 0.01
	// formWeight is how many degrees of freedom the expectation counts for that
	// units differ mostly by offset and gain and little by bend; expectedForm has the
	// shares expected. Common practice, no source.
	formWeight = 2
	// oneBatch is by how much the spread is widened where only one batch is known,
	// or none is stated: batches are then taken to differ by as much as units do,
	// 1.4 in the standard deviation, and the batch known to be off as well. Common
	// practice, no source.
	oneBatch = 1.5
	// restLeast is the least part of what units differ by besides the modes that
	// is taken for the rest, even where their own noise would explain all of it.
	restLeast = 0.1
)

var expectedForm = [MostModes]float64{0.5, 0.35, 0.15}

// Gathered is what came of gathering a type.
type Gathered struct {
	Known Known
	// Spread are the components of the variance between units, over all knots, in
	// parts of the span squared. Batch is what was estimated, without widening.
	Spread Components
	// Widened says that only one batch is known, so that the spread is widened.
	Widened bool
	// Odd are the units that don't belong, by index, with their chances.
	Odd      []OddUnit
	Findings []finding.Finding
}

// Gather works the type's curve and spread out of its units. The names of the
// type are in the findings and in From. Errors say what is missing.
func (t *Type) Gather() (Gathered, error) {
	g, err := gather(t, t.Units)
	if err != nil {
		return g, err
	}
	g.Odd = oddUnits(t)
	g.describe(t)
	return g, nil
}

func gather(t *Type, units []Unit) (Gathered, error) {
	var g Gathered
	marks, ok := unitOf(t.Marks)
	gives, ok2 := signalOf(t.Gives)
	if !ok || !ok2 {
		return g, fmt.Errorf("type %q: marks %q or gives %q isn't known", t.Name, t.Marks, t.Gives)
	}
	if len(units) < FewestUnits {
		return g, fmt.Errorf("type %q: %d unit; how units differ can be told from %d on, and from five or more with any certainty", t.Name, len(units), FewestUnits)
	}
	all := make([]drawn, len(units))
	batches := make([]string, len(units))
	for i, u := range units {
		var err error
		if all[i], err = u.draw(marks, gives); err != nil {
			return g, fmt.Errorf("type %q: %w", t.Name, err)
		}
		if d := all[i].course.Direction(); d != all[0].course.Direction() {
			return g, fmt.Errorf("type %q: %s is %s and %s is %s as the mark goes up; they aren't of one type", t.Name, u.Name(), d, units[0].Name(), all[0].course.Direction())
		}
		batches[i] = u.Batch
	}
	x, err := commonKnots(t, all, marks)
	if err != nil {
		return g, err
	}
	s := gatheringOf(all, x)
	l := newLayout(batches)
	g.Known = Known{Marks: t.Marks, Gives: t.Gives, Units: len(units)}
	for b := range l.size {
		if first := slices.Index(l.batch, b); batches[first] != "" {
			g.Known.Batches++
		}
	}
	g.Widened = len(l.size) == 1
	var noise float64
	for _, u := range units {
		noise += u.Noise * u.Noise * float64(u.NoiseDF)
		g.Known.NoiseDF += u.NoiseDF
	}
	if g.Known.NoiseDF > 0 {
		g.Known.Noise = tidy(math.Sqrt(noise / float64(g.Known.NoiseDF)))
	}
	s.spread(l, &g)
	g.Known.From = from(t, g.Known)
	return g, nil
}

// from says in words what a gathered type rests on.
func from(t *Type, k Known) string {
	text := fmt.Sprintf("sender type %s, %d units", t.Name, k.Units)
	switch k.Batches {
	case 0:
	case 1:
		text += " of one batch"
	default:
		text += fmt.Sprintf(" of %d batches", k.Batches)
	}
	return text
}

// commonKnots gives the marks that all units reach, at those that were read.
func commonKnots(t *Type, all []drawn, marks curve.MarkUnit) ([]float64, error) {
	low, high := math.Inf(-1), math.Inf(1)
	least, most := math.Inf(1), math.Inf(-1)
	var x []float64
	for _, d := range all {
		first, last := d.x[0], d.x[len(d.x)-1]
		low, high = max(low, first), min(high, last)
		least, most = min(least, first), max(most, last)
		x = append(x, d.x...)
	}
	if high-low < 0.5*(most-least) {
		return nil, fmt.Errorf("type %q: the units have only %s to %s in common, of %s to %s that any of them reached; read the short ones further, or leave them out", t.Name,
			marks.Text(low), marks.Text(high), marks.Text(least), marks.Text(most))
	}
	slices.Sort(x)
	kept := []float64{low}
	for _, v := range x {
		if v-kept[len(kept)-1] > apart*(high-low) && high-v > apart*(high-low) {
			kept = append(kept, v)
		}
	}
	kept = append(kept, high)
	if n := len(kept); n > mostGathered {
		few := make([]float64, mostGathered)
		for i := range few {
			few[i] = kept[i*(n-1)/(mostGathered-1)]
		}
		kept = few
	}
	return kept, nil
}
