package tank

import (
	"math"
	"sync"

	"gonum.org/v1/gonum/spatial/r3"
)

// MaxTriangles is the most triangles a mesh may have.
const MaxTriangles = 5_000_000

// meshSolid is the inside of a closed surface of triangles.
type meshSolid struct {
	facets    Facets // every corner is used
	low, high r3.Vec
	middle    r3.Vec
	capacity  float64
	tree      func() *crossingTree // made when it is first asked for
}

// NewPolyhedron gives the inside of a closed mesh. It trusts that every edge
// belongs to two triangles, that they are turned outward, and that the surface
// doesn't cross itself; a mesh from a file goes through [NewMesh]. The facets
// are kept, and not to be changed afterwards.
func NewPolyhedron(f Facets) Solid { return newMeshSolid(f) }

func newMeshSolid(f Facets) *meshSolid {
	m := &meshSolid{facets: meshCompact(f)}
	inf := math.Inf(1)
	m.low, m.high = r3.Vec{X: inf, Y: inf, Z: inf}, r3.Vec{X: -inf, Y: -inf, Z: -inf}
	for _, c := range m.facets.Corners {
		m.low = r3.Vec{X: min(m.low.X, c.X), Y: min(m.low.Y, c.Y), Z: min(m.low.Z, c.Z)}
		m.high = r3.Vec{X: max(m.high.X, c.X), Y: max(m.high.Y, c.Y), Z: max(m.high.Z, c.Z)}
	}
	m.middle = r3.Scale(0.5, r3.Add(m.low, m.high))
	m.capacity = meshVolume(m.facets, m.middle)
	m.tree = sync.OnceValue(func() *crossingTree { return newCrossingTree(m.facets) })
	return m
}

// meshVolume is the sum of the signed tetrahedra between a point and each
// triangle, the point chosen near the mesh so that little cancels.
func meshVolume(f Facets, from r3.Vec) float64 {
	var sum float64
	for _, t := range f.Triangles {
		a, b, c := r3.Sub(f.Corners[t[0]], from), r3.Sub(f.Corners[t[1]], from), r3.Sub(f.Corners[t[2]], from)
		sum += r3.Dot(a, r3.Cross(b, c))
	}
	return sum / 6
}

// meshCompact leaves out corners that no triangle has: they would count in the
// box and in the span.
func meshCompact(f Facets) Facets {
	used := make([]bool, len(f.Corners))
	left := len(used)
	for _, t := range f.Triangles {
		for _, i := range t {
			if !used[i] {
				used[i] = true
				left--
			}
		}
	}
	if left == 0 {
		return f
	}
	to := make([]int32, len(f.Corners))
	kept := Facets{Corners: make([]r3.Vec, 0, len(used)-left), Triangles: make([][3]int32, len(f.Triangles))}
	for i, c := range f.Corners {
		if used[i] {
			to[i] = int32(len(kept.Corners))
			kept.Corners = append(kept.Corners, c)
		}
	}
	for i, t := range f.Triangles {
		kept.Triangles[i] = [3]int32{to[t[0]], to[t[1]], to[t[2]]}
	}
	return kept
}

// Box gives the corners of the upright box around the mesh.
func (m *meshSolid) Box() (low, high r3.Vec) { return m.low, m.high }

// Facets gives the mesh itself, whatever the tolerance.
func (m *meshSolid) Facets(float64) Facets {
	return Facets{
		Corners:   append([]r3.Vec(nil), m.facets.Corners...),
		Triangles: append([][3]int32(nil), m.facets.Triangles...),
	}
}

// Contains counts how often the surface winds round the point.
func (m *meshSolid) Contains(p r3.Vec) bool {
	if !(p.X >= m.low.X && p.Y >= m.low.Y && p.Z >= m.low.Z && p.X <= m.high.X && p.Y <= m.high.Y && p.Z <= m.high.Z) {
		return false
	}
	return m.tree().winding(p) != 0
}
