package tank

import (
	"errors"
	"fmt"
	"math"
	"sync"

	"gonum.org/v1/gonum/spatial/r3"
)

// How a mesh is cut at any height in a few steps.
//
// Let p be the area of a triangle projected along up, negative where it faces
// downward, and z a height. The field (z − d)·up has divergence 1 and no flux
// through the plane at d, so the volume V below d is −Σ p·g(d) over the
// triangles, where g(d) is the mean over the triangle of max(0, d − z). The
// second derivative of g is how much of the triangle lies at each height, a hat
// over its three corners; so its third derivative jumps at the corners and
// nowhere else, by 2/((z1−z2)(z1−z3)) at corner 1 and likewise at the others.
// Above the triangle g is d − z̄.
//
// So the jumps of all triangles are gathered at the corners, the corners sorted
// by height, and one sweep upward carries the volume and its three derivatives
// from corner to corner. (Divergence theorem and divided differences, as in any
// textbook; the arrangement is our own.)
//
// The trap is that a triangle almost level, over the height δ, has jumps of
// p/δ². Summed in floating point they would leave a rest of 1e-16·p/δ², which
// then grows with the cube of the height. Therefore
//   - heights are whole numbers of 2^-40 of the extent along up, so that
//     differences are exact. A mesh with every corner moved by half of that is
//     still closed, and its volume is off by no more than 5e-13 of the extent
//     times the area projected;
//   - the third and the second derivative are 128-bit integers, in which sums
//     are exact, and the three jumps of a triangle sum to nothing. What is
//     rounded is the second derivative, by 2^-88 a step;
//   - triangles over less than 2^-33 of the extent count as level, and two
//     corners nearer than 2^-68/δ as of one height, in a way that leaves the
//     volume above the triangle as it was. Within its height the error is less
//     than p·2^-34 of the extent.
//
// The first derivative and V itself need no more than float64, since their steps
// are bounded by what they come to.
const (
	meshBits  = 40
	meshSteps = 1 << meshBits // whole heights in the extent

	// A triangle with corners a and b steps apart and c steps over all has
	// jumps of 1/(a·c). With a·c at least 2^12 steps², 2^-68 of the extent²,
	// they fit: 2^68 · 2^56 < 2^127, with 8 times to spare for sums.
	meshLevel = 128
	meshTight = 4096
)

// meshKnot begins an interval of heights in which the volume is
// v + f·t + s·t² + j·t³, t = (height − at) in extents.
type meshKnot struct{ at, v, f, s, j float64 }

// meshCut is a mesh ready for planes of one direction.
type meshCut struct {
	solid     *meshSolid
	up        r3.Vec
	low, high float64
	perMetre  float64 // one over the extent
	knots     []meshKnot
	first     []int32 // for each of equal steps of height, the last knot at or below its beginning
	steps     float64
	slow      bool // every triangle is cut for every plane
}

type meshPoint struct {
	x, y float64
	k    int64
}

// meshScratch is memory that is needed only while a cut is prepared.
type meshScratch struct {
	points []meshPoint
	twice  []float64 // of each triangle the doubled projected area
	jumps  []meshWide
	rare   []meshRare
	order  []uint64
	spare  []uint64
}

var meshScratches = sync.Pool{New: func() any { return new(meshScratch) }}

func meshGrow[T any](s []T, n int) []T {
	if cap(s) < n {
		return make([]T, n)
	}
	return s[:n]
}

// Cut prepares the mesh for planes across up, in time little more than
// proportional to the number of triangles.
func (m *meshSolid) Cut(up r3.Vec) (Cut, error) {
	s := meshScratches.Get().(*meshScratch)
	defer meshScratches.Put(s)
	c := &meshCut{solid: m, up: up}
	if len(m.facets.Corners) >= 1<<meshNumber {
		return nil, fmt.Errorf("the mesh has %d corners; expected fewer than %d", len(m.facets.Corners), 1<<meshNumber)
	}
	low, high := s.project(m, up)
	extent := high - low
	if !(extent > 0) || math.IsInf(extent, 0) {
		return nil, errors.New("the mesh has no extent in the direction of up; expected a body")
	}
	at := r3.Dot(up, m.middle)
	c.low, c.high, c.perMetre = low+at, high+at, 1/extent
	total := s.areas(m.facets.Triangles)
	s.scatter(m.facets.Triangles, total)
	s.sort()
	// In the sweep the volume is in units of total·extent, total being that of
	// doubled areas.
	c.slow = !c.sweep(s, total*extent, m.capacity)
	if !c.slow {
		c.index()
	}
	return c, nil
}

// meshBasis gives two unit vectors that make a right-handed frame with up.
func meshBasis(up r3.Vec) (e1, e2 r3.Vec) {
	away := r3.Vec{X: 1}
	if math.Abs(up.X) > 0.6 {
		away = r3.Vec{Y: 1}
	}
	e1 = r3.Unit(r3.Sub(away, r3.Scale(r3.Dot(away, up), up)))
	return e1, r3.Cross(up, e1)
}

// project puts the corners into a frame with up as its third axis and its
// origin in the middle of the mesh. Areas are then taken from the places in
// plan, so that rounding moves a corner for all its triangles alike and the
// mesh stays closed.
func (s *meshScratch) project(m *meshSolid, up r3.Vec) (low, high float64) {
	corners := m.facets.Corners
	s.points = meshGrow(s.points, len(corners))
	e1, e2 := meshBasis(up)
	low, high = math.Inf(1), math.Inf(-1)
	for i, c := range corners {
		v := r3.Vec{X: c.X - m.middle.X, Y: c.Y - m.middle.Y, Z: c.Z - m.middle.Z}
		z := v.X*up.X + v.Y*up.Y + v.Z*up.Z
		s.points[i] = meshPoint{
			x: v.X*e1.X + v.Y*e1.Y + v.Z*e1.Z,
			y: v.X*e2.X + v.Y*e2.Y + v.Z*e2.Z,
			k: int64(math.Float64bits(z)),
		}
		low, high = min(low, z), max(high, z)
	}
	scale := meshSteps / (high - low)
	for i := range s.points {
		z := math.Float64frombits(uint64(s.points[i].k))
		s.points[i].k = min(meshSteps, int64((z-low)*scale+0.5))
	}
	return low, high
}

// areas works out the doubled projected area of every triangle and gives the
// sum of their sizes.
func (s *meshScratch) areas(triangles [][3]int32) (total float64) {
	s.twice = meshGrow(s.twice, len(triangles))
	points := s.points
	for i, t := range triangles {
		a, b, c := &points[t[0]], &points[t[1]], &points[t[2]]
		p := (b.x-a.x)*(c.y-a.y) - (b.y-a.y)*(c.x-a.x)
		s.twice[i] = p
		total += math.Abs(p)
	}
	return total
}
