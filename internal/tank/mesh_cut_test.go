package tank

import (
	"fmt"
	"math"
	"math/big"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// meshLongWay is the volume and the free surface below a plane, worked out in
// 300 bits by clipping every triangle and summing the tetrahedra between its
// part and a point of the plane: the cap is seen edge-on from there. It shares
// no formula with what it checks.
func meshLongWay(f Facets, up r3.Vec, d float64) float64 {
	const bits = 300
	type vec [3]*big.Float
	num := func(v float64) *big.Float { return new(big.Float).SetPrec(bits).SetFloat64(v) }
	zero := func() *big.Float { return new(big.Float).SetPrec(bits) }
	mul := func(a, b *big.Float) *big.Float { return zero().Mul(a, b) }
	sub := func(a, b *big.Float) *big.Float { return zero().Sub(a, b) }
	add := func(a, b *big.Float) *big.Float { return zero().Add(a, b) }
	u := vec{num(up.X), num(up.Y), num(up.Z)}
	dot := func(a, b vec) *big.Float { return add(add(mul(a[0], b[0]), mul(a[1], b[1])), mul(a[2], b[2])) }
	// The plane's point is d·up/|up|².
	scale := zero().Quo(num(d), dot(u, u))
	from := vec{mul(u[0], scale), mul(u[1], scale), mul(u[2], scale)}
	six := zero()
	for _, t := range f.Triangles {
		var q [3]vec
		var z [3]*big.Float
		for i, c := range t {
			v := f.Corners[c]
			q[i] = vec{sub(num(v.X), from[0]), sub(num(v.Y), from[1]), sub(num(v.Z), from[2])}
			z[i] = dot(q[i], u)
		}
		var part []vec
		for i := range q {
			j := (i + 1) % 3
			if z[i].Sign() <= 0 {
				part = append(part, q[i])
			}
			if z[i].Sign()*z[j].Sign() < 0 {
				s := zero().Quo(z[i], sub(z[i], z[j]))
				var m vec
				for k := range m {
					m[k] = add(q[i][k], mul(s, sub(q[j][k], q[i][k])))
				}
				part = append(part, m)
			}
		}
		for i := 2; i < len(part); i++ {
			a, b, c := part[0], part[i-1], part[i]
			cross := vec{
				sub(mul(b[1], c[2]), mul(b[2], c[1])),
				sub(mul(b[2], c[0]), mul(b[0], c[2])),
				sub(mul(b[0], c[1]), mul(b[1], c[0])),
			}
			six.Add(six, dot(a, cross))
		}
	}
	v, _ := zero().Quo(six, num(6)).Float64()
	return v
}

// meshLevels gives heights that matter: near every kind of knot, and between.
func meshLevelsOf(cut Cut, n int, r *rand.Rand) []float64 {
	low, high := cut.Span()
	var at []float64
	if c, ok := cut.(*meshCut); ok {
		for range n / 2 {
			k := c.knots[r.IntN(len(c.knots))].at
			at = append(at, low+(high-low)*k, low+(high-low)*(k+1e-9*(r.Float64()-0.5)))
		}
	}
	for range n / 2 {
		at = append(at, low+(high-low)*r.Float64())
	}
	return append(at, math.Nextafter(low, high), math.Nextafter(high, low), low+(high-low)/2)
}

// meshAccuracy is how far volumes may be off, of the capacity: a hundredth of
// what a round trip needs.
const meshAccuracy = 1e-11

func meshCompare(t interface {
	Helper()
	Errorf(string, ...any)
	Fatalf(string, ...any)
}, name string, f Facets, up r3.Vec, n int, within float64) (worst float64) {
	t.Helper()
	solid := newMeshSolid(f)
	got, err := solid.Cut(up)
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	cut := got.(*meshCut)
	if cut.slow {
		t.Errorf("%s: the sweep didn't come to the capacity", name)
	}
	r := rand.New(rand.NewPCG(3, 4))
	for _, d := range meshLevelsOf(cut, n, r) {
		v, _ := cut.Below(d)
		want := meshLongWay(f, up, d)
		off := math.Abs(v-want) / solid.capacity
		worst = max(worst, off)
		if !(off <= within) {
			t.Errorf("%s at %v of %v: got %.17g, expected %.17g, off by %.2g of the capacity", name, d, cut.high-cut.low, v, want, off)
			return worst
		}
		clipped, _, _ := cut.clip(d)
		if off := math.Abs(clipped-want) / solid.capacity; !(off <= within) {
			t.Errorf("%s at %v: cut triangle by triangle %.17g, expected %.17g, off by %.2g of the capacity", name, d, clipped, want, off)
			return worst
		}
	}
	return worst
}

// The hard cases: level floors in many triangles, tilted by next to nothing, or
// their corners moved by next to nothing; needles; flat and tall bodies.
func TestMeshBelowHard(t *testing.T) {
	worst := 0.0
	see := func(name string, f Facets, up r3.Vec) {
		t.Helper()
		worst = max(worst, meshCompare(t, name, f, up, 4, meshAccuracy))
	}
	for _, tilt := range []float64{0, 1e-16, 1e-13, 1e-12, 1e-11, 1e-10, 1e-9, 1e-8, 1e-7, 1e-5, 1e-3, 1} {
		up := r3.Unit(r3.Vec{X: math.Sin(tilt), Y: 0.7 * math.Sin(tilt), Z: math.Cos(tilt)})
		see(fmt.Sprintf("box tilted %g", tilt), meshGridBox(r3.Vec{X: 0.9, Y: 0.5, Z: 0.4}, 4, nil, 0), up)
		// Of a plate on edge, half a step of height is more of its thickness.
		plate := meshGridBox(r3.Vec{X: 0.9, Y: 0.5, Z: 0.005}, 3, nil, 0)
		worst = max(worst, meshCompare(t, fmt.Sprintf("thin plate tilted %g", tilt), plate, up, 4, 1e-10))
		see(fmt.Sprintf("prism tilted %g", tilt), meshPrism(30, 0.3, 0.8), up)
		see(fmt.Sprintf("ring tilted %g", tilt), meshRing(12, 6, 0.6, 0.2, 0.1), up)
	}
	for move := 1e-16; move < 2e-3; move *= 10 {
		r := rand.New(rand.NewPCG(5, 6))
		f := meshGridBox(r3.Vec{X: 0.9, Y: 0.5, Z: 0.4}, 4, r, move)
		see(fmt.Sprintf("box moved by %g", move), f, r3.Vec{Z: 1})
		see(fmt.Sprintf("box moved by %g, tilted", move), f, Degrees(1e-6, 0).Up())
	}
	// A pipe a thousand times as long as it is wide: half a step of height is
	// 5e-10 of its width.
	pipe := meshTurn(meshPrism(50, 0.005, 10), r3.Vec{X: 1, Y: 0.3}, 1)
	for _, up := range []r3.Vec{{Z: 1}, {X: 1}, Degrees(30, 20).Up()} {
		worst = max(worst, meshCompare(t, "long pipe", pipe, up, 12, 2e-10))
	}
	see("far from its origin", meshMove(meshRing(12, 6, 0.6, 0.2, 0.1), r3.Vec{X: 1000, Y: -500, Z: 250}), Degrees(5, 5).Up())
	t.Logf("worst: %.2g of the capacity", worst)
}

// Random deformed balls and boxes at random orientation.
func TestMeshBelowRandom(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		var f Facets
		if rapid.Bool().Draw(t, "ball") {
			a, b, c := 3*r.Float64(), 3*r.Float64(), 0.3*r.Float64()
			f = meshBall(4+r.IntN(4), 4+r.IntN(5), 0.5, func(v r3.Vec) float64 { return 1 + c*math.Sin(5*v.X+a)*math.Cos(4*v.Y+b) })
		} else {
			f = meshGridBox(r3.Vec{X: 0.2 + r.Float64(), Y: 0.1 + r.Float64(), Z: 0.1 + r.Float64()}, 1+r.IntN(3), r, math.Pow(10, -16*r.Float64()))
		}
		f = meshTurn(f, r3.Vec{X: r.Float64() - 0.5, Y: r.Float64() - 0.5, Z: r.Float64() - 0.5}, 7*r.Float64())
		up := r3.Unit(r3.Vec{X: r.NormFloat64(), Y: r.NormFloat64(), Z: r.NormFloat64()})
		meshCompare(t, "random", f, up, 2, meshAccuracy)
	})
}

// 43,200 triangles, among them floors in 14,400 that are tilted by next to
// nothing: against cutting them one by one in float64, which that is good for.
func TestMeshBelowLarge(t *testing.T) {
	for _, tilt := range []float64{0, 1e-12, 1e-7, 1e-4} {
		f := meshGridBox(r3.Vec{X: 0.9, Y: 0.5, Z: 0.4}, 60, nil, 0)
		solid := newMeshSolid(f)
		got, err := solid.Cut(r3.Unit(r3.Vec{X: tilt, Y: 0.3 * tilt, Z: 1}))
		if err != nil {
			t.Fatal(err)
		}
		cut := got.(*meshCut)
		if cut.slow {
			t.Errorf("tilted %g: the sweep didn't come to the capacity", tilt)
		}
		for _, d := range meshLevelsOf(cut, 20, rand.New(rand.NewPCG(1, 1))) {
			v, _ := cut.Below(d)
			want, _, _ := cut.clip(d)
			if off := math.Abs(v-want) / solid.capacity; !(off <= meshAccuracy) {
				t.Errorf("tilted %g at %v: got %.17g, expected %.17g", tilt, d, v, want)
			}
		}
	}
}

// Few triangles that hold all the area, tilted by anything near what counts as
// level: where the jumps are as large as they can be.
func TestMeshBelowNearlyLevel(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 9))
	f := meshGridBox(r3.Vec{X: 1, Y: 1, Z: 0.9}, 1, nil, 0)
	solid := newMeshSolid(f)
	worst := 0.0
	for range 20_000 {
		up := r3.Unit(r3.Vec{X: math.Pow(10, -8-6*r.Float64()), Y: math.Pow(10, -8-6*r.Float64()), Z: 1})
		got, err := solid.Cut(up)
		if err != nil {
			t.Fatal(err)
		}
		cut := got.(*meshCut)
		if cut.slow {
			t.Fatalf("up %v: the sweep didn't come to the capacity", up)
		}
		d := cut.low + (cut.high-cut.low)*r.Float64()
		if r.IntN(2) == 0 {
			d = cut.low + (cut.high-cut.low)*min(1, cut.knots[r.IntN(len(cut.knots))].at*(1+1e-10*r.Float64()))
		}
		v, _ := cut.Below(d)
		want, _, _ := cut.clip(d)
		worst = max(worst, math.Abs(v-want)/solid.capacity)
	}
	// What counts as level is off by p·2^-34 of the extent within its height.
	if !(worst <= 0x1p-34) {
		t.Errorf("off by up to %.2g of the capacity", worst)
	}
	t.Logf("worst: %.2g of the capacity", worst)
}
