package docket

import (
	"math"
	"sort"

	"gaugewright/internal/quantity"
)

// Correction turns what a sender shows into what dockets say is there.
type Correction struct {
	// N is the number of dockets that it rests on.
	N int
	// Levels and U are the level and its standard uncertainty at each shown level, at
	// even steps from 0 to 1. Levels rises throughout; it may begin below 0 and end
	// above 1.
	Levels, U []float64
	// Capacity is the capacity by the stated one, with its standard uncertainty; 1
	// and 0 where nothing was learned of it.
	Capacity, UCapacity float64
}

// cells is into how many steps a correction goes.
const cells = 100

// At gives the level and the standard uncertainty that the correction adds, at a
// level as the sender shows it. Both ends are held.
func (c *Correction) At(shown float64) (level, u float64) {
	if c == nil || len(c.Levels) < 2 {
		return shown, 0
	}
	p := min(max(shown, 0), 1) * float64(len(c.Levels)-1)
	i := min(int(p), len(c.Levels)-2)
	f := p - float64(i)
	return c.Levels[i] + f*(c.Levels[i+1]-c.Levels[i]), c.U[i] + f*(c.U[i+1]-c.U[i])
}

// Shown is the reverse: the level that the sender shows, held to 0..1.
func (c *Correction) Shown(level float64) float64 {
	if c == nil || len(c.Levels) < 2 {
		return level
	}
	n := len(c.Levels) - 1
	i := sort.SearchFloat64s(c.Levels, level)
	switch {
	case i == 0:
		return 0
	case i > n:
		return 1
	}
	return (float64(i-1) + (level-c.Levels[i-1])/(c.Levels[i]-c.Levels[i-1])) / float64(n)
}

// posterior is what the draws come to.
type posterior struct {
	draws   []draw
	grid    [cells + 1][]float64 // of each shown level: the level in each draw
	mean, u [cells + 1]float64
	kappa   float64
	uKappa  float64
	// better is the probability that the mean is nearer to the truth than what the
	// sender shows, by the largest error between a tenth and eight tenths; was and is
	// are the largest errors to be expected there.
	better, was, is float64
}

// settle works out what the draws come to.
func (t *Tank) settle(list []draw) posterior {
	p := posterior{draws: list}
	n := float64(len(list))
	inverse := t.inverse()
	for i := range p.grid {
		x := t.content(float64(i) / cells)
		p.grid[i] = make([]float64, len(list))
		for k := range list {
			l := inverse(x + correction(&list[k].e, x))
			p.grid[i][k] = l
			p.mean[i] += l / n
		}
		for _, l := range p.grid[i] {
			p.u[i] += (l - p.mean[i]) * (l - p.mean[i]) / n
		}
		p.u[i] = math.Sqrt(p.u[i])
	}
	for _, d := range list {
		p.kappa += d.kappa / n
	}
	for _, d := range list {
		p.uKappa += (d.kappa - p.kappa) * (d.kappa - p.kappa) / n
	}
	p.uKappa = math.Sqrt(p.uKappa)
	p.better, p.was, p.is = p.against(func(i int) float64 { return float64(i) / cells }, func(i int) float64 { return p.mean[i] })
	return p
}

// from and to are between which shown levels errors are judged, in cells.
const from, to = 10, 80

// against holds what is shown with one setting against another: how probable it is
// that the second has the smaller largest error, and the largest errors to be
// expected of both.
func (p *posterior) against(first, second func(cell int) float64) (better, was, is float64) {
	n := float64(len(p.draws))
	for k := range p.draws {
		a, b := 0.0, 0.0
		for i := from; i <= to; i += 5 {
			a = max(a, math.Abs(first(i)-p.grid[i][k]))
			b = max(b, math.Abs(second(i)-p.grid[i][k]))
		}
		was, is = was+a/n, is+b/n
		if b < a {
			better += 1 / n
		}
	}
	return better, was, is
}

// inverse gives level by a table: a draw needs it a hundred times.
func (t *Tank) inverse() func(content float64) float64 {
	if t.Content == nil {
		return func(c float64) float64 { return c }
	}
	const n, low, high = 400, -0.25, 1.25
	var at [n + 1]float64
	for i := range at {
		at[i] = t.level(low + (high-low)*float64(i)/n)
	}
	return func(c float64) float64 {
		q := min(max((c-low)/(high-low), 0), 1) * n
		i := min(int(q), n-1)
		f := q - float64(i)
		return at[i] + f*(at[i+1]-at[i])
	}
}

func (p *posterior) correction(n int) *Correction {
	c := &Correction{N: n, Levels: append([]float64(nil), p.mean[:]...), U: append([]float64(nil), p.u[:]...), Capacity: p.kappa, UCapacity: p.uKappa}
	for i := 1; i < len(c.Levels); i++ { // rounding alone could undo it
		c.Levels[i] = max(c.Levels[i], c.Levels[i-1]+1e-9)
	}
	return c
}

// litres gives m³ in words.
func (t *Tank) litres(m3 float64) string { return t.Units.VolumeText(quantity.CubicMetre(m3)) }
