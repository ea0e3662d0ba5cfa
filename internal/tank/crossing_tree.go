package tank

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

// crossingNode is a box around some triangles. Its first child follows it in
// the list; a leaf has none.
type crossingNode struct {
	low, high r3.Vec
	from, to  int32 // its triangles, in the tree's order
	second    int32 // its second child, 0 for a leaf
}

// crossingTree is a tree of boxes around the triangles of a mesh.
type crossingTree struct {
	facets Facets
	order  []int32
	nodes  []crossingNode
}

const crossingLeaf = 4

// newCrossingTree orders the triangles by the place of their middles along a
// Z-order curve and halves that order down to a few.
func newCrossingTree(f Facets) *crossingTree {
	t := &crossingTree{facets: f, order: make([]int32, len(f.Triangles))}
	low, high := crossingBox(f.Corners)
	size := max(high.X-low.X, high.Y-low.Y, high.Z-low.Z)
	scale := 0.0
	if size > 0 {
		scale = (1<<13 - 1) / size
	}
	// Place and number share a word: 39 bits and 24.
	keys := make([]uint64, len(f.Triangles))
	for i, tri := range f.Triangles {
		a, b, c := f.Corners[tri[0]], f.Corners[tri[1]], f.Corners[tri[2]]
		x := crossingSpread(uint64(((a.X+b.X+c.X)/3 - low.X) * scale))
		y := crossingSpread(uint64(((a.Y+b.Y+c.Y)/3 - low.Y) * scale))
		z := crossingSpread(uint64(((a.Z+b.Z+c.Z)/3 - low.Z) * scale))
		keys[i] = (x|y<<1|z<<2)<<24 | uint64(i)
	}
	slices.Sort(keys)
	for i, k := range keys {
		t.order[i] = int32(k & (1<<24 - 1))
	}
	if len(t.order) > 0 {
		t.nodes = make([]crossingNode, 0, 2*len(t.order)/crossingLeaf+1)
		t.grow(0, int32(len(t.order)))
	}
	return t
}

// crossingSpread puts two empty bits between any two of the lowest 13.
func crossingSpread(v uint64) uint64 {
	v &= 1<<13 - 1
	v = (v | v<<16) & 0x0000_0000_ff00_00ff
	v = (v | v<<8) & 0x0000_00f0_0f00_f00f
	v = (v | v<<4) & 0x0000_0c30_c30c_30c3
	return (v | v<<2) & 0x0000_2492_4924_9249
}

func crossingBox(corners []r3.Vec) (low, high r3.Vec) {
	inf := math.Inf(1)
	low, high = r3.Vec{X: inf, Y: inf, Z: inf}, r3.Vec{X: -inf, Y: -inf, Z: -inf}
	for _, c := range corners {
		low, high = crossingLow(low, c), crossingHigh(high, c)
	}
	return low, high
}

func crossingLow(a, b r3.Vec) r3.Vec {
	return r3.Vec{X: min(a.X, b.X), Y: min(a.Y, b.Y), Z: min(a.Z, b.Z)}
}

func crossingHigh(a, b r3.Vec) r3.Vec {
	return r3.Vec{X: max(a.X, b.X), Y: max(a.Y, b.Y), Z: max(a.Z, b.Z)}
}

func (t *crossingTree) grow(from, to int32) int32 {
	self := int32(len(t.nodes))
	t.nodes = append(t.nodes, crossingNode{from: from, to: to})
	n := crossingNode{from: from, to: to}
	if to-from <= crossingLeaf {
		inf := math.Inf(1)
		n.low, n.high = r3.Vec{X: inf, Y: inf, Z: inf}, r3.Vec{X: -inf, Y: -inf, Z: -inf}
		for _, i := range t.order[from:to] {
			for _, c := range t.facets.Triangles[i] {
				n.low, n.high = crossingLow(n.low, t.facets.Corners[c]), crossingHigh(n.high, t.facets.Corners[c])
			}
		}
	} else {
		first := t.grow(from, from+(to-from)/2)
		n.second = t.grow(from+(to-from)/2, to)
		a, b := &t.nodes[first], &t.nodes[n.second]
		n.low, n.high = crossingLow(a.low, b.low), crossingHigh(a.high, b.high)
	}
	t.nodes[self] = n
	return self
}

// crossingRay is the direction in which rays are sent: along no axis, diagonal
// or other direction that drawings have. In a frame turned to it, a point p is
// seen at (X − Z·crossingX, Y − Z·crossingY).
const (
	crossingX = 0.1803398874989485 // from the golden section and the root of 2
	crossingY = 0.4142135623730951
)

// winding counts how often the surface winds round a point: 1 inside a body
// turned outward, 0 outside. Every triangle that the ray from the point upward
// goes through counts 1 or −1. An edge is looked at from its lower-numbered
// corner for both its triangles, so that a ray never slips through between
// them, nor meets both.
func (t *crossingTree) winding(p r3.Vec) int {
	sum, _ := t.wind(p)
	return sum
}

// wind also says how many boxes and triangles were looked at.
func (t *crossingTree) wind(p r3.Vec) (sum, looks int) {
	if len(t.nodes) == 0 {
		return 0, 0
	}
	var stack [64]int32
	depth := 1
	for depth > 0 {
		depth--
		i := stack[depth]
		n := &t.nodes[i]
		looks++
		if !crossingRayMeets(p, n) {
			continue
		}
		if n.second != 0 {
			stack[depth], stack[depth+1] = i+1, n.second
			depth += 2
			continue
		}
		for _, tri := range t.order[n.from:n.to] {
			sum += t.passes(p, t.facets.Triangles[tri])
			looks++
		}
	}
	return sum, looks
}

// crossingRayMeets says whether a ray from p may meet a box.
func crossingRayMeets(p r3.Vec, n *crossingNode) bool {
	from, to := max(0, n.low.Z-p.Z), n.high.Z-p.Z
	if to < from {
		return false
	}
	// A trifle is added, since rounding here must not lose what passes finds.
	const slack = 1e-12
	more := slack * (math.Abs(to) + math.Abs(p.X) + math.Abs(p.Y) + n.high.X - n.low.X + n.high.Y - n.low.Y)
	return p.X+crossingX*from <= n.high.X+more && p.X+crossingX*to >= n.low.X-more &&
		p.Y+crossingY*from <= n.high.Y+more && p.Y+crossingY*to >= n.low.Y-more
}

// passes gives 1 if the ray from p goes out through the triangle, −1 if in,
// 0 if it doesn't meet it.
func (t *crossingTree) passes(p r3.Vec, tri [3]int32) int {
	var q [3]r3.Vec
	for i, c := range tri {
		v := r3.Sub(t.facets.Corners[c], p)
		q[i] = r3.Vec{X: v.X - float64(crossingX*v.Z), Y: v.Y - float64(crossingY*v.Z), Z: v.Z}
	}
	var side [3]float64
	left := 0
	for i := range q {
		j := (i + 1) % 3
		e := crossingSide(tri[i], tri[j], q[i], q[j])
		side[i] = e
		if !math.Signbit(e) {
			left++
		}
	}
	if left != 0 && left != 3 {
		return 0
	}
	// The height at which the ray meets the triangle, times the area.
	area := side[0] + side[1] + side[2]
	height := side[1]*q[0].Z + side[2]*q[1].Z + side[0]*q[2].Z
	if area == 0 || height/area <= 0 {
		return 0
	}
	if left == 3 {
		return 1
	}
	return -1
}

// crossingSide is positive where the origin lies to the left of the line from a
// to b in plan. It is exactly the opposite from b to a; on the line it is +0 in
// the direction of growing numbers, −0 the other way.
func crossingSide(ia, ib int32, a, b r3.Vec) float64 {
	if ia > ib {
		return -crossingSide(ib, ia, b, a)
	}
	// Explicit conversions keep the products from being fused.
	e := float64(a.X*b.Y) - float64(a.Y*b.X)
	if e == 0 {
		return 0
	}
	return e
}
