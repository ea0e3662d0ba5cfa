package tank

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// The volume never falls with the height, the surface is its derivative and
// never negative, and it all ends at the capacity.
func TestMeshBelowLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 2))
		f := meshGridBox(r3.Vec{X: 0.2 + r.Float64(), Y: 0.1 + r.Float64(), Z: 0.1 + r.Float64()}, 1+r.IntN(4), r, math.Pow(10, -16*r.Float64()))
		up := r3.Unit(r3.Vec{X: math.Pow(10, -12*r.Float64()), Y: r.Float64() - 0.5, Z: 1})
		solid := newMeshSolid(f)
		got, err := solid.Cut(up)
		if err != nil {
			t.Fatal(err)
		}
		cut := got.(*meshCut)
		low, high := cut.Span()
		if v, s := cut.Below(low); v != 0 || s != 0 {
			t.Fatalf("at the lowest point %v, %v", v, s)
		}
		if v, s := cut.Below(math.Nextafter(high, 9)); v != solid.capacity || s != 0 {
			t.Fatalf("above the highest point %v, %v, expected %v, 0", v, s, solid.capacity)
		}
		at := meshLevelsOf(cut, 40, r)
		slices.Sort(at)
		before := 0.0
		for _, d := range at {
			v, s := cut.Below(d)
			// Within one interval neighbours may differ by rounding.
			if !(v >= before-4e-16*solid.capacity) || !(s >= 0) || !(v <= solid.capacity) {
				t.Fatalf("at %v: %v after %v, surface %v", d, v, before, s)
			}
			before = v
			_, clipped, _ := cut.clip(d)
			h := 1e-6 * (high - low)
			above, _ := cut.Below(d + h)
			below, _ := cut.Below(d - h)
			mean := (above - below) / (2 * h)
			// Where it jumps, as at a level floor, either side's, or what
			// lies between.
			_, s0 := cut.Below(d - h)
			_, s1 := cut.Below(d + h)
			slack := 1e-4*solid.capacity/(high-low) + math.Abs(s1-s0)
			if math.Abs(s-mean) > slack || math.Abs(s-clipped) > slack {
				t.Fatalf("at %v: surface %v, cut one by one %v, slope of the volume %v", d, s, clipped, mean)
			}
		}
	})
}

// A mesh that isn't closed, which was trusted to be: the sweep doesn't come to
// its end, and every triangle is cut instead.
func TestMeshSlow(t *testing.T) {
	whole := meshGridBox(r3.Vec{X: 1, Y: 1, Z: 1}, 3, nil, 0)
	open := meshWithout(whole, 7)
	got, err := NewPolyhedron(open).Cut(Degrees(10, 5).Up())
	if err != nil {
		t.Fatal(err)
	}
	cut := got.(*meshCut)
	if !cut.slow {
		t.Fatal("an open mesh was swept as if it were closed")
	}
	low, high := cut.Span()
	before := 0.0
	for i := range 20 {
		v, s := cut.Below(low + (high-low)*float64(i)/20)
		if v < 0 || v > cut.solid.capacity || s < 0 || math.Abs(v-before) > 0.2 {
			t.Errorf("volume %v after %v, surface %v", v, before, s)
		}
		before = v
	}
}

// The centroid against that of tetrahedra, clipped the long way: a box's own
// formulas, and Archimedes' for a ball, that the lower half's centroid lies 3/8
// of the radius below the middle.
func TestMeshMoment(t *testing.T) {
	at := r3.Vec{X: 3, Y: -2, Z: 1}
	cut, err := NewPolyhedron(meshMove(meshGridBox(r3.Vec{X: 1, Y: 0.5, Z: 0.4}, 3, nil, 0), at)).Cut(r3.Vec{Z: 1})
	if err != nil {
		t.Fatal(err)
	}
	for _, h := range []float64{-1, 0.1, 0.3, 0.4, 2} {
		deep := min(max(h, 0), 0.4)
		want := r3.Scale(0.5*deep, r3.Add(at, r3.Vec{X: 0.5, Y: 0.25, Z: deep / 2}))
		if got := cut.Moment(1 + h); r3.Norm(r3.Sub(got, want)) > 1e-14 {
			t.Errorf("at %v: got %v, expected %v", h, got, want)
		}
	}
	ball := NewPolyhedron(meshMove(meshBall(200, 200, 0.5, meshRound), at))
	up := Degrees(20, -30).Up()
	if cut, err = ball.Cut(up); err != nil {
		t.Fatal(err)
	}
	v, s := cut.Below(r3.Dot(up, at))
	if math.Abs(v-math.Pi/12) > 1e-4 || math.Abs(s-math.Pi/4) > 1e-3 {
		t.Errorf("half a ball holds %v under %v, expected %v under %v", v, s, math.Pi/12, math.Pi/4)
	}
	want := r3.Add(at, r3.Scale(-3./16, up))
	if got := r3.Scale(1/v, cut.Moment(r3.Dot(up, at))); r3.Norm(r3.Sub(got, want)) > 1e-4 {
		t.Errorf("its centroid: got %v, expected %v", got, want)
	}
	// The moment's own law: its rate along up is height times surface.
	low, high := cut.Span()
	for i := 1; i < 20; i++ {
		d, h := low+(high-low)*float64(i)/20, 1e-5
		_, s := cut.Below(d)
		rate := r3.Dot(up, r3.Sub(cut.Moment(d+h), cut.Moment(d-h))) / (2 * h)
		if math.Abs(rate-d*s) > 1e-6 {
			t.Errorf("at %v the moment grows by %v, expected %v", d, rate, d*s)
		}
	}
}

// Points of a ring and of a ball with a ball taken out.
func TestMeshContains(t *testing.T) {
	ring := NewPolyhedron(meshTurn(meshRing(200, 80, 0.6, 0.2, 0), r3.Vec{X: 1}, 1))
	hollow := NewPolyhedron(meshJoin(meshBall(80, 80, 0.5, meshRound), meshReverse(meshBall(80, 80, 0.3, meshRound))))
	r := rand.New(rand.NewPCG(7, 8))
	turn := r3.NewRotation(-1, r3.Vec{X: 1})
	for range 20_000 {
		p := r3.Vec{X: 2*r.Float64() - 1, Y: 2*r.Float64() - 1, Z: 2*r.Float64() - 1}
		q := turn.Rotate(p)
		off := math.Hypot(math.Hypot(q.X, q.Y)-0.6, q.Z) - 0.2
		if math.Abs(off) > 1e-3 && ring.Contains(p) != (off < 0) {
			t.Fatalf("ring, %v: %v off the skin, said %v", p, off, ring.Contains(p))
		}
		n := r3.Norm(p)
		if math.Abs(n-0.5) > 1e-3 && math.Abs(n-0.3) > 1e-3 && hollow.Contains(p) != (n < 0.5 && n > 0.3) {
			t.Fatalf("hollow ball, %v from the middle: said %v", n, hollow.Contains(p))
		}
	}
	// Rays through corners and along edges: from points below those of a grid.
	box := NewPolyhedron(meshGridBox(r3.Vec{X: 1, Y: 1, Z: 1}, 4, nil, 0))
	for i := range 100 {
		x, y := float64(i%10)/9.5+0.01, float64(i/10)/9.5+0.01
		for _, z := range []float64{0.25, 0.5} {
			if !box.Contains(r3.Vec{X: x, Y: y, Z: z}) || box.Contains(r3.Vec{X: x, Y: y, Z: z + 1}) || box.Contains(r3.Vec{X: x, Y: y, Z: z - 1}) {
				t.Errorf("box, at %v, %v, %v", x, y, z)
			}
		}
		p := r3.Vec{X: 0.5 - crossingX*0.5, Y: 0.5 - crossingY*0.5, Z: 0.5}
		if !box.Contains(p) {
			t.Errorf("box, the ray to the corner of a grid, from %v", p)
		}
	}
}

// Corners that no triangle has don't count.
func TestMeshUnusedCorners(t *testing.T) {
	f := meshGridBox(r3.Vec{X: 1, Y: 1, Z: 1}, 1, nil, 0)
	loose := Facets{Corners: append([]r3.Vec{{X: 9, Y: 9, Z: 9}}, f.Corners...)}
	for _, t := range f.Triangles {
		loose.Triangles = append(loose.Triangles, [3]int32{t[0] + 1, t[1] + 1, t[2] + 1})
	}
	s := NewPolyhedron(loose)
	if _, high := s.Box(); high != (r3.Vec{X: 1, Y: 1, Z: 1}) {
		t.Errorf("reaches to %v", high)
	}
	cut, err := s.Cut(r3.Vec{Z: 1})
	if err != nil {
		t.Fatal(err)
	}
	if _, high := cut.Span(); high != 1 {
		t.Errorf("spans to %v", high)
	}
	if g := s.Facets(0.1); len(g.Corners) != 8 || len(g.Triangles) != 12 {
		t.Errorf("%d corners, %d triangles", len(g.Corners), len(g.Triangles))
	}
	flat := Facets{Corners: f.Corners[:3], Triangles: [][3]int32{{0, 1, 2}, {0, 2, 1}}}
	for _, up := range []r3.Vec{{X: 1}, {Y: 1}, {Z: 1}} {
		_, err := NewPolyhedron(flat).Cut(up)
		if (err != nil) != (f.Corners[0].Z == f.Corners[1].Z && f.Corners[1].Z == f.Corners[2].Z && up.Z == 1) {
			t.Errorf("a sheet across %v: %v", up, err)
		}
	}
}
