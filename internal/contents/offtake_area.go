package contents

import (
	"fmt"
	"math"
)

// WettedLying estimates the inside wall that liquid touches, in m², of a tank of
// which nothing is known but its water capacity in m³ and the part of it that is
// liquid, 0..1: as that of a lying cylinder with flat ends, three diameters long.
// An upright tank of the same capacity has up to a third more or less.
func WettedLying(capacity, level float64) (float64, error) {
	if !(capacity > 0 && capacity <= 1e4) {
		return 0, fmt.Errorf("the water capacity is %g L; expected above 0, up to 1e7 L", capacity*1000)
	}
	if !(level >= 0 && level <= 1) {
		return 0, fmt.Errorf("the level is %g %%; expected 0 to 100 %%", level*100)
	}
	const slender = 3
	d := math.Cbrt(4 * capacity / (math.Pi * slender))
	angle := offtakeAngle(level)
	shell := d / 2 * angle * slender * d
	ends := 2 * math.Pi * d * d / 4 * level
	return shell + ends, nil
}

// offtakeAngle gives the angle, 0 to 2π, at which the liquid in a lying cylinder
// is seen from its axis: that for which (θ − sin θ)/2π is the level.
func offtakeAngle(level float64) float64 {
	if level > 0.5 { // near 2π the sine leaves few digits, near 0 many
		return 2*math.Pi - offtakeAngle(1-level)
	}
	low, high := 0.0, 2*math.Pi
	for range 100 {
		mid := (low + high) / 2
		if mid-math.Sin(mid) < 2*math.Pi*level {
			low = mid
		} else {
			high = mid
		}
	}
	return (low + high) / 2
}

// WettedMesh gives the part of a closed surface of triangles that lies below a
// plane, in m²: the inside of a tank, corners in m, three corners to a triangle
// by their numbers. A corner c is below where up·c < level, up being of any
// length above 0 and level in m along it.
func WettedMesh(corners [][3]float64, triangles [][3]int, up [3]float64, level float64) (float64, error) {
	length := math.Sqrt(up[0]*up[0] + up[1]*up[1] + up[2]*up[2])
	if !(length > 0) || math.IsInf(length, 0) || math.IsNaN(level) {
		return 0, fmt.Errorf("a plane square to (%g, %g, %g) at %g m; expected a direction of a length above 0 and a number", up[0], up[1], up[2], level)
	}
	depth := make([]float64, len(corners)) // below the plane
	for i, c := range corners {
		depth[i] = level - (up[0]*c[0]+up[1]*c[1]+up[2]*c[2])/length
		if math.IsNaN(depth[i]) {
			return 0, fmt.Errorf("corner %d isn't at a place that is a number", i)
		}
	}
	sum := 0.0
	for i, t := range triangles {
		for _, c := range t {
			if c < 0 || c >= len(corners) {
				return 0, fmt.Errorf("triangle %d has corner %d; expected 0 to %d", i, c, len(corners)-1)
			}
		}
		sum += offtakeArea(corners[t[0]], corners[t[1]], corners[t[2]]) * offtakeBelow(depth[t[0]], depth[t[1]], depth[t[2]])
	}
	return sum, nil
}

// offtakeBelow gives which part of a triangle lies below a plane, from the
// depths of its corners below it: a corner that is alone on its side is cut off
// with the product of the parts of its two edges.
func offtakeBelow(a, b, c float64) float64 {
	alone := func(a, b, c float64) float64 { return a / (a - b) * (a / (a - c)) }
	switch below := [3]bool{a > 0, b > 0, c > 0}; below {
	case [3]bool{}:
		return 0
	case [3]bool{true, true, true}:
		return 1
	case [3]bool{true, false, false}:
		return alone(a, b, c)
	case [3]bool{false, true, false}:
		return alone(b, a, c)
	case [3]bool{false, false, true}:
		return alone(c, a, b)
	case [3]bool{false, true, true}:
		return 1 - alone(a, b, c)
	case [3]bool{true, false, true}:
		return 1 - alone(b, a, c)
	}
	return 1 - alone(c, a, b)
}

func offtakeArea(a, b, c [3]float64) float64 {
	u := [3]float64{b[0] - a[0], b[1] - a[1], b[2] - a[2]}
	v := [3]float64{c[0] - a[0], c[1] - a[1], c[2] - a[2]}
	return math.Hypot(u[1]*v[2]-u[2]*v[1], math.Hypot(u[2]*v[0]-u[0]*v[2], u[0]*v[1]-u[1]*v[0])) / 2
}
