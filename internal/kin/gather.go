package kin

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"gaugewright/internal/curve"
	"gaugewright/internal/doubt"
	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
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

// gathering is the units' values at the knots, and what is known of them.
type gathering struct {
	x, mean       []float64
	unit          curve.MarkUnit
	off           [][]float64 // of each unit, from the mean
	own, common   []float64   // root mean squares over the units, at each knot
	span          float64
	basis         [][]float64 // offset, gain, bend over the knots, orthonormal in the mean square
	coef          [][]float64 // of each basis function, over the units
	rest          [][]float64 // of each unit, what the basis leaves
	restFactor    float64     // makes good for what the fit takes from the rest
	restVariables float64     // independent values of the rest in one unit
}

func gatheringOf(all []drawn, x []float64) *gathering {
	n, k := len(all), len(x)
	s := &gathering{x: x, unit: all[0].course.Unit(), mean: make([]float64, k), own: make([]float64, k), common: make([]float64, k), off: make([][]float64, n)}
	for i, d := range all {
		s.off[i] = make([]float64, k)
		for j, mark := range x {
			value, own, common := d.at(mark)
			s.off[i][j] = value
			s.mean[j] += value / float64(n)
			s.own[j] += own * own / float64(n)
			s.common[j] += common * common / float64(n)
		}
	}
	for j := range x {
		s.own[j], s.common[j] = math.Sqrt(s.own[j]), math.Sqrt(s.common[j])
		for i := range all {
			s.off[i][j] -= s.mean[j]
		}
	}
	s.span = math.Abs(s.mean[k-1] - s.mean[0])
	s.basis = basisOf(x, s.mean, s.span)
	q := len(s.basis)
	s.coef = make([][]float64, q)
	s.rest = make([][]float64, n)
	for b := range s.basis {
		s.coef[b] = make([]float64, n)
	}
	for i := range all {
		s.rest[i] = append([]float64(nil), s.off[i]...)
		for b, f := range s.basis {
			c := dot(s.off[i], f) / float64(k)
			s.coef[b][i] = c
			for j := range f {
				s.rest[i][j] -= c * f[j]
			}
		}
	}
	s.restFactor = float64(k) / max(1, float64(k-q))
	s.restVariables = max(1, min(float64(k-q), 1/restReach-float64(q)))
	return s
}

// basisOf gives offset, gain and bend over the knots: a constant, the curve
// itself, and what half a wave over the span is besides those two. They are
// orthonormal in the mean square. Two knots have no bend.
func basisOf(x, mean []float64, span float64) [][]float64 {
	k := len(x)
	raw := [][]float64{make([]float64, k), make([]float64, k), make([]float64, k)}
	for j := range x {
		t := (mean[j] - mean[0]) / (mean[k-1] - mean[0])
		raw[0][j], raw[1][j], raw[2][j] = 1, t, math.Sin(math.Pi*t)
	}
	var out [][]float64
	for _, f := range raw[:min(MostModes, k)] {
		for range 2 { // the second time takes off what rounding left
			for _, e := range out {
				c := dot(f, e) / float64(k)
				for j := range f {
					f[j] -= c * e[j]
				}
			}
		}
		size := math.Sqrt(dot(f, f) / float64(k))
		if !(size > 1e-6) {
			continue
		}
		for j := range f {
			f[j] /= size
		}
		out = append(out, f)
	}
	return out
}

// spread fills in the curve of the type, and how units differ from it.
func (s *gathering) spread(l layout, g *Gathered) {
	n, k, q := len(s.off), len(s.x), len(s.basis)
	// The whole of the differences, over all knots: components and degrees of
	// freedom.
	var between, within float64
	for j := range s.x {
		column := make([]float64, n)
		for i := range column {
			column[i] = s.off[i][j] / s.span
		}
		b, w := l.squares(column, column)
		between, within = between+b/float64(k), within+w/float64(k)
	}
	g.Spread = l.settled(between, within)
	share := l.meanShare(g.Spread)
	// Covariance of the coefficients, of a unit of a new batch.
	cov := mat.NewSymDense(q, nil)
	noise := 0.0 // what the units' own noise makes of a coefficient
	for j := range s.x {
		noise += square(s.own[j]) / float64(k*k)
	}
	for a := range q {
		for b := a; b < q; b++ {
			bs, ws := l.squares(s.coef[a], s.coef[b])
			c := l.of(bs, ws)
			v := c.Unit + c.Batch
			if g.Spread.Batch == 0 && g.Spread.BatchKnown {
				v = (bs + ws) / float64(n-1)
			}
			if a == b {
				v -= noise
			}
			cov.SetSym(a, b, v)
		}
	}
	values, vectors := eigen(cov)
	trace := 0.0
	for a, v := range values {
		values[a] = max(0, v)
		trace += values[a]
	}
	trace = max(trace, noise, square(1e-4*s.span)) // units are never told to be all alike
	lambda := formWeight / (formWeight + g.Spread.DF)
	shares := 0.0
	for a := range q {
		shares += expectedForm[a]
	}
	for a := range q {
		for b := a; b < q; b++ {
			v := 0.0
			for e := range values {
				v += values[e] * vectors.At(a, e) * vectors.At(b, e)
			}
			v *= 1 - lambda
			if a == b {
				v += lambda * trace * expectedForm[a] / shares
			}
			cov.SetSym(a, b, v)
		}
	}
	values, vectors = eigen(cov)
	widen := math.Sqrt(1 + share)
	if g.Widened {
		widen *= oneBatch
	}
	g.Known.DF = tidy(g.Spread.DF)
	rest := s.restSD(g)
	g.Known.Knots = make([]Knot, k)
	ordered := s.orderedMean()
	for j := range s.x {
		knot := Knot{Mark: quantity.Round(s.unit.ToShown(s.x[j]), 9), Value: quantity.Round(ordered[j], 9), Floor: tidy(s.common[j])}
		sum := 0.0
		for e := q - 1; e >= 0; e-- { // the largest first
			v := 0.0
			for a, f := range s.basis {
				v += vectors.At(a, e) * f[j]
			}
			v = tidy(v * math.Sqrt(max(0, values[e])) * widen)
			knot.Modes = append(knot.Modes, v)
			sum += v * v
		}
		// The mean's own noise stays in the rest: it is independent at each knot.
		own := rest[j] * widen
		knot.U = tidy(doubt.Combine(math.Sqrt(sum), own, s.own[j]/math.Sqrt(float64(n)), knot.Floor) * (1 + 1e-7))
		g.Known.Knots[j] = knot
	}
}

// restSD gives the standard deviation of the rest at each knot: half that of the
// knot itself, half that of all, less the units' own noise, and widened by
// Student's t for how well it is known.
func (s *gathering) restSD(g *Gathered) []float64 {
	n, k := len(s.off), len(s.x)
	df := g.Spread.DF
	at, all := make([]float64, k), 0.0
	for j := range s.x {
		for i := range s.rest {
			at[j] += square(s.rest[i][j]) / float64(n-1) * s.restFactor
		}
		all += at[j] / float64(k)
	}
	least := square(1e-4 * s.span)
	wide := doubt.Factor(0.95, df*s.restVariables) / doubt.Factor(0.95, math.Inf(1))
	out := make([]float64, k)
	for j := range out {
		// One knot's own figure has the degrees of freedom of the units alone.
		weight := df / (df + s.restVariables)
		v := weight*at[j] + (1-weight)*all
		out[j] = wide * math.Sqrt(max(v-square(s.own[j]), restLeast*v, least))
	}
	return out
}

// orderedMean is the mean over the units, in order: it is already, but for
// rounding.
func (s *gathering) orderedMean() []float64 {
	sign := 1.0
	if s.mean[len(s.mean)-1] < s.mean[0] {
		sign = -1
	}
	y, w := make([]float64, len(s.mean)), make([]float64, len(s.mean))
	for j, v := range s.mean {
		y[j], w[j] = sign*v, 1
	}
	y = curve.Isotonic(y, w)
	for j := range y {
		y[j] *= sign
	}
	return y
}

// eigen gives the eigenvalues in rising order and the eigenvectors, each with
// its largest part above zero so that the same units give the same modes.
func eigen(m *mat.SymDense) ([]float64, *mat.Dense) {
	var e mat.EigenSym
	if !e.Factorize(m, true) {
		panic("kin: a covariance without eigenvalues")
	}
	var v mat.Dense
	e.VectorsTo(&v)
	n, _ := v.Dims()
	for c := range n {
		most := 0.0
		for r := range n {
			if math.Abs(v.At(r, c)) > math.Abs(most)*(1+1e-9) {
				most = v.At(r, c)
			}
		}
		if most < 0 {
			for r := range n {
				v.Set(r, c, -v.At(r, c))
			}
		}
	}
	return e.Values(nil), &v
}

func dot(a, b []float64) float64 {
	sum := 0.0
	for i, v := range a {
		sum += v * b[i]
	}
	return sum
}
