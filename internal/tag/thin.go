package tag

import (
	"math"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
)

// fineness is how finely a curve's marks and values are written, as exponents of
// ten.
type fineness struct {
	mark, value int
	coarse      float64 // what knots may be off by where there are many
	c           asked
}

// knots are chosen marks of a curve, in shown units, with what it gives there.
type knots struct {
	mark, value, u []float64
	sign           float64
	c              asked
	cubic          *curve.Cubic
}

// asked is a curve that is asked by marks in the shown unit.
type asked struct {
	*curve.Curve
	first, last float64
}

func asking(c *curve.Curve) asked {
	points := c.Points()
	return asked{c, points[0].Mark, points[len(points)-1].Mark}
}

// at gives what the curve itself says at a mark in the shown unit. A mark that
// was rounded to just beyond an end counts as the end.
func (c asked) at(mark float64) (value, u float64) {
	a := c.Ohm(min(c.last, max(c.first, c.Unit().FromShown(mark))), curve.Refuse)
	return float64(a.Ohm), float64(a.UOhm)
}

// choose picks the knots among the marks of the curve's points.
func (f fineness) choose(shown, grid []float64) *knots {
	in := make([]bool, len(shown))
	in[0], in[len(in)-1] = true, true
	if len(shown) <= usualKnots {
		for i := range in {
			in[i] = true
		}
		return f.through(shown, in)
	}
	values := make([]float64, len(grid))
	for i, mark := range grid {
		values[i], _ = f.c.at(mark)
	}
	for {
		k := f.through(shown, in)
		if len(k.mark) >= MostKnots {
			return k
		}
		// The point that isn't taken yet and lies nearest to where the knots are
		// furthest off.
		most, next := math.Pow10(f.value), -1
		if len(k.mark) >= usualKnots {
			most = f.coarse
		}
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
		value, u := f.c.at(mark)
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

// doubt widens the doubt of the knots until the curve that is made of them is,
// at every place of the grid, no surer than the bench's own, with what the knots
// are off by there. That curve counts itself what may happen between two knots.
func (k *knots) doubt(grid []float64) {
	unit := k.c.Unit()
	for range mostPasses {
		list := make([]curve.Knot, len(k.mark))
		for i := range list {
			list[i] = curve.Knot{Mark: unit.FromShown(k.mark[i]), Ohm: quantity.Ohm(k.value[i]), U: quantity.Ohm(k.u[i])}
		}
		made, err := curve.FromKnots(unit, k.c.Signal(), list, curve.Source{})
		if err != nil {
			return // knots that make no curve are refused when the code is read
		}
		its := asking(made)
		lacks, wide, i := make([]float64, len(k.mark)), false, 0
		for _, mark := range grid {
			for i < len(k.mark)-2 && mark > k.mark[i+1] {
				i++
			}
			value, u := k.c.at(mark)
			_, has := its.at(mark)
			lack := math.Hypot(u, k.of(mark)-value) - has
			wide = wide || lack > enough*(has+u)
			lacks[i], lacks[i+1] = max(lacks[i], lack), max(lacks[i+1], lack)
		}
		if !wide {
			return
		}
		for i, lack := range lacks {
			k.u[i] += lack
		}
	}
}

// Widening stops after so many passes, or when nothing lacks more than this part
// of a doubt.
const (
	mostPasses = 6
	enough     = 0.01
)
