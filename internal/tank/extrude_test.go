package tank_test

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"gaugewright/internal/tank"
)

func extrudeMade(t testing.TB, o tank.Outline, axis tank.Axis, length float64) tank.Solid {
	t.Helper()
	s, err := tank.Extrude(o, axis, length)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func extrudeCutOf(t testing.TB, s tank.Solid, up r3.Vec) tank.Cut {
	t.Helper()
	c, err := s.Cut(r3.Unit(up))
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// extrudeRows reads numbers from a file of reference values.
func extrudeRows(t testing.TB, file string) (rows [][]float64) {
	t.Helper()
	f, err := os.Open("testdata/" + file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	lines, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range lines[1:] {
		row := make([]float64, len(line))
		for i, cell := range line {
			if row[i], err = strconv.ParseFloat(cell, 64); err != nil {
				t.Fatal(err)
			}
		}
		rows = append(rows, row)
	}
	return rows
}

// Fractions of a lying cylinder from the closed formula, to 12 digits; the
// rounding of the file is half a digit of the twelfth.
func TestExtrudedCircleIsACylinder(t *testing.T) {
	const radius, length = 0.15, 0.8
	full := math.Pi * radius * radius * length
	for _, angle := range []float64{0, 0.3, 1.5707963267948966, 2.5, 4} {
		s := extrudeMade(t, outlineMade(t, outlineCircle(radius, 0.02, radius, angle)...), 'x', length)
		c := extrudeCutOf(t, s, r3.Vec{Z: 1})
		for _, row := range extrudeRows(t, "horizontal_cylinder_fraction.csv") {
			v, _ := c.Below(2 * radius * row[0])
			outlineNear(t, "file", v/full, row[1], 1e-12)
		}
		for k := range 1001 {
			h := 2 * radius * float64(k) / 1000
			cos := (radius - h) / radius
			expected := length * radius * radius * (math.Acos(cos) - cos*math.Sqrt(1-cos*cos))
			v, surface := c.Below(h)
			outlineNear(t, "closed formula", v/full, expected/full, 1e-12)
			if k > 0 && k < 1000 {
				outlineNear(t, "surface", surface, 2*length*math.Sqrt(h*(2*radius-h)), 1e-12)
			}
		}
	}
}

// Tilted cylinders, from independent integration to 10 digits of a litre; the
// depth there is square to the axis and the place counts from the low end.
func TestExtrudedCircleTilted(t *testing.T) {
	s := extrudeMade(t, outlineMade(t, outlineCircle(0.15, 0, 0.15, 0)...), 'x', 0.8)
	for _, row := range extrudeRows(t, "tilted_cylinder.csv") {
		up := tank.Degrees(row[0], 0).Up() // nose up: the low end is at −0.4
		at := r3.Vec{X: row[1]/1000 - 0.4, Z: row[2] / 1000}
		v, _ := extrudeCutOf(t, s, up).Below(r3.Dot(up, at))
		outlineNear(t, "litres", v*1000, row[3], 0.6e-8)
	}
}

// Very thin layers at the bottom and at the top keep their digits: a layer of
// height h in a lying cylinder is 4/3·√(2R)·h^1.5·(1 − 3h/(20R) …)·L.
func TestThinLayers(t *testing.T) {
	const radius, length = 0.15, 0.8
	c := extrudeCutOf(t, extrudeMade(t, outlineMade(t, outlineCircle(radius, 0, radius, 1)...), 'x', length), r3.Vec{Z: 1})
	for _, h := range []float64{1e-3, 1e-4, 1e-5, 1e-6, 1e-7} {
		expected := 4.0 / 3 * math.Sqrt(2*radius) * h * math.Sqrt(h) * length * (1 - 3*h/(20*radius) - 3*h*h/(224*radius*radius))
		v, _ := c.Below(h)
		outlineNear(t, "bottom", v, expected, 1e-16+1e-8*expected*math.Min(1, h/1e-4*h/1e-4))
		w, _ := c.Below(2*radius - h)
		outlineNear(t, "top", math.Pi*radius*radius*length-w, expected, 2e-16+1e-8*expected)
	}
}

// Random convex outlines in random directions against the same outline as a
// closed mesh, which is cut by another method.
func TestExtrudeAgainstItsMesh(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := outlineConvex(t)
		for i := range v {
			v[i].Corner, v[i].Through = 0, nil
		}
		o, err := tank.NewOutline(v)
		if err != nil {
			t.Skip(err.Error())
		}
		axis := rapid.SampledFrom([]tank.Axis{'x', 'y', 'z'}).Draw(t, "axis")
		s, err := tank.Extrude(o, axis, 0.7)
		if err != nil {
			t.Fatal(err)
		}
		part := rapid.Float64Range(-1, 1)
		up := r3.Vec{X: part.Draw(t, "x"), Y: part.Draw(t, "y"), Z: part.Draw(t, "z")}
		if r3.Norm(up) < 0.1 {
			t.Skip()
		}
		up = r3.Unit(up)
		c, err := s.Cut(up)
		if err != nil {
			t.Fatal(err)
		}
		mesh, err := tank.NewPolyhedron(s.Facets(0.001)).Cut(up)
		if err != nil {
			t.Fatal(err)
		}
		low, high := c.Span()
		capacity := 0.7 * o.Area()
		for _, share := range []float64{0.03, 0.2, 0.5, 0.8, 0.97} {
			d := low + share*(high-low)
			a, _ := c.Below(d)
			b, _ := mesh.Below(d)
			if math.Abs(a-b) > 1e-11*capacity {
				t.Fatalf("at %g of the height: %v, by the mesh %v", share, a, b)
			}
			if m := r3.Sub(c.Moment(d), mesh.Moment(d)); r3.Norm(m) > 1e-10*capacity {
				t.Fatalf("at %g of the height the moments differ by %v", share, m)
			}
		}
	})
}

// Cavalieri: while the surface touches neither floor nor roof, the volume of a
// prism is its plan's area times the height at the plan's centroid.
func TestPrismByCavalieri(t *testing.T) {
	// The L's centroid, by moments of its two rectangles.
	const area = 0.6*0.1 + 0.2*0.3
	x, y := (0.06*0.3+0.06*0.1)/area, (0.06*0.05+0.06*0.25)/area
	s := extrudeMade(t, outlineMade(t, outlineShapes()["L"].vertices...), 'z', 0.4)
	for _, angle := range []float64{0, 1, 5, 10} {
		up := tank.Degrees(angle, -angle/2).Up()
		v, surface := extrudeCutOf(t, s, up).Below(r3.Dot(up, r3.Vec{X: x, Y: y, Z: 0.21}))
		outlineNear(t, "volume", v, area*0.21, 1e-15)
		outlineNear(t, "surface", surface, area/up.Z, 1e-13)
	}
}

// A probe off the plan's centroid by 250 mm errs by 250·tan(tilt); figures in
// millimetres to five decimals.
func TestPrismAtItsSensor(t *testing.T) {
	box, err := tank.Box(0.8, 0.5, 0.4)
	if err != nil {
		t.Fatal(err)
	}
	rounded := extrudeMade(t, outlineMade(t, outlineRounded(0.1, -0.4, -0.25, 0.4, -0.25, 0.4, 0.25, -0.4, 0.25)...), 'z', 0.4)
	for _, s := range []tank.Solid{box, rounded} {
		tk, err := tank.New(s, tank.Sensor{X: 0.25})
		if err != nil {
			t.Fatal(err)
		}
		half := tk.Capacity() / 2
		for angle, off := range map[float64]float64{1: 4.36377, 2: 8.73019, 3: 13.10194, 5: 21.87217} {
			l, err := tk.At(tank.Degrees(angle, 0))
			if err != nil {
				t.Fatal(err)
			}
			h, err := l.HeightOf(half)
			if err != nil {
				t.Fatal(err)
			}
			outlineNear(t, "sensor", 200-float64(h)*1000, off, 0.5e-5)
		}
	}
}

// Slight tilts, where one way of reckoning takes over from another: against a
// plain sum of the level cut's areas over many short steps along the axis.
func TestSlightTilts(t *testing.T) {
	const length, steps = 0.8, 1500
	for _, name := range []string{"rounded rectangle", "circle", "notch", "L"} {
		shape := outlineShapes()[name]
		s := extrudeMade(t, outlineMade(t, shape.vertices...), 'x', length)
		level := extrudeCutOf(t, s, r3.Vec{Z: 1})
		low, high := level.Span()
		capacity := length * shape.area
		for _, tilt := range []float64{1e-13, 1e-9, 0.3e-6, 0.37e-6, 0.5e-6, 0.3e-4, 0.37e-4, 0.5e-4} {
			up := r3.Unit(r3.Vec{X: tilt, Z: 1})
			c := extrudeCutOf(t, s, up)
			for k := range 31 {
				d := low + (high-low)*float64(k)/30
				var volume, surface float64
				for i := range steps {
					at := length * ((float64(i)+0.5)/steps - 0.5)
					v, a := level.Below((d - up.X*at) / up.Z)
					volume, surface = volume+v/steps, surface+a/steps
				}
				v, a := c.Below(d)
				if math.Abs(v-volume) > 3e-12*capacity {
					t.Errorf("%s, tilt %g, d %g: %.15g, by many steps %.15g (%.2g of the whole)", name, tilt, d, v, volume, (v-volume)/capacity)
				}
				// At a level roof or floor the surface jumps, and steps tell it
				// to one of them.
				if math.Abs(a-surface/up.Z) > 2e-3*capacity/(high-low) {
					t.Errorf("%s, tilt %g, d %g: surface %v, by many steps %v", name, tilt, d, a, surface)
				}
			}
		}
	}
}

func TestExtrudeRefuses(t *testing.T) {
	o := outlineMade(t, outlineSharp(0, 0, 1, 0, 1, 1)...)
	for _, c := range []struct {
		o      tank.Outline
		axis   tank.Axis
		length float64
		says   string
	}{
		{tank.Outline{}, 'x', 1, "the outline to extrude is empty"},
		{o, 'w', 1, "can't be extruded along 'w'; expected x, y or z"},
		{o, 'x', 0, "extruded over 0 mm; expected more than 0 mm"},
		{o, 'x', -1, "extruded over -1000 mm"},
		{o, 'x', math.NaN(), "extruded over"},
		{o, 'x', math.Inf(1), "extruded over"},
	} {
		if _, err := tank.Extrude(c.o, c.axis, c.length); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("got %v, expected %s", err, c.says)
		}
	}
}

// Arcs' outermost points count for the box and for the span.
func TestExtrudeBoxIsTight(t *testing.T) {
	s := extrudeMade(t, outlineMade(t, outlineCircle(0.2, 0.5, 0.3, 1)...), 'y', 0.6)
	low, high := s.Box()
	for _, c := range [][2]float64{{low.X, 0.3}, {high.X, 0.7}, {low.Y, -0.3}, {high.Y, 0.3}, {low.Z, 0.1}, {high.Z, 0.5}} {
		outlineNear(t, "box", c[0], c[1], 1e-15)
	}
	up := r3.Unit(r3.Vec{X: 3, Y: 0, Z: 4})
	a, b := extrudeCutOf(t, s, up).Span()
	outlineNear(t, "span", a, 0.6*0.5+0.8*0.3-0.2, 1e-15)
	outlineNear(t, "span", b, 0.6*0.5+0.8*0.3+0.2, 1e-15)
}

func TestExtrudeDoesNotAllocate(t *testing.T) {
	s := extrudeMade(t, outlineMade(t, outlineRounded(0.05, 0, 0, 0.6, 0, 0.6, 0.3, 0, 0.3)...), 'x', 0.8)
	for _, up := range []r3.Vec{{Z: 1}, {X: 1}, {X: 0.1, Y: 0.1, Z: 1}, {X: 1e-7, Z: 1}, {X: 1e-5, Z: 1}} {
		c := extrudeCutOf(t, s, up)
		if n := testing.AllocsPerRun(100, func() { c.Below(0.1) }); n != 0 {
			t.Errorf("up %v: %v allocations", up, n)
		}
	}
}
