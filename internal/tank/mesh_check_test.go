package tank

import (
	"math"
	"strings"
	"testing"
	"time"

	"gonum.org/v1/gonum/spatial/r3"
)

func meshBoxAt(size, at r3.Vec) Facets {
	return meshMove(meshGridBox(size, 1, nil, 0), at)
}

// meshWithout leaves out some triangles, counted from 0.
func meshWithout(f Facets, gone ...int) Facets {
	g := Facets{Corners: f.Corners}
	for i, t := range f.Triangles {
		stay := true
		for _, k := range gone {
			stay = stay && i != k
		}
		if stay {
			g.Triangles = append(g.Triangles, t)
		}
	}
	return g
}

// meshLoose gives every triangle corners of its own, moved by no more than the
// given length.
func meshLoose(f Facets, by float64) Facets {
	var g Facets
	for i, t := range f.Triangles {
		for k, c := range t {
			v := f.Corners[c]
			v.X += by * math.Sin(float64(7*i+k))
			g.Corners = append(g.Corners, v)
		}
		n := int32(3 * i)
		g.Triangles = append(g.Triangles, [3]int32{n, n + 1, n + 2})
	}
	return g
}

func meshFlip(f Facets, which ...int) Facets {
	g := Facets{Corners: f.Corners, Triangles: append([][3]int32(nil), f.Triangles...)}
	for _, i := range which {
		t := &g.Triangles[i]
		t[1], t[2] = t[2], t[1]
	}
	return g
}

// What is taken, what it then holds, and what is said of it.
func TestNewMesh(t *testing.T) {
	unit := r3.Vec{X: 1, Y: 1, Z: 1}
	cube := meshBoxAt(unit, r3.Vec{})
	half := meshBoxAt(r3.Scale(0.5, unit), r3.Vec{X: 0.25, Y: 0.25, Z: 0.25})
	// A triangle between the corners 0 and 1 of the cube's first edge and the
	// middle of it, with the triangle beyond cut in two.
	beam := meshBall(6, 8, 0.5, meshRound)
	split := Facets{Corners: append(append([]r3.Vec(nil), cube.Corners...), r3.Scale(0.5, r3.Add(cube.Corners[cube.Triangles[0][0]], cube.Corners[cube.Triangles[0][1]])))}
	m := int32(len(cube.Corners))
	first := cube.Triangles[0]
	split.Triangles = append([][3]int32{{first[0], m, first[2]}, {m, first[1], first[2]}, {first[0], first[1], m}}, cube.Triangles[1:]...)
	for _, c := range []struct {
		name   string
		f      Facets
		o      MeshOptions
		volume float64
		said   []string // in order, each a part of a sentence
	}{
		{"cube", cube, MeshOptions{}, 1, nil},
		{"cube of loose triangles", meshLoose(cube, 0), MeshOptions{}, 1, nil},
		{"corners a little apart", meshLoose(cube, 4e-7), MeshOptions{}, 1, []string{"corners were joined to others no further off than 0.00"}},
		{"corners further apart", meshLoose(cube, 1e-4), MeshOptions{Weld: 1e-3}, 1, []string{"joined"}},
		{"inside out", meshReverse(cube), MeshOptions{}, 1, []string{"inside out; all its triangles were turned over"}},
		{"three turned", meshFlip(cube, 2, 5, 9), MeshOptions{}, 1, []string{"3 triangles were turned over, since the triangles around face the other way (the first is triangle 3)"}},
		{"all but three turned", meshFlip(meshReverse(cube), 2, 5, 9), MeshOptions{}, 1, []string{"3 triangles were turned over", "inside out"}},
		{"a triangle twice", Facets{cube.Corners, append(append([][3]int32(nil), cube.Triangles...), cube.Triangles[4])}, MeshOptions{}, 1, []string{"1 triangle was left out, since others have the same three corners (triangle 13)"}},
		{"a corner twice in a triangle", Facets{cube.Corners, append([][3]int32{{3, 3, 1}}, cube.Triangles...)}, MeshOptions{}, 1, []string{"1 triangle was left out, since two corners of a triangle lie in one place (triangle 1)"}},
		{"a sheet", Facets{cube.Corners, append(append([][3]int32(nil), cube.Triangles...), [3]int32{0, 1, 6}, [3]int32{0, 6, 1})}, MeshOptions{}, 1, []string{"2 triangles were left out, since others have the same"}},
		{"a triangle of no area", split, MeshOptions{}, 1, []string{"1 triangle was kept although its corners lie in one line (triangle 3)"}},
		{"two apart", meshJoin(cube, meshMove(half, r3.Vec{X: 2})), MeshOptions{}, 1.125, []string{"2 bodies apart from each other, of 1000 L and 125 L; one level"}},
		{"one of two inside out", meshJoin(cube, meshMove(meshReverse(half), r3.Vec{X: 2})), MeshOptions{}, 1.125, []string{"1 of the 2 bodies was inside out and turned over", "2 bodies apart"}},
		{"cavity", meshJoin(cube, meshReverse(half)), MeshOptions{}, 0.875, []string{"1 body lies inside another one and counts as a cavity, of 125 L in all, which is taken away from 1000 L"}},
		{"cavity, all inside out", meshJoin(meshReverse(cube), half), MeshOptions{}, 0.875, []string{"inside out", "cavity"}},
		{"wall", meshJoin(cube, meshReverse(half)), MeshOptions{Wall: true}, 0.125, []string{"taken for the tank's wall, of 875 L; the space within it is 125 L"}},
		{"body in a cavity", meshJoin(cube, meshReverse(half), meshBoxAt(r3.Scale(0.1, unit), r3.Vec{X: 0.45, Y: 0.45, Z: 0.45})), MeshOptions{}, 0.876, []string{"2 bodies apart from each other, of 1000 L and 1 L", "cavity"}},
		{"touching along an edge", meshJoin(cube, meshMove(cube, r3.Vec{X: 1, Y: 1})), MeshOptions{}, 2, []string{"Bodies touch along 1 edge (the first from (1000, 1000, 0) mm to (1000, 1000, 1000) mm)", "2 bodies apart"}},
		{"touching at faces", meshJoin(cube, meshMove(half, r3.Vec{X: 0.75})), MeshOptions{}, 1.125, []string{"2 bodies apart"}},
		{"far from the origin", meshMove(beam, r3.Vec{X: 300, Y: 200}), MeshOptions{}, meshVolume(beam, r3.Vec{}), nil},
	} {
		s, said, err := NewMesh(c.f, c.o)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if v := s.(*meshSolid).capacity; math.Abs(v-c.volume) > 2e-4*c.volume {
			t.Errorf("%s: holds %v m³, expected %v", c.name, v, c.volume)
		}
		if len(said) != len(c.said) {
			t.Errorf("%s: said %q, expected %d sentences: %q", c.name, said, len(c.said), c.said)
			continue
		}
		for i, part := range c.said {
			if !strings.Contains(said[i], part) {
				t.Errorf("%s: said %q, expected %q in it", c.name, said[i], part)
			}
			if !strings.HasSuffix(said[i], ".") {
				t.Errorf("%s: %q isn't a whole sentence", c.name, said[i])
			}
		}
	}
}

// A strip of triangles with half a twist, closed to a ring and with a lid over
// its one rim would have no inside; the projective plane of six corners is the
// smallest such surface (ten triangles of the half icosahedron).
func meshNoInside() Facets {
	f := Facets{Corners: []r3.Vec{{}, {X: 1}, {Y: 1}, {Z: 1}, {X: 1, Y: 1}, {X: 1, Z: 2}}}
	f.Triangles = [][3]int32{{0, 1, 2}, {0, 2, 3}, {0, 3, 4}, {0, 4, 5}, {0, 5, 1}, {1, 2, 4}, {2, 3, 5}, {3, 4, 1}, {4, 5, 2}, {5, 1, 3}}
	return f
}

// What is refused, and what is said then.
func TestNewMeshRefuses(t *testing.T) {
	unit := r3.Vec{X: 1, Y: 1, Z: 1}
	cube := meshBoxAt(unit, r3.Vec{})
	half := meshBoxAt(r3.Scale(0.5, unit), r3.Vec{X: 0.25, Y: 0.25, Z: 0.25})
	bad := meshBoxAt(unit, r3.Vec{})
	bad.Corners[5].Y = math.NaN()
	infinite := meshBoxAt(unit, r3.Vec{})
	infinite.Corners[2].Y = math.Inf(-1)
	ball := meshBall(30, 40, 0.5, meshRound)
	fin := append(append([][3]int32(nil), cube.Triangles...), [3]int32{0, 1, 6})
	for _, c := range []struct {
		name string
		f    Facets
		o    MeshOptions
		say  []string
	}{
		{"nothing", Facets{}, MeshOptions{}, []string{"no triangles"}},
		{"corner out of range", Facets{cube.Corners, [][3]int32{{0, 1, 8}}}, MeshOptions{}, []string{"triangle 1 names corner 8 of 8"}},
		{"not a number", bad, MeshOptions{}, []string{"of triangle ", "NaN", "expected numbers"}},
		{"infinite", infinite, MeshOptions{}, []string{"-Inf", "expected numbers"}},
		{"too many", Facets{cube.Corners, make([][3]int32, MaxTriangles+1)}, MeshOptions{}, []string{"5000001 triangles; expected no more than 5000000"}},
		{"weld", cube, MeshOptions{Weld: math.NaN()}, []string{"NaN"}},
		{"a point", Facets{make([]r3.Vec, 3), [][3]int32{{0, 1, 2}}}, MeshOptions{}, []string{"(0, 0, 0) mm", "expected a body"}},
		{"no lid", meshWithout(cube, 2, 3), MeshOptions{}, []string{"4 edges with one triangle only, around 1 hole of 4 edges, 4000 mm round and within (0, 0, 1000) mm to (1000, 1000, 1000) mm", "triangle ", "close it in the drawing program and export again"}},
		{"two holes", meshWithout(meshGridBox(unit, 2, nil, 0), 0, 30), MeshOptions{}, []string{"6 edges", "around 2 holes, the largest of 3 edges"}},
		{"a triangle too many", Facets{cube.Corners, fin}, MeshOptions{}, []string{"the mesh is open: 1 edge with one triangle only (and 2 edges with more than two), around 1 hole of 1 edge,"}},
		{"corners too far apart", meshLoose(cube, 1e-4), MeshOptions{}, []string{"the mesh is open: 36 edges"}},
		{"no inside", meshNoInside(), MeshOptions{}, []string{"no inside: round a ring of triangles through"}},
		{"sheet", Facets{cube.Corners, [][3]int32{{0, 1, 2}, {0, 2, 1}}}, MeshOptions{}, []string{"encloses nothing"}},
		{"skin in a skin", meshJoin(cube, half), MeshOptions{}, []string{"body that begins with triangle 13, of 125 L, lies inside another one and is turned like it", "export the inner one alone"}},
		{"no wall", cube, MeshOptions{Wall: true}, []string{"encloses no space within its wall"}},
		{"crossing", meshJoin(cube, meshMove(half, r3.Vec{X: 0.5, Y: 0.01, Z: 0.02})), MeshOptions{}, []string{"crosses itself: ", "pairs of triangles, at first ", "near ("}},
		{"crossing balls", meshJoin(ball, meshMove(ball, r3.Vec{X: 0.3, Y: 0.4, Z: 0.1})), MeshOptions{}, []string{"crosses itself"}},
		{"crossing along edges only", meshJoin(cube, meshMove(meshGridBox(r3.Vec{X: 0.4, Y: 0.4, Z: 1}, 2, nil, 0), r3.Vec{X: 0.3, Y: 0.2, Z: 0.5})), MeshOptions{}, []string{"overlaps itself at triangle "}},
		{"a wall in common", meshJoin(cube, meshBoxAt(r3.Vec{X: 1, Y: 0.5, Z: 0.5}, r3.Vec{X: 0, Y: 0.25, Z: 0.25})), MeshOptions{}, []string{"overlaps itself at triangle "}},
		{"the same twice", meshJoin(cube, meshMove(cube, r3.Vec{X: 1e-9})), MeshOptions{}, []string{"overlaps itself at triangle "}},
	} {
		s, said, err := NewMesh(c.f, c.o)
		if err == nil {
			t.Errorf("%s: taken, with %v and %q; expected it refused", c.name, s.(*meshSolid).capacity, said)
			continue
		}
		for _, part := range c.say {
			if !strings.Contains(err.Error(), part) {
				t.Errorf("%s: %q, expected %q in it", c.name, err, part)
			}
		}
		t.Logf("%s: %v", c.name, err)
	}
}

// Smooth surfaces and long needles, which mustn't take the square of their
// number.
func TestNewMeshLarge(t *testing.T) {
	for name, f := range meshLarge(50, 1500) {
		start := time.Now()
		_, said, err := NewMesh(f, MeshOptions{})
		// Far above what it takes, for slow and busy machines.
		if took := time.Since(start); err != nil || len(said) > 0 || took > 20*time.Second {
			t.Errorf("%s of %d triangles: %v, %v, said %q", name, len(f.Triangles), took, err, said)
		}
	}
}

func meshLarge(ring, prism int) map[string]Facets {
	axis := r3.Vec{X: 1, Y: 2, Z: 3}
	return map[string]Facets{
		"ring":    meshTurn(meshRing(ring, ring, 0.6, 0.2, 0.1), axis, 1),
		"needles": meshPrism(prism, 0.4, 0.9),
		"turned":  meshTurn(meshPrism(prism, 0.4, 0.9), axis, 1),
	}
}

func BenchmarkNewMesh(b *testing.B) {
	for name, f := range meshLarge(224, 25_000) {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if _, said, err := NewMesh(f, MeshOptions{}); err != nil || len(said) > 0 {
					b.Fatal(said, err)
				}
			}
			b.ReportMetric(float64(len(f.Triangles)), "triangles")
		})
	}
}
