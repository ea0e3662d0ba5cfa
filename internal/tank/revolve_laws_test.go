package tank_test

import (
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"gaugewright/internal/tank"
)

// revolveBodies is one body of every kind and way to lie or stand.
func revolveBodies() map[string]tank.Solid {
	kloepper, korbbogen, asme := tank.Kloepper(0.3), tank.Korbbogen(0.31), tank.ASMEFlangedDished(0.3)
	dished := tank.Head{Kind: tank.Torispherical, Crown: 0.4}
	ok := revolveMade
	return map[string]tank.Solid{
		"lying, flat heads":           ok(tank.Cylinder(0.3, 0.8, true, revolveFlat, revolveFlat)),
		"lying, two different heads":  ok(tank.Cylinder(0.3, 0.8, true, revolveHalf, revolveBall)),
		"lying, Kloepper heads":       ok(tank.Cylinder(0.3, 0.8, true, kloepper, kloepper)),
		"lying, mixed heads":          ok(tank.Cylinder(0.3, 0.4, true, asme, revolveHalf)),
		"lying, no straight part":     ok(tank.Cylinder(0.3, 0, true, dished, korbbogen)),
		"upright, flat heads":         ok(tank.Cylinder(0.3, 0.8, false, revolveFlat, revolveFlat)),
		"upright, two heads":          ok(tank.Cylinder(0.3, 0.5, false, kloepper, revolveHalf)),
		"upright, half a sphere":      ok(tank.Cylinder(0.3, 0, false, revolveBall, revolveFlat)),
		"upright, sphere of heads":    ok(tank.Cylinder(0.3, 0, false, revolveBall, revolveBall)),
		"upright, Korbbogen and dish": ok(tank.Cylinder(0.3, 0.2, false, korbbogen, dished)),
		"sphere":                      ok(tank.Sphere(0.5)),
		"frustum":                     ok(tank.Cone(0.2, 0.5, 0.4)),
		"cone on its tip":             ok(tank.Cone(0, 0.5, 0.4)),
		"cone on its foot":            ok(tank.Cone(0.5, 0, 0.4)),
		"ring lying flat":             ok(tank.Ring(0.6, 0.2, tank.AxisZ)),
		"ring on edge, x":             ok(tank.Ring(0.6, 0.2, tank.AxisX)),
		"ring on edge, y":             ok(tank.Ring(0.6, 0.15, tank.AxisY)),
		"ring whose hole is a point":  ok(tank.Ring(0.6, 0.3, tank.AxisX)),
		"ring with dimples, flat":     ok(tank.Ring(0.6, 0.4, tank.AxisZ)),
		"ring with dimples, on edge":  ok(tank.Ring(0.6, 0.5, tank.AxisY)),
		"ring that is a sphere":       ok(tank.Ring(0.6, 0.6, tank.AxisX)),
	}
}

func revolveUps() []r3.Vec {
	return []r3.Vec{{Z: 1}, {X: 1}, {Y: -1}, tank.Degrees(3, 0).Up(), tank.Degrees(0, -20).Up(), tank.Degrees(-8, 5).Up(), tank.Degrees(50, 40).Up()}
}

// revolveHalton gives the k-th of a set of points that fill the unit cube evenly.
func revolveHalton(k int) r3.Vec {
	digit := func(base int) (v float64) {
		for f, i := 1.0, k+1; i > 0; i /= base {
			f /= float64(base)
			v += f * float64(i%base)
		}
		return v
	}
	return r3.Vec{X: digit(2), Y: digit(3), Z: digit(5)}
}

// Points that are inside, counted: volume and centroid below levels, within
// what so many points can tell. The box holds them all and touches the body.
func TestRevolveMonteCarlo(t *testing.T) {
	const n = 12000
	for name, solid := range revolveBodies() {
		low, high := solid.Box()
		size := r3.Sub(high, low)
		box := size.X * size.Y * size.Z
		var inside []r3.Vec
		for k := range n {
			u := revolveHalton(k)
			// A little more than the box, so that it has to be right.
			p := r3.Add(low, r3.Vec{X: size.X * (1.1*u.X - 0.05), Y: size.Y * (1.1*u.Y - 0.05), Z: size.Z * (1.1*u.Z - 0.05)})
			if !solid.Contains(p) {
				continue
			}
			inside = append(inside, p)
			if q := r3.Sub(p, low); min(q.X, q.Y, q.Z) < 0 || q.X > size.X || q.Y > size.Y || q.Z > size.Z {
				t.Fatalf("%s: %v lies inside and outside the box", name, p)
			}
		}
		each := box * 1.1 * 1.1 * 1.1 / n
		for _, up := range revolveUps() {
			cut := revolveCut(t, solid, up)
			first, last := cut.Span()
			for _, p := range inside {
				if d := r3.Dot(up, p); d < first || d > last {
					t.Fatalf("%s, up %v: the point %v is at %g, the span %g to %g", name, up, p, d, first, last)
				}
			}
			for _, share := range []float64{0.15, 0.5, 0.8, 1} {
				d := first + share*(last-first)
				var count float64
				var sum r3.Vec
				for _, p := range inside {
					if r3.Dot(up, p) < d {
						count++
						sum = r3.Add(sum, p)
					}
				}
				v, _ := cut.Below(d)
				// Points that fill evenly do better than drawn ones, whose
				// standard error this is four times.
				if p := count / n; math.Abs(v-count*each) > 4*each*math.Sqrt(n*p*(1-p)) {
					t.Errorf("%s, up %v, %g of the height: %g m³, by points %g", name, up, share, v, count*each)
				}
				off := r3.Sub(r3.Scale(1/v, cut.Moment(d)), r3.Scale(1/count, sum))
				if r3.Norm(off) > 4*r3.Norm(size)/math.Sqrt(12*count) {
					t.Errorf("%s, up %v, %g of the height: centroid off the points' by %v", name, up, share, off)
				}
			}
		}
	}
}

// The box is tight: a cut along each axis begins and ends at its sides.
func TestRevolveBox(t *testing.T) {
	for name, solid := range revolveBodies() {
		low, high := solid.Box()
		for _, c := range []struct {
			up        r3.Vec
			low, high float64
		}{{r3.Vec{X: 1}, low.X, high.X}, {r3.Vec{Y: 1}, low.Y, high.Y}, {r3.Vec{Z: 1}, low.Z, high.Z}} {
			a, b := revolveCut(t, solid, c.up).Span()
			if a != c.low || b != c.high {
				t.Errorf("%s: along %v from %g to %g, the box from %g to %g", name, c.up, a, b, c.low, c.high)
			}
		}
	}
	// Placed as it is documented.
	for _, c := range []struct {
		solid     tank.Solid
		low, high r3.Vec
	}{
		{revolveMade(tank.Cylinder(0.3, 0.8, true, revolveHalf, revolveFlat)), r3.Vec{X: -0.475, Y: -0.15, Z: -0.15}, r3.Vec{X: 0.4, Y: 0.15, Z: 0.15}},
		{revolveMade(tank.Cylinder(0.3, 0.8, false, revolveBall, revolveFlat)), r3.Vec{X: -0.15, Y: -0.15}, r3.Vec{X: 0.15, Y: 0.15, Z: 0.95}},
		{revolveMade(tank.Ring(0.6, 0.2, tank.AxisY)), r3.Vec{X: -0.3, Y: -0.1, Z: -0.3}, r3.Vec{X: 0.3, Y: 0.1, Z: 0.3}},
		{revolveMade(tank.Cone(0.2, 0.5, 0.4)), r3.Vec{X: -0.25, Y: -0.25}, r3.Vec{X: 0.25, Y: 0.25, Z: 0.4}},
	} {
		low, high := c.solid.Box()
		if r3.Norm(r3.Sub(low, c.low)) > 1e-15 || r3.Norm(r3.Sub(high, c.high)) > 1e-15 {
			t.Errorf("box %v to %v, expected %v to %v", low, high, c.low, c.high)
		}
	}
}

// Archimedes, On the Sphere and Cylinder: between any two levels a sphere, and
// the cone with its tip in the middle, make up the cylinder around them.
func TestRevolveArchimedes(t *testing.T) {
	sphere := revolveCut(t, revolveMade(tank.Sphere(2)), revolveZ)
	half := revolveCut(t, revolveMade(tank.Cylinder(2, 0, false, revolveFlat, revolveBall)), revolveZ)
	cone := revolveCut(t, revolveMade(tank.Cone(0, 2, 1)), revolveZ)
	shell := revolveCut(t, revolveMade(tank.Cylinder(2, 2, false, revolveFlat, revolveFlat)), revolveZ)
	below := func(c tank.Cut, d float64) float64 { v, _ := c.Below(d); return v }
	for k := range 21 {
		h := float64(k) / 20
		if a, b := below(half, h)+below(cone, h), below(shell, h); math.Abs(a-b) > 1e-15*4 {
			t.Errorf("up to %g: half sphere and cone %.17g, cylinder %.17g", h, a, b)
		}
		if a, b := below(sphere, h)-below(sphere, 0), below(half, h); math.Abs(a-b) > 1e-15*4 {
			t.Errorf("from the middle to %g: sphere %.17g, half sphere %.17g", h, a, b)
		}
	}
	if a, b := below(sphere, 1), below(shell, 3)*2/3; math.Abs(a-b) > 1e-15*4 {
		t.Errorf("sphere %.17g, two thirds of the cylinder %.17g", a, b)
	}
}

// Pappus: a ring's volume is its tube's area by the way of its middle. Of one
// whose hole is closed, the area is what is left beyond the axis of the
// circle, and its middle by integration.
func TestRevolvePappus(t *testing.T) {
	for _, tube := range []float64{0.01, 0.1, 0.25, 0.29999, 0.3, 0.30001, 0.35, 0.45, 0.5999, 0.6} {
		r, c := tube/2, (0.6-tube)/2
		var want float64
		if c >= r {
			want = math.Pi * r * r * 2 * math.Pi * c
		} else {
			// Area and first moment about the axis of the part of the circle
			// beyond it, the chord at a distance c from the middle.
			half := math.Sqrt(r*r - c*c)
			area := r*r*math.Acos(-c/r) + c*half
			centroid := c + 2.0/3*half*half*half/area
			want = area * 2 * math.Pi * centroid
		}
		for _, axis := range []tank.Axis{tank.AxisX, tank.AxisY, tank.AxisZ} {
			for _, up := range revolveUps() {
				cut := revolveCut(t, revolveMade(tank.Ring(0.6, tube, axis)), up)
				_, high := cut.Span()
				if v, _ := cut.Below(high); math.Abs(v/want-1) > 1e-12 {
					t.Errorf("tube %g, axis %c, up %v: %.15g m³, expected %.15g", tube, axis, up, v, want)
				}
				if v, _ := cut.Below(0); math.Abs(2*v/want-1) > 1e-11 {
					t.Errorf("tube %g, axis %c, up %v: half of it holds %.15g m³, expected %.15g", tube, axis, up, v, want/2)
				}
			}
		}
	}
}

// A body that is alike upside down holds f(h) + f(H−h) = all; and turned about
// its axis it holds the same.
func TestRevolveSymmetry(t *testing.T) {
	kloepper := tank.Kloepper(0.3)
	alike := []struct {
		solid tank.Solid
		axis  r3.Vec
	}{
		{revolveMade(tank.Cylinder(0.3, 0.8, true, revolveFlat, revolveFlat)), r3.Vec{X: 1}},
		{revolveMade(tank.Cylinder(0.3, 0.8, true, revolveHalf, revolveHalf)), r3.Vec{X: 1}},
		{revolveMade(tank.Cylinder(0.3, 0.8, true, kloepper, kloepper)), r3.Vec{X: 1}},
		{revolveMade(tank.Ring(0.6, 0.2, tank.AxisX)), r3.Vec{X: 1}},
		{revolveMade(tank.Ring(0.6, 0.4, tank.AxisY)), r3.Vec{Y: 1}},
		{revolveMade(tank.Sphere(0.6)), r3.Vec{Z: 1}},
	}
	rapid.Check(t, func(t *rapid.T) {
		c := rapid.SampledFrom(alike).Draw(t, "body")
		angle := rapid.Float64Range(-1, 1)
		up := tank.Tilt{Pitch: angle.Draw(t, "pitch"), Roll: angle.Draw(t, "roll")}.Up()
		cut, err := c.solid.Cut(up)
		if err != nil {
			t.Fatal(err)
		}
		low, high := cut.Span()
		all, _ := cut.Below(high)
		d := rapid.Float64Range(0, 1).Draw(t, "height") * high
		v, s := cut.Below(d)
		w, u := cut.Below(-d)
		if low != -high || math.Abs(v+w-all) > 1e-12*all || math.Abs(s-u) > 1e-10*all/high {
			t.Errorf("at ±%g of (%g, %g): %.16g and %.16g m³ of %.16g; %g and %g m²", d, low, high, v, w, all, s, u)
		}
		turned := r3.NewRotation(rapid.Float64Range(-3, 3).Draw(t, "turn"), c.axis).Rotate(up)
		other, err := c.solid.Cut(r3.Scale(1/r3.Norm(turned), turned))
		if err != nil {
			t.Fatal(err)
		}
		if x, y := other.Below(d); math.Abs(x-v) > 1e-12*all || math.Abs(y-s) > 1e-10*all/high {
			t.Errorf("turned about its axis: %.16g m³ and %.12g m², unturned %.16g and %.12g", x, y, v, s)
		}
	})
}

func TestRevolveRefused(t *testing.T) {
	one := func(_ tank.Solid, err error) error { return err }
	flat, ball := revolveFlat, revolveBall
	type refusal struct {
		err   error
		words string
	}
	list := []refusal{
		{one(tank.Cylinder(0.3, 0, true, flat, flat)), "length of the cylinder is 0"},
		{one(tank.Ring(0.2, 0.3, tank.AxisZ)), "300 mm wide, more than the whole ring, 200 mm"},
		{one(tank.Ring(0.6, 0.2, 'w')), `"w"; expected x, y or z`},
		{one(tank.Cone(0, 0, 1)), "both 0"},
	}
	for _, bad := range []float64{0, -0.3, math.NaN(), math.Inf(1), math.Inf(-1)} {
		list = append(list,
			refusal{one(tank.Cylinder(bad, 0.8, true, ball, ball)), "the diameter of the cylinder"},
			refusal{one(tank.Sphere(bad)), "the diameter of the sphere"},
			refusal{one(tank.Cone(0.1, 0.3, bad)), "the height of the cone"},
			refusal{one(tank.Ring(bad, 0.2, tank.AxisZ)), "the diameter of the ring "},
			refusal{one(tank.Ring(0.6, bad, tank.AxisZ)), "the diameter of the ring's tube"})
		if bad != 0 {
			list = append(list,
				refusal{one(tank.Cylinder(0.3, bad, true, ball, ball)), "the length of the cylinder"},
				refusal{one(tank.Cone(bad, 0.3, 1)), "the bottom diameter of the cone"},
				refusal{one(tank.Cone(0.3, bad, 1)), "the top diameter of the cone"})
		}
	}
	for _, r := range list {
		if r.err == nil || !strings.Contains(r.err.Error(), r.words) {
			t.Errorf("%v: doesn't say %q", r.err, r.words)
		}
	}
	for _, up := range []r3.Vec{{}, {Z: 2}, {Z: math.NaN()}} {
		if _, err := revolveMade(tank.Sphere(1)).Cut(up); err == nil || !strings.Contains(err.Error(), "unit vector") {
			t.Errorf("up %v: %v", up, err)
		}
	}
}
