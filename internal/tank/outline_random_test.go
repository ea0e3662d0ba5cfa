package tank_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"gaugewright/internal/tank"
)

// outlineAny draws vertices round about a middle, hollow ones too, joined by
// straight edges and by arcs either way, some rounded. Many cross themselves.
func outlineAny(t *rapid.T) []tank.Vertex {
	n := rapid.IntRange(3, 8).Draw(t, "vertices")
	v := make([]tank.Vertex, n)
	for i := range v {
		s, c := math.Sincos(2 * math.Pi * (float64(i) + rapid.Float64Range(0, 0.8).Draw(t, "place")) / float64(n))
		r := rapid.Float64Range(0.15, 0.4).Draw(t, "radius")
		v[i] = tank.Vertex{A: r * c, B: r * s}
		if rapid.IntRange(0, 2).Draw(t, "rounded") == 0 {
			v[i].Corner = rapid.Float64Range(0.005, 0.05).Draw(t, "rounding")
		}
	}
	for i := range v {
		if rapid.IntRange(0, 2).Draw(t, "bowed") > 0 {
			continue
		}
		a, b := v[(i+n-1)%n], v[i]
		bow := rapid.Float64Range(0.05, 0.5).Draw(t, "bow") * rapid.SampledFrom([]float64{-1, 1}).Draw(t, "way")
		v[i].Through = &[2]float64{(a.A+b.A)/2 + bow*(b.B-a.B), (a.B+b.B)/2 - bow*(b.A-a.A)}
	}
	return v
}

// outlinePolygon is an outline as short chords: the lower end of its mesh.
func outlinePolygon(t *rapid.T, o tank.Outline, tolerance float64) (s tank.Solid, points []r2.Vec) {
	s, err := tank.Extrude(o, 'z', 1)
	if err != nil {
		t.Fatal(err)
	}
	corners := s.Facets(tolerance).Corners
	for _, c := range corners[:len(corners)/2] {
		points = append(points, r2.Vec{X: c.X, Y: c.Y})
	}
	return s, points
}

// Of an outline that is taken, the area enclosed is the area of the points that
// lie inside. Of one that crosses itself the signed areas would cancel.
func TestOutlineAreaAgainstCounting(t *testing.T) {
	var taken int
	rapid.Check(t, func(t *rapid.T) {
		o, err := tank.NewOutline(outlineAny(t))
		if err != nil {
			t.Skip(err.Error())
		}
		taken++
		s, polygon := outlinePolygon(t, o, 1e-5)
		var shoelace float64
		for i, p := range polygon {
			shoelace += r2.Cross(p, polygon[(i+1)%len(polygon)]) / 2
		}
		if math.Abs(shoelace-o.Area()) > 5e-5 {
			t.Fatalf("area %v, as a polygon %v", o.Area(), shoelace)
		}
		low, high := s.Box()
		const n = 3000
		var count int
		for k := range n {
			p := r3.Vec{X: low.X + (high.X-low.X)*halton(k+1, 2), Y: low.Y + (high.Y-low.Y)*halton(k+1, 3), Z: 0.5}
			if s.Contains(p) {
				count++
			}
		}
		box := (high.X - low.X) * (high.Y - low.Y)
		if counted := box * float64(count) / n; math.Abs(counted-o.Area()) > 0.012*box {
			t.Fatalf("area %v, counted %v", o.Area(), counted)
		}
	})
	if taken < 50 {
		t.Errorf("only %d outlines were taken", taken)
	}
}

// Every point within an inset is a wall's thickness or more from the outline.
func TestInsetKeepsItsDistance(t *testing.T) {
	var taken int
	rapid.Check(t, func(t *rapid.T) {
		o, err := tank.NewOutline(outlineAny(t))
		if err != nil {
			t.Skip(err.Error())
		}
		wall := rapid.Float64Range(0.001, 0.15).Draw(t, "wall")
		in, err := o.Inset(wall)
		if err != nil {
			t.Skip(err.Error())
		}
		taken++
		outer, polygon := outlinePolygon(t, o, 2e-5)
		inner, rim := outlinePolygon(t, in, 2e-5)
		points := rim
		low, high := inner.Box()
		for k := range 50 {
			points = append(points, r2.Vec{X: low.X + (high.X-low.X)*halton(k+1, 2), Y: low.Y + (high.Y-low.Y)*halton(k+1, 3)})
		}
		for i, p := range points {
			if at := (r3.Vec{X: p.X, Y: p.Y, Z: 0.5}); i < len(rim) || inner.Contains(at) {
				if !outer.Contains(at) {
					t.Fatalf("%v lies in the inset and not in the outline", p)
				}
				if d := polygonDistance(polygon, p); d < wall-5e-5 {
					t.Fatalf("%v lies in the inset, %v from the outline; expected %v or more", p, d, wall)
				}
			}
		}
	})
	if taken < 50 {
		t.Errorf("only %d insets were taken", taken)
	}
}

func polygonDistance(polygon []r2.Vec, p r2.Vec) float64 {
	nearest := math.Inf(1)
	for i, a := range polygon {
		along := r2.Sub(polygon[(i+1)%len(polygon)], a)
		share := min(1, max(0, r2.Dot(r2.Sub(p, a), along)/r2.Norm2(along)))
		nearest = min(nearest, r2.Norm(r2.Sub(p, r2.Add(a, r2.Scale(share, along)))))
	}
	return nearest
}
