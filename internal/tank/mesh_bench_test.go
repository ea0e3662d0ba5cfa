package tank

import (
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

func meshHeights(cut Cut, n int) []float64 {
	low, high := cut.Span()
	r := rand.New(rand.NewPCG(1, 2))
	at := make([]float64, n)
	for i := range at {
		at[i] = low + (high-low)*r.Float64()
	}
	return at
}

// benchmarkMeshPrepare takes all that depends on the mesh or on the direction,
// from facets in memory, and 1,000 heights.
func benchmarkMeshPrepare(b *testing.B, f Facets) {
	up := Degrees(3, -2).Up()
	var at []float64
	var sum float64
	b.ReportAllocs()
	for b.Loop() {
		cut, err := NewPolyhedron(f).Cut(up)
		if err != nil {
			b.Fatal(err)
		}
		if at == nil {
			at = meshHeights(cut, 1000)
		}
		for _, d := range at {
			v, _ := cut.Below(d)
			sum += v
		}
	}
	b.ReportMetric(float64(len(f.Triangles)), "triangles")
	if !(sum > 0) {
		b.Fatal("no volume")
	}
}

func BenchmarkMeshPrepare1000(b *testing.B) {
	benchmarkMeshPrepare(b, meshRing(250, 200, 0.6, 0.2, 0.1))
}

// A plane through the middle cuts every triangle of the sides, and there are
// no others but those of the ends.
func BenchmarkMeshFlatSided(b *testing.B) {
	benchmarkMeshPrepare(b, meshPrism(25_000, 0.4, 0.9))
}

func BenchmarkMeshMillion(b *testing.B) {
	cut, err := NewPolyhedron(meshRing(250, 200, 0.6, 0.2, 0.1)).Cut(Degrees(3, -2).Up())
	if err != nil {
		b.Fatal(err)
	}
	at := meshHeights(cut, 1_000_000)
	var sum float64
	for b.Loop() {
		for _, d := range at {
			v, _ := cut.Below(d)
			sum += v
		}
	}
	if !(sum > 0) {
		b.Fatal("no volume")
	}
}

func BenchmarkMeshBox(b *testing.B) {
	cut, err := NewPolyhedron(meshGridBox(r3.Vec{X: 1, Y: 0.5, Z: 0.4}, 1, nil, 0)).Cut(Degrees(3, -2).Up())
	if err != nil {
		b.Fatal(err)
	}
	at := meshHeights(cut, 1024)
	var sum float64
	i := 0
	for b.Loop() {
		v, _ := cut.Below(at[i&1023])
		sum += v
		i++
	}
}

func BenchmarkMeshMoment(b *testing.B) {
	cut, err := NewPolyhedron(meshRing(250, 200, 0.6, 0.2, 0.1)).Cut(Degrees(3, -2).Up())
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		cut.Moment(0.01)
	}
}
