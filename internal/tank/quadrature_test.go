package tank

import (
	"math"
	"testing"
)

// The nodes by what defines them: of a Gauss rule of 10 nodes and its Kronrod
// extension, that they are exact for polynomials up to degree 19 and 31.
func TestQuadratureNodes(t *testing.T) {
	for degree := 0; degree <= 31; degree += 2 {
		var gauss, kronrod float64
		for i, n := range quadratureNodes {
			twice := 2.0
			if i == 0 {
				twice = 1
			}
			power := math.Pow(n.x, float64(degree))
			gauss += twice * n.gauss * power
			kronrod += twice * n.kronrod * power
		}
		want := 2 / float64(degree+1)
		if math.Abs(kronrod-want) > 4e-16 {
			t.Errorf("degree %d: Kronrod %.17g, exactly %.17g", degree, kronrod, want)
		}
		if degree < 20 && math.Abs(gauss-want) > 4e-16 {
			t.Errorf("degree %d: Gauss %.17g, exactly %.17g", degree, gauss, want)
		}
	}
}

// Integrals with closed forms, rough ones among them.
func TestQuadraturePair(t *testing.T) {
	for _, c := range []struct {
		name     string
		f        func(x float64) float64
		from, to float64
		want     float64
		ends     bool
		within   float64
	}{
		{"exponential", math.Exp, 0, 1, math.E - 1, false, 1e-15},
		{"a narrow peak", func(x float64) float64 { return 1 / (1e-6 + x*x) }, -1, 1, 2e3 * math.Atan(1e3), false, 1e-11},
		{"a corner", func(x float64) float64 { return math.Abs(x - 0.3) }, 0, 1, 0.29, false, 1e-13},
		{"a half circle", func(x float64) float64 { return math.Sqrt((1 - x) * (1 + x)) }, -1, 1, math.Pi / 2, true, 1e-15},
		{"a square root at one end", math.Sqrt, 0, 2, 2.0 / 3 * 2 * math.Sqrt2, true, 1e-15},
		{"nothing", func(float64) float64 { return 0 }, 0, 1, 0, true, 0},
		{"no stretch", math.Exp, 1, 1, 0, true, 0},
	} {
		rule := quadraturePair
		if c.ends {
			rule = quadratureEnds
		}
		calls := 0
		a, b := rule(func(x float64) (float64, float64) {
			calls++
			v := c.f(x)
			return v, -2 * v
		}, c.from, c.to, 1e-14, 1e-14)
		if !(math.Abs(a-c.want) <= c.within*max(1, math.Abs(c.want))*2) || !(math.Abs(b+2*a) <= 1e-13*math.Abs(a)) {
			t.Errorf("%s: %.17g and %.17g, expected %.17g and −2 of it", c.name, a, b, c.want)
		}
		if calls > 21*(quadratureMost+quadratureDepth) {
			t.Errorf("%s: took %d values", c.name, calls)
		}
	}
}

// What can't be integrated ends all the same.
func TestQuadratureEnds(t *testing.T) {
	calls := 0
	noise := func(x float64) (float64, float64) {
		calls++
		v := math.Sin(1e9 * x * x)
		return v, v
	}
	quadraturePair(noise, 0, 1, 1e-14, 1e-14)
	if calls > 21*(quadratureMost+quadratureDepth) {
		t.Errorf("took %d values", calls)
	}
}
