package tank

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// meshCorners gathers a mesh whose corners come one by one, those equal in
// every bit as one.
type meshCorners struct {
	facets Facets
	slots  []int32 // corner number + 1 at the place its hash gives or after it; 0 where free
}

func newMeshCorners() *meshCorners { return &meshCorners{slots: make([]int32, 1024)} }

func meshHash(v r3.Vec) uint64 {
	h := math.Float64bits(v.X)*0x9e3779b97f4a7c15 ^ math.Float64bits(v.Y)*0xc2b2ae3d27d4eb4f ^ math.Float64bits(v.Z)*0x165667b19e3779f9
	h ^= h >> 32
	h *= 0xd6e8feb86659fd93
	return h ^ h>>32
}

// number gives the number of a corner, a new one if it wasn't there yet. The
// coordinates are finite. Zero and negative zero are equal.
func (m *meshCorners) number(v r3.Vec) int32 {
	v = r3.Vec{X: v.X + 0, Y: v.Y + 0, Z: v.Z + 0}
	if 2*len(m.facets.Corners) >= len(m.slots) {
		m.slots = make([]int32, 2*len(m.slots))
		for i, c := range m.facets.Corners {
			at := m.find(c)
			m.slots[at] = int32(i + 1)
		}
	}
	at := m.find(v)
	if m.slots[at] == 0 {
		m.facets.Corners = append(m.facets.Corners, v)
		m.slots[at] = int32(len(m.facets.Corners))
	}
	return m.slots[at] - 1
}

// find gives the slot where a corner is, or would be.
func (m *meshCorners) find(v r3.Vec) uint64 {
	mask := uint64(len(m.slots) - 1)
	at := meshHash(v) & mask
	for m.slots[at] != 0 && m.facets.Corners[m.slots[at]-1] != v {
		at = (at + 1) & mask
	}
	return at
}

// scaled gives the mesh in metres.
func (m *meshCorners) scaled(scale float64) (Facets, error) {
	for i := range m.facets.Corners {
		c := &m.facets.Corners[i]
		*c = r3.Scale(scale, *c)
		if !meshFinite(*c) {
			return Facets{}, fmt.Errorf("a corner comes to (%g, %g, %g) m; expected a tank; is it in another unit?", c.X, c.Y, c.Z)
		}
	}
	return m.facets, nil
}

func meshScale(scale float64) error {
	if !(scale > 0) || math.IsInf(scale, 0) {
		return fmt.Errorf("one unit of the file can't be %g m; expected more than nothing, 0.001 for a drawing in mm", scale)
	}
	return nil
}

func meshFinite(v r3.Vec) bool {
	// The sum of squares may overflow where the coordinates are finite.
	for _, c := range [3]float64{v.X, v.Y, v.Z} {
		if math.IsNaN(c) || math.IsInf(c, 0) {
			return false
		}
	}
	return true
}

func meshTooMany(found string) error {
	return fmt.Errorf("the mesh has %s triangles; expected no more than %d; export it with a coarser tolerance: a tenth of a millimetre is enough", found, MaxTriangles)
}
