package tank_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"gaugewright/internal/tank"
)

// extrudeUps are directions of up: square to axes, tilted a little, a lot, and
// by next to nothing.
func extrudeUps() (ups []r3.Vec) {
	random := rand.New(rand.NewPCG(4, 7))
	ups = []r3.Vec{{Z: 1}, {X: 1}, {Y: 1}, {X: -1}, {Y: -1}, {Z: -1}, {X: 0.1, Z: 1}, {Y: 0.1, Z: 1}, {X: 0.1, Y: -0.2, Z: 1}, {X: 1, Y: 1, Z: 1}}
	for _, small := range []float64{1e-2, 1e-3, 1e-4, 3e-5, 1e-6, 1e-8, 1e-12, 1e-15, 1e-17} {
		ups = append(ups, r3.Vec{X: small, Z: 1}, r3.Vec{Y: -small, Z: 1}, r3.Vec{X: -small, Y: small, Z: 1}, r3.Vec{X: 1, Z: small})
	}
	for range 20 {
		ups = append(ups, r3.Vec{X: random.NormFloat64(), Y: random.NormFloat64(), Z: random.NormFloat64()})
	}
	for i := range ups {
		ups[i] = r3.Unit(ups[i])
	}
	return ups
}

// What every cut has to keep, checked on every outline, axis and direction:
// nothing below the span, all above it, never falling, the surface its slope,
// and with the liquid below and the air above together the whole, volume and
// moment. The last is the same body cut the other way round.
func TestExtrudeLaws(t *testing.T) {
	for name, shape := range outlineShapes() {
		o := outlineMade(t, shape.vertices...)
		for _, axis := range []tank.Axis{'x', 'y', 'z'} {
			s := extrudeMade(t, o, axis, 0.8)
			for _, up := range extrudeUps() {
				extrudeLaws(t, name+" along "+string(rune(axis)), s, up, 0.8*shape.area)
			}
		}
	}
}

func extrudeLaws(t *testing.T, name string, s tank.Solid, up r3.Vec, capacity float64) {
	t.Helper()
	c, back := extrudeCutOf(t, s, up), extrudeCutOf(t, s, r3.Scale(-1, up))
	low, high := c.Span()
	height := high - low
	bound, _ := s.Box()
	reach := 1 + r3.Norm(bound) // distances from the origin scale the rounding
	fail := func(what string, got, expected, tolerance float64) {
		if !(math.Abs(got-expected) <= tolerance) {
			t.Helper()
			t.Fatalf("%s, up %v, %s: got %.15g, expected %.15g (off by %.3g)", name, up, what, got, expected, got-expected)
		}
	}
	v, _ := c.Below(low)
	fail("at the low end", v, 0, 0)
	v, _ = c.Below(math.Nextafter(high, math.Inf(1)))
	fail("at the high end", v, capacity, 1e-13*reach)
	whole := c.Moment(high)
	last := 0.0
	const n = 29
	for k := 1; k < n; k++ {
		d := low + height*float64(k)/n
		v, surface := c.Below(d)
		if v < last-1e-12*capacity*reach {
			t.Fatalf("%s, up %v: falls from %v to %v at %v", name, up, last, v, d)
		}
		last = v
		air, airSurface := back.Below(-d)
		fail("liquid and air", v+air, capacity, 3e-12*capacity*reach)
		fail("their surfaces", surface, airSurface, 1e-8*capacity/height*reach)
		m := r3.Add(c.Moment(d), back.Moment(-d))
		fail("their moments", r3.Norm(r3.Sub(m, whole)), 0, 1e-10*capacity*reach)
		step := 1e-5 * height
		upper, s1 := c.Below(d + step)
		lower, s0 := c.Below(d - step)
		if math.Abs(s1-s0) < 1e-3*surface {
			fail("slope", (upper-lower)/(2*step), surface, 1e-4*capacity/height*reach)
		}
		// The moment along up grows by d for every m³.
		grown := r3.Dot(up, r3.Sub(c.Moment(d+step), c.Moment(d-step)))
		fail("moment along up", grown, d*(upper-lower), 2e-11*capacity*reach+step*(upper-lower))
	}
}

// Volumes and centroids against counting points of an even sequence.
func TestExtrudeAgainstCounting(t *testing.T) {
	for name, shape := range outlineShapes() {
		if name == "far away" {
			continue
		}
		o := outlineMade(t, shape.vertices...)
		for i, axis := range []tank.Axis{'x', 'y', 'z'} {
			s := extrudeMade(t, o, axis, 0.5)
			extrudeCount(t, name+" along "+string(rune(axis)), s, []r3.Vec{{Z: 1}, {X: 0.2, Y: -0.1, Z: 1}, {X: -1, Y: 2, Z: 0.5}}[i])
		}
	}
}

// extrudeCount counts points below planes; 20,000 evenly spread ones tell shares
// to about 0.3 %.
func extrudeCount(t *testing.T, name string, s tank.Solid, up r3.Vec) {
	t.Helper()
	const n = 20000
	up = r3.Unit(up)
	low, high := s.Box()
	size := r3.Sub(high, low)
	box := size.X * size.Y * size.Z
	c := extrudeCutOf(t, s, up)
	a, b := c.Span()
	for _, share := range []float64{0.2, 0.5, 0.9, 1} {
		d := a + share*(b-a)
		var count int
		var sum r3.Vec
		for k := range n {
			// Halton's sequence (J. H. Halton, 1960; from memory).
			p := r3.Vec{X: low.X + size.X*halton(k+1, 2), Y: low.Y + size.Y*halton(k+1, 3), Z: low.Z + size.Z*halton(k+1, 5)}
			if r3.Dot(up, p) < d && s.Contains(p) {
				count++
				sum = r3.Add(sum, p)
			}
		}
		v, _ := c.Below(d)
		outlineNear(t, name, float64(count)/n*box, v, 0.004*box)
		if m := r3.Scale(box/n, sum); r3.Norm(r3.Sub(m, c.Moment(d))) > 0.004*box*(r3.Norm(low)+r3.Norm(high)) {
			t.Errorf("%s: moment %v, counted %v", name, c.Moment(d), m)
		}
	}
}

func halton(k, base int) (x float64) {
	for part := 1 / float64(base); k > 0; k, part = k/base, part/float64(base) {
		x += part * float64(k%base)
	}
	return x
}

// Every edge of a mesh is run through once each way, it encloses the volume less
// what the chords cut off, and is turned outward.
func TestExtrudeFacets(t *testing.T) {
	for name, shape := range outlineShapes() {
		o := outlineMade(t, shape.vertices...)
		for _, axis := range []tank.Axis{'x', 'y', 'z'} {
			s := extrudeMade(t, o, axis, 0.5)
			for _, tolerance := range []float64{0.05, 1e-3, 1e-5} {
				f := s.Facets(tolerance)
				volume := facetsVolume(t, name, f)
				outlineNear(t, name+" as a mesh", volume, 0.5*shape.area, 0.5*3*tolerance+1e-12)
				if math.Abs(volume-0.5*shape.area) < 1e-9 && strings.Contains(name, "circle") {
					t.Errorf("%s: the mesh is no polygon", name)
				}
			}
		}
	}
}

// facetsVolume checks that a mesh is closed and gives its volume by Gauss's
// theorem, from its first corner.
func facetsVolume(t *testing.T, name string, f tank.Facets) (volume float64) {
	t.Helper()
	edges := map[[2]int32]int{}
	for _, tri := range f.Triangles {
		a, b, c := f.Corners[tri[0]], f.Corners[tri[1]], f.Corners[tri[2]]
		o := f.Corners[0]
		volume += r3.Dot(r3.Sub(a, o), r3.Cross(r3.Sub(b, o), r3.Sub(c, o))) / 6
		if r3.Norm(r3.Cross(r3.Sub(b, a), r3.Sub(c, a))) < 1e-14 {
			t.Errorf("%s: the triangle %v has no area", name, tri)
		}
		for k := range 3 {
			edges[[2]int32{tri[k], tri[(k+1)%3]}]++
		}
	}
	for e, n := range edges {
		if n != 1 || edges[[2]int32{e[1], e[0]}] != 1 {
			t.Errorf("%s: the edge %v is run through %d times, and %d times back", name, e, n, edges[[2]int32{e[1], e[0]}])
		}
	}
	return volume
}
