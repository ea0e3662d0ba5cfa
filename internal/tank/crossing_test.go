package tank

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// The tree must find what looking at every pair finds, flat faces or not.
func TestCrossingAll(t *testing.T) {
	crossed, apart := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 3))
		one := func() Facets {
			switch r.IntN(3) {
			case 0:
				return meshGridBox(r3.Vec{X: r.Float64(), Y: r.Float64(), Z: r.Float64()}, 1+r.IntN(4), nil, 0)
			case 1:
				return meshPrism(3+r.IntN(40), r.Float64(), r.Float64())
			}
			return meshRing(12, 8, 0.5, 0.2, 0.3*r.Float64())
		}
		f := meshJoin(one(), meshMove(one(), r3.Vec{X: 2 * r.Float64(), Y: r.Float64(), Z: r.Float64()}))
		if r.IntN(2) == 0 {
			f = meshTurn(f, r3.Vec{X: r.Float64(), Y: r.Float64(), Z: r.Float64()}, 3*r.Float64())
		}
		s := newCrossingSearch(f, 4e-7)
		if !s.run() {
			t.Fatal("given up")
		}
		all := newCrossingSearch(f, 4e-7)
		for i := range f.Triangles {
			for j := range i {
				all.pair(int32(j), int32(i))
			}
		}
		pairs := func(s *crossingSearch) (p [][2]int32) {
			for _, f := range s.found {
				p = append(p, [2]int32{f.a, f.b})
			}
			slices.SortFunc(p, func(a, b [2]int32) int { return slices.Compare(a[:], b[:]) })
			return p
		}
		if got, want := pairs(s), pairs(all); !slices.Equal(got, want) {
			t.Fatalf("found %v, looking at every pair %v", got, want)
		}
		if len(s.found) > 0 {
			crossed++
		} else {
			apart++
		}
	})
	// One pair in four crosses; that none of a hundred does, is one chance in 3e12.
	if crossed == 0 || apart == 0 {
		t.Errorf("%d crossed, %d didn't: none of one kind to tell by", crossed, apart)
	}
}

// Two balls cross if their middles are nearer than the sum of their radii, and
// further than the difference; by less than the facets are off the balls it
// isn't asked. The place given lies on both.
func TestCrossingBalls(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 4))
		const a, b = 0.5, 0.3
		way := r3.Unit(r3.Vec{X: r.NormFloat64(), Y: r.NormFloat64(), Z: r.NormFloat64()})
		far := r.Float64()
		if math.Abs(far-(a+b)) < 0.03 || math.Abs(far-(a-b)) < 0.03 {
			return
		}
		at := r3.Scale(far, way)
		f := meshJoin(meshBall(16, 16, a, meshRound), meshMove(meshBall(16, 16, b, meshRound), at))
		s := newCrossingSearch(f, 2e-7)
		s.run()
		if cross := far < a+b && far > a-b; cross != (len(s.found) > 0) {
			t.Fatalf("middles %v apart: found %d pairs", far, len(s.found))
		}
		for _, p := range s.found {
			if math.Abs(r3.Norm(p.at)-a) > 0.02 || math.Abs(r3.Norm(r3.Sub(p.at, at))-b) > 0.02 {
				t.Fatalf("%v isn't on both", p.at)
			}
		}
	})
}

// Triangles two by two: with a shared corner, touching, in one plane.
func TestCrossingPairs(t *testing.T) {
	base := []r3.Vec{{}, {X: 1}, {Y: 1}}
	for _, c := range []struct {
		name  string
		other [3]r3.Vec
		cross bool
	}{
		{"through the middle", [3]r3.Vec{{X: 0.2, Y: 0.2, Z: -1}, {X: 0.3, Y: 0.2, Z: 1}, {X: 0.2, Y: 0.3, Z: 1}}, true},
		{"over it", [3]r3.Vec{{X: 0.2, Y: 0.2, Z: 0.1}, {X: 0.3, Y: 0.2, Z: 1}, {X: 0.2, Y: 0.3, Z: 1}}, false},
		{"beside it", [3]r3.Vec{{X: 0.8, Y: 0.8, Z: -1}, {X: 0.9, Y: 0.8, Z: 1}, {X: 0.8, Y: 0.9, Z: 1}}, false},
		{"a corner on it", [3]r3.Vec{{X: 0.2, Y: 0.2}, {X: 0.3, Y: 0.2, Z: 1}, {X: 0.2, Y: 0.3, Z: 1}}, false},
		{"an edge on it", [3]r3.Vec{{X: 0.2, Y: 0.2}, {X: 0.3, Y: 0.2}, {X: 0.2, Y: 0.3, Z: 1}}, false},
		{"a corner 1e-9 through it", [3]r3.Vec{{X: 0.2, Y: 0.2, Z: -1e-9}, {X: 0.3, Y: 0.2, Z: 1}, {X: 0.2, Y: 0.3, Z: 1}}, false},
		{"a corner on it, both sides", [3]r3.Vec{{X: 0.2, Y: 0.2}, {X: 0.3, Y: 0.2, Z: 1}, {X: 0.3, Y: 0.3, Z: -1}}, true},
		{"along its edge", [3]r3.Vec{{X: 0.2, Y: 0, Z: -1}, {X: 0.3, Y: 0, Z: 1}, {X: 0.6, Y: 0, Z: 1}}, false},
		{"in its plane", [3]r3.Vec{{X: 0.2, Y: 0.2}, {X: 0.3, Y: 0.2}, {X: 0.2, Y: 0.3}}, false},
		{"shared corner, beyond", [3]r3.Vec{{}, {X: -1, Z: 1}, {X: -1, Y: 0.1, Z: -1}}, false},
		{"shared corner, through", [3]r3.Vec{{}, {X: 0.3, Y: 0.2, Z: 1}, {X: 0.3, Y: 0.2, Z: -1}}, true},
		{"shared edge", [3]r3.Vec{{}, {X: 1}, {Z: 1}}, false},
		{"a needle through the middle", [3]r3.Vec{{X: 0.2, Y: 0.2, Z: -1}, {X: 0.2, Y: 0.2, Z: 1}, {X: 0.2, Y: 0.2 + 1e-9, Z: 1}}, false},
	} {
		m := newMeshCorners()
		var tri [2][3]int32
		for i := range 3 {
			tri[0][i] = m.number(base[i])
		}
		for i := range 3 {
			tri[1][i] = m.number(c.other[i])
		}
		for _, order := range [][2]int{{0, 1}, {1, 0}} {
			f := Facets{m.facets.Corners, [][3]int32{tri[order[0]], tri[order[1]]}}
			s := newCrossingSearch(f, 2e-7)
			s.pair(0, 1)
			if (len(s.found) > 0) != c.cross {
				t.Errorf("%s, order %v: found %v", c.name, order, s.found)
			}
		}
	}
}
