package tank_test

import (
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"gaugewright/internal/tank"
)

func TestCheckOfSums(t *testing.T) {
	box := boxMade(t, 0.8, 0.5, 0.3)
	at := func(s tank.Solid, x, y, z float64) tank.Solid {
		return tank.Placed{Solid: s, At: r3.Vec{X: x, Y: y, Z: z}}
	}
	small := boxMade(t, 0.1, 0.1, 0.1)
	tube := extrudeMade(t, outlineMade(t, outlineCircle(0.02, 0, 0, 0)...), 'z', 0.3)
	long := extrudeMade(t, outlineMade(t, outlineCircle(0.02, 0, 0.15, 0)...), 'x', 1)
	shapeless := strappingMade(t, []float64{0, 0.3}, []float64{0, 0.1}, tank.Straight, 0, 0)
	for _, c := range []struct {
		name string
		sum  tank.Sum
		says string // nothing where all is well
	}{
		{"one part", tank.Sum{Plus: []tank.Solid{box}}, ""},
		{"nothing", tank.Sum{}, ""},
		{"tube through it", tank.Sum{Plus: []tank.Solid{box}, Minus: []tank.Solid{tube}}, ""},
		{"flush in a corner", tank.Sum{Plus: []tank.Solid{box}, Minus: []tank.Solid{at(small, 0.35, 0.2, 0), at(small, 0.35, 0.1, 0)}}, ""},
		{"stacked", tank.Sum{Plus: []tank.Solid{box, at(small, 0, 0, 0.3), at(small, 0, 0, 0.4)}}, ""},
		{"side by side", tank.Sum{Plus: []tank.Solid{box, at(box, 0.8, 0, 0)}}, ""},
		{"within rounding", tank.Sum{Plus: []tank.Solid{box, at(box, 0.7999, 0, 0)}}, ""},
		{"across two parts", tank.Sum{Plus: []tank.Solid{box, at(box, 0.8, 0, 0)}, Minus: []tank.Solid{at(small, 0.4, 0, 0.1)}}, ""},
		{"turned, boxes overlap", tank.Sum{Plus: []tank.Solid{
			tank.Placed{Solid: small, Turn: math.Pi / 4}, tank.Placed{Solid: small, Turn: math.Pi / 4, At: r3.Vec{X: 0.0708, Y: 0.0708}}}}, ""},
		{"no shape", tank.Sum{Plus: []tank.Solid{shapeless}, Minus: []tank.Solid{small}}, ""},
		{"half outside", tank.Sum{Plus: []tank.Solid{box}, Minus: []tank.Solid{tube, at(small, 0.4, 0, 0.1)}},
			"50 % of the inner volume 2 lies outside the tank; expected it to lie within"},
		{"ends stick out", tank.Sum{Plus: []tank.Solid{box}, Minus: []tank.Solid{long}}, "20 % of the inner volume 1 lies outside the tank"},
		{"a little outside", tank.Sum{Plus: []tank.Solid{box}, Minus: []tank.Solid{at(small, 0.351, 0, 0.1)}}, "1 % of the inner volume 1 lies outside"},
		{"parts overlap", tank.Sum{Plus: []tank.Solid{box, at(small, 0.44, 0, 0)}}, "the parts 1 and 2 overlap by 10 % of part 2; expected them to touch at most"},
		{"the same twice", tank.Sum{Plus: []tank.Solid{small, small}}, "the parts 1 and 2 overlap by 100 %"},
		{"inner volumes overlap", tank.Sum{Plus: []tank.Solid{box}, Minus: []tank.Solid{at(small, 0, 0, 0.1), tube}}, "the inner volumes 1 and 2 overlap by 33 % of inner volume 2"},
	} {
		err := c.sum.Check()
		switch {
		case c.says == "" && err != nil:
			t.Errorf("%s: %v", c.name, err)
		case c.says != "" && (err == nil || !strings.Contains(err.Error(), c.says)):
			t.Errorf("%s: got %v, expected %s", c.name, err, c.says)
		}
	}
}
