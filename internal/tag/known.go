package tag

import (
	"errors"
	"fmt"
	"slices"

	"gaugewright/internal/kin"
)

// known makes the curve of a payload; nil for none.
func (p *payload) known() (*kin.Known, error) {
	if p.Knots == nil {
		if p.Noise != nil || p.DF != 0 {
			return nil, errors.New("there are a scatter or degrees of freedom without a curve")
		}
		return nil, nil
	}
	if len(p.Knots) != 3 {
		return nil, fmt.Errorf("the curve has %d columns; expected marks, values and their uncertainties", len(p.Knots))
	}
	var list [3][]float64
	for i, c := range p.Knots {
		figures, ok := c.figures()
		if !ok {
			return nil, errors.New("a column of the curve can't be read")
		}
		if again, ok := toColumn(figures); !ok || !slices.Equal(again, c) {
			return nil, errors.New("a column of the curve isn't written in the largest power of ten that holds it")
		}
		list[i] = figures
	}
	n := len(list[0])
	if n < kin.FewestKnots || n > MostKnots || len(list[1]) != n || len(list[2]) != n {
		return nil, fmt.Errorf("the curve has %d marks, %d values and %d uncertainties; expected as many of each, %d to %d", n, len(list[1]), len(list[2]), kin.FewestKnots, MostKnots)
	}
	k := &kin.Known{
		From:  "printed code of job " + p.Number,
		Marks: marks[p.Marks].Column(), Gives: gives[p.Gives].Column(), DF: float64(p.DF),
	}
	rises, falls := false, false
	unit, signal := marks[p.Marks], gives[p.Gives]
	for i := range n {
		if m, v := list[0][i], list[1][i]; m < 0 || m > unit.Limit() || v < 0 || v > float64(signal.Limit()) || list[2][i] < 0 {
			return nil, fmt.Errorf("the curve has %g ± %g %s at mark %g; expected 0 to %g %s, a doubt of 0 or more, and marks of 0 to %s", v, list[2][i], signal.Unit(), m, float64(signal.Limit()), signal.Unit(), unit.Text(unit.FromShown(unit.Limit())))
		}
		if i > 0 {
			if !(list[0][i] > list[0][i-1]) {
				return nil, errors.New("the marks of the curve don't rise")
			}
			rises = rises || list[1][i] > list[1][i-1]
			falls = falls || list[1][i] < list[1][i-1]
		}
		k.Knots = append(k.Knots, kin.Knot{Mark: list[0][i], Value: list[1][i], U: list[2][i]})
	}
	if rises == falls {
		return nil, errors.New("the values of the curve neither rise nor fall all the way")
	}
	if p.Noise != nil {
		if p.Noise.SD == 0 {
			return nil, errors.New("the scatter is 0, which is written by leaving it out")
		}
		k.Noise, k.NoiseDF = float64(p.Noise.SD), int(p.Noise.DF)
	}
	return k, k.Check()
}
