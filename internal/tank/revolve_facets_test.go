package tank_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

// The facets are closed and turned outward, their corners lie on the skin, and
// they are as close to it as was asked: their volume, by the divergence
// theorem, is short by no more than the skin's area times the tolerance.
func TestRevolveFacets(t *testing.T) {
	for name, solid := range revolveBodies() {
		cut := revolveCut(t, solid, revolveZ)
		_, high := cut.Span()
		all, _ := cut.Below(high)
		for _, tolerance := range []float64{0.02, 1e-3, 2e-4} {
			f := solid.Facets(tolerance)
			edges := make(map[[2]int32]int, 3*len(f.Triangles))
			var volume, area float64
			for _, tri := range f.Triangles {
				a, b, c := f.Corners[tri[0]], f.Corners[tri[1]], f.Corners[tri[2]]
				volume += r3.Dot(a, r3.Cross(b, c)) / 6
				size := r3.Norm(r3.Cross(r3.Sub(b, a), r3.Sub(c, a))) / 2
				if !(size > 0) {
					t.Fatalf("%s, %g: a facet without area: %v %v %v", name, tolerance, a, b, c)
				}
				area += size
				for i := range 3 {
					edges[[2]int32{tri[i], tri[(i+1)%3]}]++
				}
			}
			for e, n := range edges {
				if n != 1 || edges[[2]int32{e[1], e[0]}] != 1 {
					t.Fatalf("%s, %g: the edge %v is there %d times, its reverse %d times", name, tolerance, e, n, edges[[2]int32{e[1], e[0]}])
				}
			}
			if short := all - volume; math.Abs(short) > area*tolerance || len(f.Triangles) > 200_000 {
				t.Errorf("%s, %g: %d facets hold %g m³ of %g, the skin is %g m²", name, tolerance, len(f.Triangles), volume, all, area)
			}
			// Corners are on the skin: a little towards the middle of their box
			// or away from it, one is inside and one outside.
			for i := 0; i < len(f.Corners); i += 1 + len(f.Corners)/50 {
				near, ins := f.Corners[i], 0
				for k := range 8 {
					const e = 1e-9
					off := r3.Vec{X: e * (1.1 - float64(k&1)*2), Y: e * (0.9 - float64(k>>1&1)*2), Z: e * (1.05 - float64(k>>2)*2)}
					if solid.Contains(r3.Add(near, off)) {
						ins++
					}
				}
				if ins == 8 {
					t.Fatalf("%s, %g: the corner %v isn't on the skin", name, tolerance, near)
				}
			}
		}
		if f := solid.Facets(1e-8); len(f.Triangles) == 0 || len(f.Triangles) > 200_000 {
			t.Errorf("%s: %d facets for a tolerance that can't be held", name, len(f.Triangles))
		}
		if f := solid.Facets(math.NaN()); len(f.Triangles) == 0 {
			t.Errorf("%s: no facets", name)
		}
	}
}
