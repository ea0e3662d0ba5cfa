package tank_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"gaugewright/internal/quantity"
	"gaugewright/internal/tank"
)

// made takes what a constructor gave, or ends the test.
func made(t testing.TB) func(s tank.Solid, err error) tank.Solid {
	return func(s tank.Solid, err error) tank.Solid {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
}

// everyShape is one solid of every kind, about a hundred litres each.
func everyShape(t testing.TB) map[string]tank.Solid {
	t.Helper()
	ok := made(t)
	outline, err := tank.NewOutline([]tank.Vertex{
		{A: 0, B: 0, Corner: 0.05}, {A: 0.6, B: 0}, {A: 0.6, B: 0.25}, {A: 0.1, B: 0.4, Through: &[2]float64{0.4, 0.42}}, {A: 0, B: 0.2},
	})
	if err != nil {
		t.Fatal(err)
	}
	arch := tank.Placed{Solid: ok(tank.Box(0.3, 0.2, 0.15)), At: r3.Vec{X: 0.1, Y: 0.15}}
	tube := tank.Placed{Solid: ok(tank.Cylinder(0.06, 0.3, false, tank.Head{Kind: tank.Flat}, tank.Head{Kind: tank.Flat})), At: r3.Vec{X: -0.25}}
	box := ok(tank.Box(0.8, 0.5, 0.3))
	kloepper, asme := tank.Kloepper(0.4), tank.ASMEFlangedDished(0.4)
	dome := tank.Placed{Solid: ok(tank.Cone(0.4, 0.1, 0.1)), At: r3.Vec{Z: 0.3}}
	heights := []float64{0, 0.05, 0.1, 0.2, 0.3}
	volumes := []float64{0, 0.01, 0.025, 0.06, 0.1}
	return map[string]tank.Solid{
		"box":               box,
		"sphere":            ok(tank.Sphere(0.6)),
		"lying, flat":       ok(tank.Cylinder(0.4, 0.8, true, tank.Head{Kind: tank.Flat}, tank.Head{Kind: tank.Flat})),
		"lying, dished":     ok(tank.Cylinder(0.4, 0.8, true, kloepper, asme)),
		"lying, ellipsoids": ok(tank.Cylinder(0.4, 0.8, true, tank.Head{Kind: tank.Ellipsoidal}, tank.Head{Kind: tank.Hemispherical})),
		"upright, dished":   ok(tank.Cylinder(0.4, 0.6, false, tank.Korbbogen(0.4), tank.Head{Kind: tank.Flat})),
		"cone":              ok(tank.Cone(0.2, 0.6, 0.5)),
		"pyramid":           ok(tank.Pyramid(0.6, 0.3, 0.9, 0.5, 0.4)),
		"ring":              ok(tank.Ring(0.65, 0.2, 'z')),
		"ring on edge":      ok(tank.Ring(0.65, 0.2, 'x')),
		"outline along":     ok(tank.Extrude(outline, 'x', 0.7)),
		"outline down":      ok(tank.Extrude(outline, 'z', 0.4)),
		"athwart":           tank.Placed{Solid: ok(tank.Cylinder(0.4, 0.8, true, kloepper, kloepper)), Turn: math.Pi / 2},
		"wheel arch, tube":  tank.Sum{Plus: []tank.Solid{box}, Minus: []tank.Solid{arch, tube}},
		"box and dome":      tank.Sum{Plus: []tank.Solid{box, dome}},
		"joined": tank.Sum{Plus: []tank.Solid{box,
			tank.Placed{Solid: ok(tank.Cylinder(0.3, 0.5, true, tank.Head{Kind: tank.Flat}, tank.Head{Kind: tank.Flat})), At: r3.Vec{X: 1, Z: 0.05}}}},
		"strapping":         ok(tank.Strapping(heights, volumes, tank.Straight, 0.8, 0.5)),
		"strapping, smooth": ok(tank.Strapping(heights, volumes, tank.Smooth, 0.8, 0.5)),
	}
}

func newTank(t testing.TB, s tank.Solid, at tank.Sensor) *tank.Tank {
	t.Helper()
	made, err := tank.New(s, at)
	if err != nil {
		t.Fatal(err)
	}
	return made
}

func levelsAt(t testing.TB, tk *tank.Tank, pitch, roll float64) *tank.Levels {
	t.Helper()
	l, err := tk.At(tank.Degrees(pitch, roll))
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func litres(v quantity.CubicMetre) float64 { return float64(v) * 1000 }
