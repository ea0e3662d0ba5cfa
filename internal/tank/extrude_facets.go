package tank

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// Facets gives a closed mesh of it: arcs as chords, both ends cut into triangles
// between the same corners, so that no edge is open.
func (e extrudeSolid) Facets(tolerance float64) Facets {
	points := e.outline.chords(tolerance)
	ends, ok := outlineEars(points)
	// Chords of a coarse tolerance may cross one another where the arcs don't.
	for k := 0; !ok && k < 20; k++ {
		tolerance /= 2
		points = e.outline.chords(tolerance)
		ends, ok = outlineEars(points)
	}
	n := int32(len(points))
	f := Facets{Corners: make([]r3.Vec, 0, 2*n)}
	for _, at := range []float64{e.from, e.to} {
		for _, p := range points {
			f.Corners = append(f.Corners, outlinePoint(e.axis, p, at))
		}
	}
	// The far end is seen counter-clockwise from beyond it.
	for _, t := range ends {
		f.Triangles = append(f.Triangles, [3]int32{t[2], t[1], t[0]}, [3]int32{t[0] + n, t[1] + n, t[2] + n})
	}
	for i := range n {
		j := (i + 1) % n
		f.Triangles = append(f.Triangles, [3]int32{i, j, j + n}, [3]int32{i, j + n, i + n})
	}
	// x, z and y are a left-handed frame.
	if e.axis == AxisY {
		for i, t := range f.Triangles {
			f.Triangles[i] = [3]int32{t[0], t[2], t[1]}
		}
	}
	return f
}

// chords gives the outline as a polygon whose chords are off the arcs by no more
// than the tolerance; an arc has a chord for every eighth of a turn at least, and
// no more than 4096.
func (o Outline) chords(tolerance float64) []r2.Vec {
	var points []r2.Vec
	for _, e := range o.edges {
		n := 1
		if e.radius > 0 {
			step := math.Pi / 4
			if tolerance < e.radius*(1-math.Cos(step/2)) {
				step = 4 * math.Asin(math.Sqrt(max(0, tolerance)/(2*e.radius)))
			}
			n = int(math.Ceil(min(4096, max(1, math.Abs(e.sweep)/step-1e-9))))
		}
		for k := range n {
			points = append(points, e.at(float64(k)/float64(n)))
		}
	}
	return points
}

// outlineEars cuts a polygon that runs counter-clockwise into triangles by
// cutting off ears: corners whose triangle holds no other corner, not even on
// its sides, so that none has no area. False where it finds none, as in a
// polygon that crosses itself; it then fans out what is left.
func outlineEars(points []r2.Vec) (triangles [][3]int32, ok bool) {
	left := make([]int32, len(points))
	for i := range left {
		left[i] = int32(i)
	}
	turn := func(a, b, c int32) float64 {
		return r2.Cross(r2.Sub(points[b], points[a]), r2.Sub(points[c], points[a]))
	}
	ear := func(k int) bool {
		n := len(left)
		a, b, c := left[(k+n-1)%n], left[k], left[(k+1)%n]
		longest := max(r2.Norm2(r2.Sub(points[b], points[a])), r2.Norm2(r2.Sub(points[c], points[b])))
		if turn(a, b, c) <= 1e-13*longest {
			return false
		}
		for i, p := range left {
			if p == a || p == b || p == c {
				continue
			}
			// Only a hollow or flat corner can be the first inside.
			if turn(left[(i+n-1)%n], p, left[(i+1)%n]) > 1e-13*longest {
				continue
			}
			if turn(a, b, p) >= 0 && turn(b, c, p) >= 0 && turn(c, a, p) >= 0 {
				return false
			}
		}
		return true
	}
	ok = true
	next := 0
	for len(left) > 3 {
		found := -1
		for j := range left {
			if k := (next + j) % len(left); ear(k) {
				found = k
				break
			}
		}
		if found < 0 {
			ok = false
			break
		}
		n := len(left)
		triangles = append(triangles, [3]int32{left[(found+n-1)%n], left[found], left[(found+1)%n]})
		left = slices.Delete(left, found, found+1)
		// Going on behind the corner after it keeps triangles from all meeting
		// in one.
		next = (found + 1) % len(left)
	}
	for k := 2; k < len(left); k++ {
		triangles = append(triangles, [3]int32{left[0], left[k-1], left[k]})
	}
	return triangles, ok
}
