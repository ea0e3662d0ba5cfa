package tag

import (
	"errors"
	"math"
	"slices"

	"gaugewright/internal/curve"
	"gaugewright/internal/job"
	"gaugewright/internal/kin"
	"gaugewright/internal/quantity"
)

// MostKnots is how many knots a curve has in a code at most: a sender that moves
// in steps needs them. usualKnots are enough for all others.
const (
	MostKnots  = 48
	usualKnots = 25
)

// curve puts the tank's curve into the payload. A tank without one is in the
// code with its setting alone.
func (p *payload) curve(t *job.Tank) (notes []string, err error) {
	k := plain(t)
	if k == nil {
		c, err := t.Curve()
		switch {
		case err != nil && len(t.Bench.Readings) == 0 && t.Sender.Known == nil:
			return []string{"There is no curve in the code, as there are no readings."}, nil
		case err != nil:
			return []string{"There is no curve in the code: " + err.Error() + "."}, nil
		case !c.Ordered():
			return []string{"There is no curve in the code, as the sender keeps no order."}, nil
		}
		k = thinned(c) // its doubt is widened for few units already, so it has no DF
	}
	var list [3][]float64
	for _, knot := range k.Knots {
		list[0], list[1], list[2] = append(list[0], knot.Mark), append(list[1], knot.Value), append(list[2], knot.U)
	}
	for _, figures := range list {
		c, ok := toColumn(figures)
		if !ok {
			return nil, errors.New("its curve has numbers of more digits than a code takes")
		}
		p.Knots = append(p.Knots, c)
	}
	if k.Noise > 0 {
		p.Noise = &noise{SD: number(k.Noise), DF: uint32(max(0, k.NoiseDF))}
	}
	p.DF = number(k.DF)
	return notes, nil
}

// plain gives the curve of a tank that has only a restored one, which then goes
// into a code as it came from one; nil for all others.
func plain(t *job.Tank) *kin.Known {
	k := t.Sender.Known
	if k == nil || len(t.Bench.Readings) > 0 || len(k.Knots) > MostKnots || len(k.Knots) < kin.FewestKnots {
		return nil
	}
	if k.Marks != t.Unit().Column() || k.Gives != t.Signal().Column() {
		return nil
	}
	for _, knot := range k.Knots {
		if len(knot.Modes) > 0 || knot.Floor != 0 {
			return nil
		}
		for _, v := range []float64{knot.Mark, knot.Value, knot.U} {
			if _, ok := toColumn([]float64{v}); !ok {
				return nil
			}
		}
	}
	return k
}

// Steps of what is written, in parts of the range: those of marks matter only
// where marks have many digits, since the curve is read at the mark as written.
const (
	markStep  = 1.0 / 20_000
	valueStep = 1.0 / 4_000
	coarse    = 1.0 / 500 // beyond usualKnots
	uSteps    = 26        // at least so many in the greatest doubt
)

// between is at how many places from one point of the curve to the next the
// knots are held against it.
const between = 8

// thinned gives a curve by its points where they are up to usualKnots, else by
// both ends, and then each time the point nearest to where the curve through the
// knots is furthest off, until it is off by less than is written; beyond
// usualKnots only until it is off by less than coarse, and up to MostKnots. What the
// thinning and the rounding change, anywhere, is added to the doubt of the knots
// on both sides, as if it were a standard uncertainty, so that it is rather too
// much.
func thinned(c *curve.Curve) *kin.Known {
	unit := c.Unit()
	points := c.Points()
	shown := make([]float64, len(points))
	for i, q := range points {
		shown[i] = unit.ToShown(q.Mark)
	}
	low, high := c.Range()
	f := fineness{mark: powerBelow((shown[len(shown)-1] - shown[0]) * markStep), value: powerBelow(float64(high-low) * valueStep), coarse: float64(high-low) * coarse, c: asking(c)}
	if exact(shown) {
		f.mark = finest
	}
	grid := make([]float64, 0, between*len(shown))
	for i, mark := range shown {
		if i > 0 {
			for k := 1; k < between; k++ {
				grid = append(grid, shown[i-1]+(mark-shown[i-1])*float64(k)/between)
			}
		}
		grid = append(grid, mark)
	}
	chosen := f.choose(shown, grid)
	chosen.doubt(grid)
	k := &kin.Known{Marks: unit.Column(), Gives: c.Signal().Column()}
	top := slices.Max(chosen.u)
	e := finest
	if top > 0 {
		e = max(finest, powerBelow(top/uSteps))
	}
	for i := range chosen.mark {
		u := fromDecimal(int64(math.Ceil(chosen.u[i]/math.Pow10(e)*(1-1e-12))), e)
		k.Knots = append(k.Knots, kin.Knot{Mark: chosen.mark[i], Value: chosen.value[i], U: u})
	}
	if r := c.Repeatability(); r.DF > 0 && r.SD > 0 {
		k.Noise, k.NoiseDF = quantity.Round(r.SD, max(0, 1-powerBelow(r.SD))), int(r.DF)
	}
	return k
}

// powerBelow gives the greatest power of ten up to v, as its exponent; for 0 the
// finest.
func powerBelow(v float64) int {
	if !(v > 0) {
		return finest
	}
	return int(max(finest, min(coarsest, math.Floor(math.Log10(v)))))
}

// exact says whether marks can be written as they are with four decimals.
func exact(figures []float64) bool {
	for _, v := range figures {
		if m, e := decimal(v); m != 0 && e < -4 {
			return false
		}
	}
	return true
}
