package tank

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// objTriangles cuts a polygon of four corners or more into triangles and
// appends them. A polygon that turns one way all round is fanned from its first
// corner; from any other one ears are clipped. It says whether that came to an
// end: of a polygon that crosses itself it may not.
func objTriangles(corners []r3.Vec, face []int32, to [][3]int32) ([][3]int32, bool) {
	plan, ok := objPlan(corners, face)
	if !ok {
		// Without area: any cut does, so long as its edges stay.
		return objFan(face, to), true
	}
	if objTurnsOnce(plan) {
		return objFan(face, to), true
	}
	return objClip(plan, face, to)
}

func objFan(face []int32, to [][3]int32) [][3]int32 {
	for i := 2; i < len(face); i++ {
		to = append(to, [3]int32{face[0], face[i-1], face[i]})
	}
	return to
}

type objPoint struct{ x, y float64 }

// objPlan lays a polygon into the plane across its normal (Newell's: the sum of
// the cross products round it), so that it runs counter-clockwise.
func objPlan(corners []r3.Vec, face []int32) ([]objPoint, bool) {
	from := corners[face[0]]
	var normal r3.Vec
	size := 0.0
	for i := range face {
		a, b := r3.Sub(corners[face[i]], from), r3.Sub(corners[face[(i+1)%len(face)]], from)
		normal = r3.Add(normal, r3.Cross(a, b))
		size = max(size, math.Abs(a.X), math.Abs(a.Y), math.Abs(a.Z))
	}
	length := r3.Norm(normal)
	if !(length > 1e-14*size*size) || math.IsInf(length, 0) {
		return nil, false
	}
	e1, e2 := meshBasis(r3.Scale(1/length, normal))
	plan := make([]objPoint, len(face))
	for i := range face {
		v := r3.Sub(corners[face[i]], from)
		plan[i] = objPoint{r3.Dot(v, e1), r3.Dot(v, e2)}
	}
	return plan, true
}

// objTurn is positive where the way from a over b to c turns left.
func objTurn(a, b, c objPoint) float64 {
	return (b.x-a.x)*(c.y-a.y) - (b.y-a.y)*(c.x-a.x)
}

// objTurnsOnce says whether a polygon turns left at every corner, and once
// round in all.
func objTurnsOnce(plan []objPoint) bool {
	n := len(plan)
	round := 0.0
	for i := range plan {
		a, b, c := plan[i], plan[(i+1)%n], plan[(i+2)%n]
		cross := objTurn(a, b, c)
		if !(cross >= 0) {
			return false
		}
		round += math.Atan2(cross, (b.x-a.x)*(c.x-b.x)+(b.y-a.y)*(c.y-b.y))
	}
	// Straight on from the first corner, a fan would have a triangle without
	// area.
	return round < 3*math.Pi && objTurn(plan[n-1], plan[0], plan[1]) > 0
}

// objWork is the most looks at a corner that clipping one polygon may take: a
// second's worth, where the worst of polygons would take their cube.
const objWork = 200_000_000

// objClip clips ears: corners whose triangle with their neighbours holds no
// other corner. If none is left that is clear of the others, one is taken that
// has others on its edges only.
func objClip(plan []objPoint, face []int32, to [][3]int32) ([][3]int32, bool) {
	left := make([]int, len(face))
	for i := range left {
		left[i] = i
	}
	at, work := 0, 0
	for len(left) > 3 {
		m := len(left)
		best := -1
		for look := range 2 * m {
			if work += m; work > objWork {
				return to, false
			}
			if i := (at + look) % m; objEar(plan, left, i, look < m) {
				best = i
				break
			}
		}
		if best < 0 {
			return to, false
		}
		a, b, c := left[(best+m-1)%m], left[best], left[(best+1)%m]
		to = append(to, [3]int32{face[a], face[b], face[c]})
		left = append(left[:best], left[best+1:]...)
		at = best
	}
	return append(to, [3]int32{face[left[0]], face[left[1]], face[left[2]]}), true
}

func objEar(plan []objPoint, left []int, i int, clear bool) bool {
	m := len(left)
	ia, ib, ic := left[(i+m-1)%m], left[i], left[(i+1)%m]
	a, b, c := plan[ia], plan[ib], plan[ic]
	if turn := objTurn(a, b, c); !(turn > 0) && (clear || turn < 0) {
		return false
	}
	for _, j := range left {
		p := plan[j]
		// A corner that stands twice, where a bridge leads to a hole, may lie
		// on the ear's own corners.
		if j == ia || j == ib || j == ic || p == a || p == b || p == c {
			continue
		}
		least := min(objTurn(a, b, p), objTurn(b, c, p), objTurn(c, a, p))
		if least > 0 || clear && least == 0 {
			return false
		}
	}
	return true
}
