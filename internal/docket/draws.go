package docket

import (
	"math"
	"math/rand/v2"
)

// draw is one way in which it may be.
type draw struct {
	kappa float64
	e     [width]float64
}

// How many draws are made, how often it is tried, and from which seed: the same
// dockets give the same figures.
const (
	draws    = 800
	tries    = 8 * draws
	drawSeed = 0x676175676577
)

// leastSlope is the least by which the content rises with what the sender shows, and
// most how far what was seen may lie outside of the tank.
const (
	leastSlope = 0.1
	outside    = 0.015
)

// draws draws from the mixture what is monotone and lets no docket have stood below
// empty or above the brim. Where next to nothing of it is, the nearest monotone ones
// stand in.
func (m *mixture) draws(t *Tank, pieces []piece) []draw {
	if len(m.parts) == 0 {
		return nil
	}
	random := rand.New(rand.NewPCG(drawSeed, uint64(len(pieces))))
	roots := make([]*[width][width]float64, len(m.parts))
	list := make([]draw, 0, draws)
	var spare []draw
	for n := 0; n < tries && len(list) < draws; n++ {
		// Stratified: the mixture's weights are met as well as can be.
		u := (float64(n%draws) + random.Float64()) / draws
		i := 0
		for ; i < len(m.parts)-1 && u >= m.parts[i].weight; i++ {
			u -= m.parts[i].weight
		}
		if roots[i] == nil {
			roots[i] = root(&m.parts[i].state.cov)
		}
		d := draw{kappa: m.parts[i].kappa, e: m.parts[i].state.mean}
		var z [width]float64
		for k := range z {
			z[k] = random.NormFloat64()
		}
		for k := range z {
			for l := range k + 1 {
				d.e[k] += roots[i][k][l] * z[l]
			}
		}
		if possible(t, &d, pieces, m.parts[i].out) {
			list = append(list, d)
		} else if len(spare) < draws/4 {
			spare = append(spare, d)
		}
	}
	if len(list) < draws/8 {
		for _, d := range spare {
			d.raise()
			list = append(list, d)
		}
	}
	return list
}

// possible says whether a draw can be.
func possible(t *Tank, d *draw, pieces []piece, out uint64) bool {
	const step = 1.0 / (knots - 1)
	for k := range knots - 1 {
		if d.e[k+1]-d.e[k] < (leastSlope-1)*step {
			return false
		}
	}
	brim := t.perWater() + outside
	for j := range pieces {
		if out&(1<<j) != 0 {
			continue
		}
		for _, x := range []float64{pieces[j].before, pieces[j].after} {
			if math.IsNaN(x) {
				continue
			}
			if c := x + correction(&d.e, x); c < -outside || c > brim {
				return false
			}
		}
	}
	return true
}

// raise makes a draw monotone: what would fall is held.
func (d *draw) raise() {
	const step = 1.0 / (knots - 1)
	for k := range knots - 1 {
		d.e[k+1] = max(d.e[k+1], d.e[k]+(leastSlope-1)*step)
	}
}

// root gives the lower Cholesky factor of a covariance. What rounding has made
// negative on the diagonal counts as nothing.
func root(c *[width][width]float64) *[width][width]float64 {
	var l [width][width]float64
	for i := range width {
		for j := range i + 1 {
			sum := c[i][j]
			for k := range j {
				sum -= l[i][k] * l[j][k]
			}
			switch {
			case i == j:
				l[i][i] = math.Sqrt(max(sum, 0))
			case l[j][j] > 1e-9:
				l[i][j] = sum / l[j][j]
			}
		}
	}
	return &l
}
