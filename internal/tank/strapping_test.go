package tank_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"gaugewright/internal/tank"
)

func strappingMade(t testing.TB, heights, volumes []float64, between tank.Between, length, width float64) tank.Solid {
	t.Helper()
	s, err := tank.Strapping(heights, volumes, between, length, width)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// A lying cylinder of 0.3 by 0.8 m as a table of 101 rows, from the closed
// formula to 12 digits.
func strappingCylinder(t testing.TB, between tank.Between) (s tank.Solid, full float64) {
	t.Helper()
	full = math.Pi * 0.15 * 0.15 * 0.8
	var heights, volumes []float64
	for _, row := range extrudeRows(t, "horizontal_cylinder_fraction.csv") {
		heights, volumes = append(heights, 0.3*row[0]), append(volumes, full*row[1])
	}
	return strappingMade(t, heights, volumes, between, 0.8, 0.3), full
}

// Between rows a straight line is off by no more than step²/8 of the largest
// curvature there (numerical analysis, from memory). The curvature of V is the
// slope of the surface, 2L·(R−h)/√(h(2R−h)), infinite at the ends, where the
// first row's chord is what holds.
func TestStrappingAgainstTheFormula(t *testing.T) {
	straight, full := strappingCylinder(t, tank.Straight)
	smooth, _ := strappingCylinder(t, tank.Smooth)
	cs, cm := extrudeCutOf(t, straight, r3.Vec{Z: 1}), extrudeCutOf(t, smooth, r3.Vec{Z: 1})
	exact := func(h float64) float64 {
		cos := 1 - h/0.15
		return full / math.Pi * (math.Acos(cos) - cos*math.Sqrt(1-cos*cos))
	}
	bend := func(h float64) float64 { return 2 * 0.8 * math.Abs(0.15-h) / math.Sqrt(h*(0.3-h)) }
	var worst float64
	for k := 1; k < 3000; k++ {
		h := 0.3 * float64(k) / 3000
		row := math.Floor(h / 0.003)
		from, to := 0.003*row, 0.003*(row+1)
		v, _ := cs.Below(h)
		bound := exact(to)
		if from > 0.001 && to < 0.299 {
			bound = 0.003 * 0.003 / 8 * max(bend(from), bend(to))
		}
		outlineNear(t, "straight", v, exact(h), bound+1e-12*full)
		w, _ := cm.Below(h)
		worst = max(worst, math.Abs(w-exact(h))/full)
	}
	t.Logf("smooth: within %.2g of the whole", worst)
	if worst > 3e-4 {
		t.Errorf("the smooth table is off by %.2g of the whole", worst)
	}
}

// Pitch is exact for a section that is the same along the length, so the table
// of a lying cylinder, pitched, is the cylinder pitched but for the error of the
// table itself.
func TestStrappingPitched(t *testing.T) {
	circle := extrudeMade(t, outlineMade(t, outlineCircle(0.15, 0, 0.15, 0)...), 'x', 0.8)
	smooth, full := strappingCylinder(t, tank.Smooth)
	for _, pitch := range []float64{1, 5, 20} {
		up := tank.Degrees(pitch, 0).Up()
		a, b := extrudeCutOf(t, circle, up), extrudeCutOf(t, smooth, up)
		low, high := a.Span()
		for k := range 101 {
			d := low + (high-low)*float64(k)/100
			v, _ := a.Below(d)
			w, _ := b.Below(d)
			outlineNear(t, "pitched", w, v, 1e-4*full)
			outlineNear(t, "its middle, forward", b.Moment(d).X, a.Moment(d).X, 1e-4*full)
			outlineNear(t, "its middle, upward", b.Moment(d).Z, a.Moment(d).Z, 1e-4*full)
		}
	}
}

// The table of a box is the box at every tilt, as all that is assumed holds.
func TestStrappingOfABox(t *testing.T) {
	box := boxMade(t, 0.8, 0.5, 0.3)
	for _, between := range []tank.Between{tank.Straight, tank.Smooth} {
		s := strappingMade(t, []float64{0.1, 0.15, 0.3}, []float64{0.04, 0.06, 0.12}, between, 0.8, 0.5)
		for _, up := range extrudeUps() {
			if up.Z < 0.2 {
				continue
			}
			a, b := extrudeCutOf(t, box, up), extrudeCutOf(t, s, up)
			low, high := a.Span()
			for k := range 101 {
				d := low + (high-low)*(float64(k)+0.5)/101
				v, sv := a.Below(d)
				w, sw := b.Below(d)
				outlineNear(t, "volume", w, v, 1e-12)
				outlineNear(t, "surface", sw, sv, 1e-8)
				if off := r3.Norm(r3.Sub(a.Moment(d), b.Moment(d))); off > 1e-12 {
					t.Errorf("up %v: moment off by %g", up, off)
				}
			}
		}
	}
}

// At every tilt: nothing at the low end, the capacity at the high end, never
// falling, and the same as a plain mean of the table over the plan.
func TestStrappingTilted(t *testing.T) {
	heights, volumes := strappingPoured()
	random := rand.New(rand.NewPCG(4, 3))
	for _, between := range []tank.Between{tank.Straight, tank.Smooth} {
		s := strappingMade(t, heights, volumes, between, 0.8, 0.5)
		table := extrudeCutOf(t, s, r3.Vec{Z: 1})
		capacity := volumes[len(volumes)-1]
		for range 8 {
			up := tank.Degrees(20*random.NormFloat64(), 10*random.NormFloat64()).Up()
			if up.Z < 0.3 {
				continue
			}
			c := extrudeCutOf(t, s, up)
			low, high := c.Span()
			last := 0.0
			for k := range 21 {
				d := low + (high-low)*float64(k)/20
				v, surface := c.Below(d)
				if v < last-1e-15 {
					t.Errorf("up %v: falls from %v to %v", up, last, v)
				}
				last = v
				const n = 90
				var mean, slope float64
				for i := range n {
					for j := range n {
						x, y := 0.8*((float64(i)+0.5)/n-0.5), 0.5*((float64(j)+0.5)/n-0.5)
						z := (d - up.X*x - up.Y*y) / up.Z
						a, b := table.Below(z)
						if z > 0.31 { // the table's last row
							a = capacity
						}
						mean, slope = mean+a/n/n, slope+b/n/n
					}
				}
				outlineNear(t, "mean", v, mean, 2e-4*capacity)
				outlineNear(t, "surface", surface, slope/up.Z, 2e-2)
			}
			v, _ := c.Below(low)
			w, _ := c.Below(math.Nextafter(high, 1))
			if v != 0 || w != capacity {
				t.Errorf("up %v: from %v to %v", up, v, w)
			}
		}
	}
}

// strappingPoured are a few steps of an invented tank.
func strappingPoured() (heights, volumes []float64) {
	return []float64{0, 0.02, 0.06, 0.09, 0.15, 0.2, 0.26, 0.31}, []float64{0, 0.003, 0.017, 0.03, 0.03, 0.055, 0.09, 0.1}
}

// Every row is kept, and between rows nothing leaves their range.
func TestStrappingKeepsItsRows(t *testing.T) {
	heights, volumes := strappingPoured()
	for _, between := range []tank.Between{tank.Straight, tank.Smooth} {
		c := extrudeCutOf(t, strappingMade(t, heights, volumes, between, 0, 0), r3.Vec{Z: 1})
		for i, h := range heights {
			v, _ := c.Below(h)
			outlineNear(t, "row", v, volumes[i], 1e-16)
			if i == 0 {
				continue
			}
			for k := range 101 {
				z := heights[i-1] + (h-heights[i-1])*float64(k)/100
				v, slope := c.Below(z)
				if v < volumes[i-1]-1e-16 || v > volumes[i]+1e-16 || slope < -1e-12 {
					t.Errorf("%s between rows %d and %d: %v, slope %v", between, i, i+1, v, slope)
				}
			}
		}
		// The moment by a plain sum over thin layers.
		const n = 100000
		var moment float64
		for k := range n {
			if k%7919 == 0 {
				outlineNear(t, "moment", c.Moment(0.31*float64(k)/n).Z, moment, 1e-9)
			}
			from, _ := c.Below(0.31 * float64(k) / n)
			to, _ := c.Below(0.31 * float64(k+1) / n)
			moment += 0.31 * (float64(k) + 0.5) / n * (to - from)
		}
		outlineNear(t, "moment", c.Moment(1).Z, moment, 1e-9)
	}
}

// A table that begins above the floor goes on to nothing in a straight line; one
// that begins with no volume begins there.
func TestStrappingBegins(t *testing.T) {
	c := extrudeCutOf(t, strappingMade(t, []float64{0.1, 0.2}, []float64{0.02, 0.05}, tank.Straight, 0, 0), r3.Vec{Z: 1})
	v, surface := c.Below(0.05)
	outlineNear(t, "below the first row", v, 0.01, 1e-17)
	outlineNear(t, "its surface", surface, 0.2, 1e-15)
	c = extrudeCutOf(t, strappingMade(t, []float64{0.01, 0.03, 0.2, 0.22}, []float64{0, 0, 0.05, 0.05}, tank.Straight, 0, 0), r3.Vec{Z: 1})
	low, high := c.Span()
	if low != 0.03 || high != 0.2 {
		t.Errorf("span %v to %v, expected 0.03 to 0.2", low, high)
	}
	tk, err := tank.New(strappingMade(t, []float64{0.01, 0.2}, []float64{0, 0.05}, tank.Straight, 0, 0), tank.Sensor{})
	if err != nil {
		t.Fatal(err)
	}
	if v := tk.Upright().Volume(0.105); math.Abs(float64(v)-0.025) > 1e-15 {
		t.Errorf("at 105 mm of a table from 10 to 200 mm: %v, expected 25 L", v)
	}
}

func TestStrappingRefuses(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		heights, volumes []float64
		between          tank.Between
		length, width    float64
		says             string
	}{
		{nil, nil, tank.Straight, 0, 0, "too few rows (0); expected 2 or more"},
		{[]float64{0}, []float64{0}, tank.Straight, 0, 0, "too few rows (1)"},
		{[]float64{0, 1}, []float64{0}, tank.Straight, 0, 0, "2 heights and 1 volumes; expected as many of each"},
		{[]float64{0, 0.1, 0.1}, []float64{0, 1, 2}, tank.Straight, 0, 0, "row 3 of the strapping table has a height of 100 mm after 100 mm in row 2; expected heights that rise"},
		{[]float64{0, 0.1, 0.05}, []float64{0, 1, 2}, tank.Smooth, 0, 0, "row 3 of the strapping table has a height of 50 mm after 100 mm in row 2"},
		{[]float64{0, 0.1, 0.2}, []float64{0, 0.02, 0.01}, tank.Straight, 0, 0, "row 3 of the strapping table has a volume of 10 L after 20 L in row 2; expected volumes that don't fall"},
		{[]float64{0, nan}, []float64{0, 1}, tank.Straight, 0, 0, "row 2 of the strapping table has a height of NaN mm"},
		{[]float64{0, 1}, []float64{0, math.Inf(1)}, tank.Straight, 0, 0, "row 2 of the strapping table has a volume of +Inf L"},
		{[]float64{-0.1, 1}, []float64{0, 1}, tank.Straight, 0, 0, "row 1 of the strapping table has a height of -100 mm"},
		{[]float64{0, 1}, []float64{-1, 1}, tank.Straight, 0, 0, "row 1 of the strapping table has a volume of -1000 L"},
		{[]float64{0, 1}, []float64{0.003, 1}, tank.Straight, 0, 0, "row 1 of the strapping table has 3 L at height 0 mm; expected 0 L there"},
		{[]float64{0, 1}, []float64{0, 0}, tank.Straight, 0, 0, "no volume in any row"},
		{[]float64{0, 1}, []float64{0, 1}, "cubic", 0, 0, `can't run "cubic" between its rows; expected "straight" or "smooth"`},
		{[]float64{0, 1}, []float64{0, 1}, tank.Straight, -1, 0, "the length given with the strapping table is -1000 mm"},
		{[]float64{0, 0.3}, []float64{0, 0.2}, tank.Straight, 0.8, 0.5, "holds 200 L, but a tank of 800 mm × 500 mm × 300 mm holds 120 L at most; is one of them in another unit?"},
	} {
		if _, err := tank.Strapping(c.heights, c.volumes, c.between, c.length, c.width); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("got %v\nexpected %s", err, c.says)
		}
	}
}

func TestStrappingWithoutAShape(t *testing.T) {
	heights, volumes := strappingPoured()
	tilted := tank.Degrees(3, 2).Up()
	for _, c := range []struct {
		length, width float64
		up            r3.Vec
		says          string
	}{
		{0, 0, tilted, "a strapping table has no shape, so its tilt can't be reckoned; give length_mm and width_mm of the inside"},
		{0.8, 0, tilted, "give width_mm of the inside"},
		{0, 0.5, tilted, "give length_mm of the inside"},
		{0.8, 0.5, r3.Vec{X: 1}, "can't be laid on its side"},
		{0.8, 0.5, r3.Vec{Z: -1}, "can't be laid on its side or turned over"},
	} {
		s := strappingMade(t, heights, volumes, tank.Straight, c.length, c.width)
		if _, err := s.Cut(c.up); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("got %v, expected %s", err, c.says)
		}
	}
	// Pitch alone asks for the length alone.
	extrudeCutOf(t, strappingMade(t, heights, volumes, tank.Straight, 0.8, 0), r3.Vec{X: 0.1, Z: 1})
	s := strappingMade(t, heights, volumes, tank.Straight, 0, 0)
	if s.Contains(r3.Vec{Z: 0.1}) || len(s.Facets(0.001).Triangles) != 0 {
		t.Error("a table without a shape contains a point or has facets")
	}
	low, high := s.Box()
	if low != (r3.Vec{}) || high != (r3.Vec{Z: 0.31}) {
		t.Errorf("box %v to %v", low, high)
	}
	extrudeCount(t, "strapping", strappingMade(t, []float64{0, 0.1, 0.3}, []float64{0, 0.03, 0.11}, tank.Straight, 0.8, 0.5), r3.Vec{Z: 1})
}

func TestStrappingDoesNotAllocate(t *testing.T) {
	s, _ := strappingCylinder(t, tank.Smooth)
	for _, up := range []r3.Vec{{Z: 1}, {X: 0.1, Z: 1}, {X: 0.1, Y: 0.1, Z: 1}, {X: 1e-9, Z: 1}} {
		c := extrudeCutOf(t, s, up)
		if n := testing.AllocsPerRun(100, func() { c.Below(0.1) }); n != 0 {
			t.Errorf("up %v: %v allocations", up, n)
		}
	}
}

func BenchmarkStrappingBelow(b *testing.B) {
	var heights, volumes []float64
	for k := range 200 {
		h := float64(k) / 199
		cos := 1 - 2*h
		heights, volumes = append(heights, 0.3*h), append(volumes, 0.0565/math.Pi*(math.Acos(cos)-cos*math.Sqrt(max(0, 1-cos*cos))))
	}
	s := strappingMade(b, heights, volumes, tank.Straight, 0.8, 0.3)
	for _, c := range []struct {
		name string
		up   r3.Vec
	}{{"upright", r3.Vec{Z: 1}}, {"pitch", r3.Vec{X: 0.05, Z: 1}}, {"both", r3.Vec{X: 0.05, Y: 0.03, Z: 1}}} {
		b.Run(c.name, func(b *testing.B) { benchBelow(b, s, c.up) })
	}
}
