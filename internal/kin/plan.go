package kin

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"

	"gaugewright/internal/curve"
	"gaugewright/internal/doubt"
	"gaugewright/internal/quantity"
	"gaugewright/internal/wording"
)

// Next is one reading worth taking of the next unit.
type Next struct {
	Mark float64 // in the unit of the marks inside
	// Worst and Mean are the doubt left once this reading and those before it are
	// taken: standard uncertainties in parts of the span, at the worst knot and as
	// the root of the mean square over all.
	Worst, Mean float64
}

// Plan is which marks to read of the next unit, and what they are worth.
type Plan struct {
	Unit        curve.MarkUnit
	Worst, Mean float64 // without a further reading
	Next        []Next
	Enough      int // readings after which one more hardly helps: takes less than a tenth off Worst; −1 where none of Next is so
}

// MostPlanned is how many readings a plan looks ahead.
const MostPlanned = 10

// Plan looks for the n marks, one after the other, that leave the least doubt on
// the whole (the mean variance over the knots: I-optimal, taken greedily), among
// the marks of the type. Marks that were read already can be given, inside. What
// they showed doesn't matter: under the normal distribution the doubt left
// depends on the marks alone.
func (k Known) Plan(n int, o curve.Options, have ...float64) (Plan, error) {
	p, err := k.prior(o.Doubts)
	if err != nil {
		return Plan{}, err
	}
	if !k.Differs() {
		return Plan{}, fmt.Errorf("it isn't known how units differ (%s), so no reading of another can be weighed beforehand", k.From)
	}
	g := p.grid()
	for _, mark := range have {
		if at, ok := p.placeOf(mark); ok {
			g.take(p, at)
		}
	}
	plan := Plan{Unit: p.unit, Enough: -1}
	plan.Worst, plan.Mean = p.doubtLeft(g)
	before := plan.Worst
	for i := range min(max(n, 0), MostPlanned) {
		best, least := -1, math.Inf(1)
		for c := range p.x {
			if left := g.after(p, c); left < least*(1-1e-9) {
				best, least = c, left
			}
		}
		g.take(p, place{best, best, 0})
		next := Next{Mark: p.x[best]}
		next.Worst, next.Mean = p.doubtLeft(g)
		if plan.Enough < 0 && next.Worst > 0.9*before {
			plan.Enough = i
		}
		before = next.Worst
		plan.Next = append(plan.Next, next)
	}
	return plan, nil
}

// Marks lists the planned marks in words, lowest first.
func (p Plan) Marks() string {
	marks := make([]float64, len(p.Next))
	for i, n := range p.Next {
		marks[i] = n.Mark
	}
	sortFloats(marks)
	var names []string
	for i := 0; i < len(marks); {
		j := i
		for j < len(marks) && marks[j] == marks[i] {
			j++
		}
		name := p.Unit.Text(marks[i])
		if j-i > 1 {
			name += fmt.Sprintf(" (%d times)", j-i)
		}
		names, i = append(names, name), j
	}
	return wording.Several(names, "and")
}

// grid is the covariance over the knots as readings come in, one at a time.
type grid struct{ cov *mat.SymDense }

func (p *prior) grid() *grid {
	n := len(p.x)
	g := &grid{mat.NewSymDense(n, nil)}
	for i := range n {
		for j := i; j < n; j++ {
			g.cov.SetSym(i, j, p.cov(place{i, i, 0}, place{j, j, 0}, p.wide))
		}
	}
	return g
}

// own is the variance of one reading at a mark for a plan. What all readings
// share (the meter, the leads) doesn't choose between marks; here it is counted
// with each.
func (p *prior) own(mark float64) float64 {
	r := curve.Reading{Mark: mark, Ohm: quantity.Ohm(math.Max(0, float64(p.course.Ohm(mark, curve.Refuse).Ohm)))}
	return p.benchCov(r, r, true)
}

// after gives the mean variance that a reading at knot c would leave.
func (g *grid) after(p *prior, c int) float64 {
	n := len(p.x)
	v := g.cov.At(c, c) + p.own(p.x[c])
	sum := 0.0
	for i := range n {
		sum += max(0, g.cov.At(i, i)-square(g.cov.At(i, c))/v)
	}
	return sum / float64(n)
}

// take puts a reading in (rank-one update of a normal distribution).
func (g *grid) take(p *prior, at place) {
	n := len(p.x)
	h := make([]float64, n)
	for i := range h {
		h[i] = (1-at.t)*g.cov.At(i, at.a) + at.t*g.cov.At(i, at.b)
	}
	v := (1-at.t)*h[at.a] + at.t*h[at.b] + p.own(at.of(p.x))
	for i := range n {
		for j := i; j < n; j++ {
			g.cov.SetSym(i, j, g.cov.At(i, j)-h[i]*h[j]/v)
		}
	}
}

// doubtLeft gives the worst and the mean doubt over the knots in parts of the
// span, with the floor.
func (p *prior) doubtLeft(g *grid) (worst, mean float64) {
	for i := range p.x {
		u := doubt.Combine(math.Sqrt(max(0, g.cov.At(i, i))), p.floor[i], doubt.Rectangular(float64(p.doubts.Temperature)*p.mean[i])) / p.span
		worst = max(worst, u)
		mean += u * u
	}
	return worst, math.Sqrt(mean / float64(len(p.x)))
}
