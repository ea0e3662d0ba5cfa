package tag

import (
	"math"

	"gaugewright/internal/curve"
)

// fineness is how finely a curve's marks and values are written, as exponents of
// ten.
type fineness struct {
	mark, value int
	c           *curve.Curve
}

// knots are chosen marks of a curve, in shown units, with what it gives there.
type knots struct {
	mark, value, u []float64
	sign           float64
	c              *curve.Curve
	cubic          *curve.Cubic
}

// at gives what the curve itself says at a mark in the shown unit. A mark that
// was rounded to just beyond an end counts as the end.
func at(c *curve.Curve, mark float64) (value, u float64) {
	points := c.Points()
	inside := min(points[len(points)-1].Mark, max(points[0].Mark, c.Unit().FromShown(mark)))
	a := c.Ohm(inside, curve.Refuse)
	return float64(a.Ohm), float64(a.UOhm)
}

// choose picks the knots among the marks of the curve's points.
func (f fineness) choose(shown, grid []float64) *knots {
	in := make([]bool, len(shown))
	in[0], in[len(in)-1] = true, true
	if len(shown) <= MostKnots {
		for i := range in {
			in[i] = true
		}
		return f.through(shown, in)
	}
	values := make([]float64, len(grid))
	for i, mark := range grid {
		values[i], _ = at(f.c, mark)
	}
	for {
		k := f.through(shown, in)
		if len(k.mark) >= MostKnots {
			return k
		}
		// The point that isn't taken yet and lies nearest to where the knots are
		// furthest off.
		most, next := math.Pow10(f.value), -1
		for i, mark := range grid {
			if off := math.Abs(k.of(mark) - values[i]); off > most {
				if n := nearest(shown, in, mark); n >= 0 {
					most, next = off, n
				}
			}
		}
		if next < 0 {
			return k
		}
		in[next] = true
	}
}

// nearest gives the mark nearest to a place that isn't taken yet, or −1.
func nearest(shown []float64, in []bool, mark float64) int {
	best := -1
	for i, m := range shown {
		if !in[i] && (best < 0 || math.Abs(m-mark) < math.Abs(shown[best]-mark)) {
			best = i
		}
	}
	return best
}

// through makes knots of the marks that are taken, rounded: the first down and
// the last up, so that they don't end before the curve does.
func (f fineness) through(shown []float64, in []bool) *knots {
	k := &knots{c: f.c, sign: float64(f.c.Direction())}
	for i, mark := range shown {
		if !in[i] {
			continue
		}
		how := math.Round
		switch i {
		case 0:
			how = math.Floor
		case len(shown) - 1:
			how = math.Ceil
		}
		if f.mark > finest {
			mark = fromDecimal(int64(how(mark/math.Pow10(f.mark))), f.mark)
		}
		value, u := at(f.c, mark)
		value = fromDecimal(int64(math.Round(value/math.Pow10(f.value))), f.value)
		if n := len(k.mark); n > 0 && !(mark > k.mark[n-1]) {
			continue
		}
		k.mark, k.value, k.u = append(k.mark, mark), append(k.value, value), append(k.u, u)
	}
	y := make([]float64, len(k.value))
	for i, v := range k.value {
		y[i] = k.sign * v
	}
	k.cubic = curve.NewCubic(k.mark, y)
	return k
}

// of gives what the curve through the knots says at a mark.
func (k *knots) of(mark float64) float64 {
	return k.sign * k.cubic.At(min(k.mark[len(k.mark)-1], max(k.mark[0], mark)))
}

// doubt widens the doubt of the knots until the straight line between the doubts
// of two neighbours covers, at every place of the grid, that of the curve and
// what the knots are off by.
func (k *knots) doubt(grid []float64) {
	i := 0
	for _, mark := range grid {
		for i < len(k.mark)-2 && mark > k.mark[i+1] {
			i++
		}
		value, u := at(k.c, mark)
		needed := math.Hypot(u, k.of(mark)-value)
		part := min(1, max(0, (mark-k.mark[i])/(k.mark[i+1]-k.mark[i])))
		if lack := needed - (1-part)*k.u[i] - part*k.u[i+1]; lack > 0 {
			k.u[i] += lack
			k.u[i+1] += lack
		}
	}
}
