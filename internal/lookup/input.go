package lookup

import (
	"fmt"
	"math"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
)

// Counts is an input with a converter: the counts that a resistance gives, and
// the resistance in ohms that a count stands for, either rising or falling all
// the way. Ohm may be +Inf at the end of an open wire; less than 0 counts as 0.
type Counts interface {
	Counts(ohm float64) float64
	Ohm(counts float64) float64
	// Full is the greatest count: 4095 for 12 bits.
	Full() int
}

// curveEnds gives the least and the greatest ohms on the curve.
func curveEnds(c *curve.Curve) (least, greatest quantity.Ohm) {
	points := c.Points()
	a, b := points[0].Ohm, points[len(points)-1].Ohm
	return min(a, b), max(a, b)
}

// ohmsOf gives the ohms of every count.
func ohmsOf(in Counts) ([]float64, error) {
	full := in.Full()
	if full < LeastFull || full > MostFull {
		return nil, fmt.Errorf("the greatest count is %d; expected %d to %d (8 to 16 bits)", full, LeastFull, MostFull)
	}
	list := make([]float64, full+1)
	for c := range list {
		list[c] = in.Ohm(float64(c))
		if math.IsNaN(list[c]) {
			return nil, fmt.Errorf("count %d of the input stands for no resistance", c)
		}
	}
	sign := 1.0
	if list[full] < list[0] {
		sign = -1
	}
	for c := 1; c <= full; c++ {
		if sign*list[c] < sign*list[c-1] {
			return nil, fmt.Errorf("the ohms of the input go to and fro with the counts: %g at count %d, %g at count %d", list[c-1], c-1, list[c], c)
		}
	}
	for c := range list {
		list[c] = max(0, list[c])
	}
	return list, nil
}

// openEnd gives the count at the end of many ohms.
func openEnd(ohms []float64) int {
	if ohms[0] > ohms[len(ohms)-1] {
		return 0
	}
	return len(ohms) - 1
}
