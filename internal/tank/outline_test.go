package tank_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"pgregory.net/rapid"

	"gaugewright/internal/tank"
)

// outlineMade makes an outline or ends the test.
func outlineMade(t testing.TB, vertices ...tank.Vertex) tank.Outline {
	t.Helper()
	o, err := tank.NewOutline(vertices)
	if err != nil {
		t.Fatal(err)
	}
	return o
}

// outlineSharp are straight edges through pairs of coordinates.
func outlineSharp(ab ...float64) (v []tank.Vertex) {
	for i := 0; i < len(ab); i += 2 {
		v = append(v, tank.Vertex{A: ab[i], B: ab[i+1]})
	}
	return v
}

// outlineRounded rounds every corner with one radius.
func outlineRounded(radius float64, ab ...float64) []tank.Vertex {
	v := outlineSharp(ab...)
	for i := range v {
		v[i].Corner = radius
	}
	return v
}

// outlineCircle is a circle from two points of it, beginning at an angle.
func outlineCircle(radius, a, b, angle float64) []tank.Vertex {
	at := func(phi float64) [2]float64 {
		s, c := math.Sincos(phi)
		return [2]float64{a + radius*c, b + radius*s}
	}
	p, q := at(angle), at(angle+2)
	up, down := at(angle+1), at(angle+4)
	return []tank.Vertex{{A: p[0], B: p[1], Through: &down}, {A: q[0], B: q[1], Through: &up}}
}

func outlineNear(t testing.TB, what string, got, expected, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-expected) <= tolerance) {
		t.Errorf("%s: got %.15g, expected %.15g (off by %.3g)", what, got, expected, got-expected)
	}
}

// outlineShapes are outlines of known area: elementary geometry, from memory.
func outlineShapes() map[string]struct {
	vertices []tank.Vertex
	area     float64
} {
	const pi = math.Pi
	bow := [2]float64{0, 0.1} // over a chord of 0.4: radius 0.25, half angle asin 0.8
	notch := [2]float64{0.3, 0.2}
	return map[string]struct {
		vertices []tank.Vertex
		area     float64
	}{
		"rectangle":         {outlineSharp(0, 0, 0.6, 0, 0.6, 0.3, 0, 0.3), 0.18},
		"clockwise":         {outlineSharp(0, 0, 0, 0.3, 0.6, 0.3, 0.6, 0), 0.18},
		"far away":          {outlineSharp(40, 30, 40.6, 30, 40.6, 30.3, 40, 30.3), 0.18},
		"circle":            {outlineCircle(0.2, 0.1, 0.3, 0.4), pi * 0.04},
		"rounded rectangle": {outlineRounded(0.05, 0, 0, 0.6, 0, 0.6, 0.3, 0, 0.3), 0.18 - (4-pi)*0.05*0.05},
		"one corner":        {[]tank.Vertex{{A: 0, B: 0}, {A: 0.6, B: 0}, {A: 0.6, B: 0.3, Corner: 0.1}, {A: 0, B: 0.3}}, 0.18 - (1-pi/4)*0.01},
		"stadium":           {outlineRounded(0.15, 0, 0, 0.6, 0, 0.6, 0.3, 0, 0.3), 0.3*0.3 + pi*0.15*0.15},
		"circle of corners": {outlineRounded(0.15, 0, 0, 0.3, 0, 0.3, 0.3, 0, 0.3), pi * 0.15 * 0.15},
		"segment": {[]tank.Vertex{{A: 0.2, B: 0}, {A: -0.2, B: 0, Through: &bow}},
			0.25*0.25*math.Asin(0.8) - 0.2*0.15},
		// A half circle of radius 0.1 cut out of the top of a rectangle.
		"notch": {[]tank.Vertex{{A: 0, B: 0}, {A: 0.6, B: 0}, {A: 0.6, B: 0.3}, {A: 0.4, B: 0.3}, {A: 0.2, B: 0.3, Through: &notch}, {A: 0, B: 0.3}},
			0.18 - pi*0.01/2},
		"L":        {outlineSharp(0, 0, 0.6, 0, 0.6, 0.1, 0.2, 0.1, 0.2, 0.4, 0, 0.4), 0.06 + 0.06},
		"L hollow": {[]tank.Vertex{{A: 0, B: 0}, {A: 0.6, B: 0}, {A: 0.6, B: 0.1}, {A: 0.2, B: 0.1, Corner: 0.05}, {A: 0.2, B: 0.4}, {A: 0, B: 0.4}}, 0.12 + (1-pi/4)*0.0025},
	}
}

func TestOutlineArea(t *testing.T) {
	for name, s := range outlineShapes() {
		o, err := tank.NewOutline(s.vertices)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		outlineNear(t, name, o.Area(), s.area, 1e-15*40)
	}
	if a := (tank.Outline{}).Area(); a != 0 {
		t.Errorf("the empty outline has an area of %v", a)
	}
}

// A rounding between an arc and a line touches both: the inside circle of a
// quarter disc of radius R has the radius R·(√2 − 1) (elementary geometry).
func TestRoundingBesideAnArc(t *testing.T) {
	const big = 0.3
	through := [2]float64{big * math.Sqrt2 / 2, big * math.Sqrt2 / 2}
	r := big * (math.Sqrt2 - 1)
	corner := func(radius float64) []tank.Vertex {
		return []tank.Vertex{{A: 0, B: 0, Corner: radius}, {A: big, B: 0, Corner: radius}, {A: 0, B: big, Corner: radius, Through: &through}}
	}
	o := outlineMade(t, corner(r*(1-1e-7))...)
	outlineNear(t, "the inside circle", o.Area(), math.Pi*r*r, 1e-6*r)
	if _, err := tank.NewOutline(corner(r * 1.001)); err == nil {
		t.Error("a rounding larger than the inside circle was taken")
	}
}

// A circle's segment has two places where a small circle touches chord and arc,
// one in each corner: a rounding goes into its own.
func TestRoundingInASegment(t *testing.T) {
	bow := [2]float64{0, 0.1}
	segment := func(right, left float64) float64 {
		return outlineMade(t, []tank.Vertex{{A: 0.2, B: 0, Corner: right}, {A: -0.2, B: 0, Corner: left, Through: &bow}}...).Area()
	}
	none, right, left, both := segment(0, 0), segment(0.02, 0), segment(0, 0.02), segment(0.02, 0.02)
	outlineNear(t, "mirrored", right, left, 1e-15)
	outlineNear(t, "both", both, none-2*(none-left), 1e-15)
	if !(none-left > 1e-5 && none-left < 5e-4) {
		t.Errorf("a rounding of 20 mm takes %g m² away", none-left)
	}
}

func TestOutlineRefuses(t *testing.T) {
	through := [2]float64{0.1, 0}
	bow := [2]float64{0.3, -0.1}
	for _, c := range []struct {
		name     string
		vertices []tank.Vertex
		says     string
	}{
		{"none", nil, "the outline has 0 vertices; expected 3 or more"},
		{"two", outlineSharp(0, 0, 1, 0), "the outline has 2 vertices; expected 3 or more, or 2 joined by an arc"},
		{"doubled", outlineSharp(0, 0, 1, 0, 1, 0, 1, 1), "vertices 2 and 3 of the outline are both at (1000, 0 mm); leave one out"},
		{"closed twice", outlineSharp(0, 0, 1, 0, 1, 1, 0, 0), "vertices 4 and 1 of the outline are both at (0, 0 mm); leave the last out"},
		{"no number", outlineSharp(0, 0, 1, 0, math.NaN(), 1), "vertex 3 of the outline has a coordinate or radius of NaN"},
		{"infinite", outlineSharp(0, 0, math.Inf(1), 0, 1, 1), "vertex 2 of the outline has a coordinate or radius of +Inf"},
		{"negative radius", outlineRounded(-0.01, 0, 0, 1, 0, 1, 1), "vertex 1 (0, 0 mm) of the outline has a rounding radius of -10 mm"},
		{"one line", outlineSharp(0, 0, 1, 1, 2, 2, 0.5, 0.5), "encloses no area"},
		{"arc that is none", []tank.Vertex{{A: 0, B: 0}, {A: 1, B: 0, Through: &through}, {A: 1, B: 1}},
			"the arc from vertex 1 (0, 0 mm) to vertex 2 (1000, 0 mm) goes through (100, 0 mm), which lies on the straight line"},
		{"crossed", outlineSharp(0, 0, 0.1, 0.1, 0.1, 0, 0, 0.1),
			"the outline crosses itself at (50, 50 mm), where the edge from vertex 1 to vertex 2, (0, 0 mm) to (100, 100 mm), meets the edge from vertex 3 to vertex 4, (100, 0 mm) to (0, 100 mm)"},
		{"arc crosses", []tank.Vertex{{A: 0, B: 0}, {A: 0.6, B: 0}, {A: 0.6, B: 0.3}, {A: 0, B: 0.3, Through: &bow}}, "the outline crosses itself"},
		{"touching", outlineSharp(0, 0, 0.4, 0, 0.4, 0.3, 0.2, 0, 0, 0.3), "the outline touches itself at (200, 0 mm)"},
		{"a point twice", outlineSharp(0, 0, 0.1, 0.1, 0.2, 0, 0.2, 0.2, 0.1, 0.1, 0, 0.2), "itself at (100, 100 mm)"},
		{"spike", outlineSharp(0, 0, 0.4, 0, 0.4, 0.3, 0.4, 0.1, 0, 0.3), "the outline touches itself"},
		{"rounding too large", []tank.Vertex{{A: 0, B: 0}, {A: 0.06, B: 0, Corner: 0.08}, {A: 0.06, B: 0.1}, {A: 0, B: 0.1}},
			"vertex 2 (60, 0 mm) of the outline: a rounding radius of 80 mm doesn't fit on the edges beside it, 60 mm and 100 mm long; expected 60 mm or less"},
		{"two roundings", []tank.Vertex{{A: 0, B: 0, Corner: 0.04}, {A: 0.06, B: 0, Corner: 0.03}, {A: 0.06, B: 0.1}, {A: 0, B: 0.1}},
			"vertices 1 (0, 0 mm) and 2 (60, 0 mm) of the outline: their rounding radii of 40 mm and 30 mm don't fit on the edge between them, which is 60 mm long; together they need 70 mm"},
	} {
		_, err := tank.NewOutline(c.vertices)
		if err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: got %v\nexpected %s", c.name, err, c.says)
		}
	}
}

// The vertices given are left as they were.
func TestOutlineKeepsItsInput(t *testing.T) {
	v := outlineSharp(0, 0, 0, 0.3, 0.6, 0.3, 0.6, 0)
	outlineMade(t, v...)
	for i, w := range outlineSharp(0, 0, 0, 0.3, 0.6, 0.3, 0.6, 0) {
		if v[i] != w {
			t.Errorf("vertex %d became %v", i+1, v[i])
		}
	}
}

// On a coarse grid of whole numbers it can be told exactly which polygons cross
// or touch themselves; what is taken has the area of the shoelace formula.
func TestOutlineTakesWhatIsSimple(t *testing.T) {
	random := rand.New(rand.NewPCG(4, 1))
	var taken, refused int
	for range 20000 {
		n := 3 + random.IntN(5)
		x, y := make([]int, n), make([]int, n)
		v := make([]tank.Vertex, n)
		for i := range n {
			x[i], y[i] = random.IntN(6), random.IntN(6)
			v[i] = tank.Vertex{A: 0.1 * float64(x[i]), B: 0.1 * float64(y[i])}
		}
		o, err := tank.NewOutline(v)
		if simple := outlineSimple(x, y); simple != (err == nil) {
			t.Fatalf("%v %v: simple is %v, but got %v", x, y, simple, err)
		}
		if err != nil {
			refused++
			continue
		}
		taken++
		var twice int
		for i := range n {
			j := (i + 1) % n
			twice += x[i]*y[j] - x[j]*y[i]
		}
		outlineNear(t, "shoelace", o.Area(), math.Abs(float64(twice))*0.01/2, 1e-15)
	}
	t.Logf("%d taken, %d refused", taken, refused)
	if taken < 1000 || refused < 1000 {
		t.Errorf("%d taken and %d refused are too few to tell", taken, refused)
	}
}

// outlineSimple says in whole numbers whether a polygon has different vertices,
// meets itself only where edges join, and has area.
func outlineSimple(x, y []int) bool {
	n := len(x)
	side := func(i, j, k int) int {
		c := (x[j]-x[i])*(y[k]-y[i]) - (x[k]-x[i])*(y[j]-y[i])
		return min(1, max(-1, c))
	}
	on := func(i, j, k int) bool { // k on the edge from i to j
		return side(i, j, k) == 0 && min(x[i], x[j]) <= x[k] && x[k] <= max(x[i], x[j]) && min(y[i], y[j]) <= y[k] && y[k] <= max(y[i], y[j])
	}
	for i := range n {
		j := (i + 1) % n
		if x[i] == x[j] && y[i] == y[j] {
			return false
		}
		for k := range n {
			if k != i && k != j && on(i, j, k) {
				return false
			}
			l := (k + 1) % n
			if k == i || k == j || l == i {
				continue
			}
			if side(i, j, k)*side(i, j, l) < 0 && side(k, l, i)*side(k, l, j) < 0 {
				return false
			}
		}
	}
	return true
}

// Steiner's formula for parallel curves (J. Steiner, 1840; from memory), with
// tan(φ/2) instead of φ/2 for each mitred corner.
func TestInsetBySteiner(t *testing.T) {
	const pi = math.Pi
	for _, c := range []struct {
		name            string
		vertices        []tank.Vertex
		perimeter, t2   float64
		most            float64 // until an edge is swallowed
		swallowed, left float64 // a wall beyond that, and the area left
	}{
		{"rectangle", outlineSharp(0, 0, 0.6, 0, 0.6, 0.3, 0, 0.3), 1.8, 4, 0.149, 0.14, 0.32 * 0.02},
		{"triangle", outlineSharp(0, 0, 0.4, 0, 0, 0.3), 1.2, 1.2 * 1.2 / 4 / 0.06, 0.099, 0.05, 0.06 * 0.25}, // inside radius 0.1
		{"circle", outlineCircle(0.2, 0, 0, 1), 0.4 * pi, pi, 0.199, 0.1, pi * 0.01},
		{"stadium", outlineRounded(0.15, 0, 0, 0.6, 0, 0.6, 0.3, 0, 0.3), 0.6 + 0.3*pi, pi, 0.149, 0.1, 0.03 + pi*0.0025},
		// Thicker than the rounding: a sharp rectangle is left.
		{"rounded", outlineRounded(0.05, 0, 0, 0.6, 0, 0.6, 0.3, 0, 0.3), 1.8 - 0.4 + 0.1*pi, pi, 0.049, 0.08, 0.44 * 0.14},
		// A corner cut off by 0.1·√2: from a wall of 0.1/(2 − √2) the plain
		// rectangle is left.
		{"cut corner", outlineSharp(0, 0, 0.5, 0, 0.6, 0.1, 0.6, 0.4, 0, 0.4), 0.5 + 0.1*math.Sqrt2 + 0.3 + 0.6 + 0.4, 3 + 2*math.Tan(pi/8), 0.1, 0.18, 0.24 * 0.04},
	} {
		o := outlineMade(t, c.vertices...)
		for _, share := range []float64{0.01, 0.3, 0.7, 1} {
			wall := share * c.most
			in, err := o.Inset(wall)
			if err != nil {
				t.Errorf("%s, wall %g: %v", c.name, wall, err)
				continue
			}
			outlineNear(t, c.name, in.Area(), o.Area()-c.perimeter*wall+c.t2*wall*wall, 1e-14)
		}
		in, err := o.Inset(c.swallowed)
		if err != nil {
			t.Errorf("%s, wall %g: %v", c.name, c.swallowed, err)
			continue
		}
		outlineNear(t, c.name+", swallowed", in.Area(), c.left, 1e-13)
	}
}

// A hollow corner and a hollow arc: the L loses its rim; a notch grows.
func TestInsetOfHollowOutlines(t *testing.T) {
	shapes := outlineShapes()
	l := outlineMade(t, shapes["L"].vertices...)
	in, err := l.Inset(0.02)
	if err != nil {
		t.Fatal(err)
	}
	// Arms of 0.06 by 0.56, and 0.16 by 0.30 above it.
	outlineNear(t, "L", in.Area(), 0.06*0.56+0.16*0.30, 1e-15)
	n := outlineMade(t, shapes["notch"].vertices...)
	const wall = 0.01
	if in, err = n.Inset(wall); err != nil {
		t.Fatal(err)
	}
	// The rectangle of 0.58 by 0.28 less what a disc of 0.11 cuts below its top,
	// 0.01 under the disc's middle.
	r := 0.1 + wall
	segment := r*r*math.Acos(wall/r) - wall*math.Sqrt(r*r-wall*wall)
	outlineNear(t, "notch", in.Area(), 0.58*0.28-segment, 1e-15)
}

// A drawing program may give a straight edge as an arc that bows by a fraction of
// a micrometre: a circle of 40 to 400 km beside a rounding of millimetres. The wall
// comes off all the same, and leaves what it leaves of the straight one but for the
// bow. So it does where the wall is as thick as a rounding's radius but for the last
// digit, and what would be left of that is shorter than two places count as apart.
func TestInsetBesideNearlyNothing(t *testing.T) {
	flat := func(corner float64, through *[2]float64) tank.Outline {
		return outlineMade(t, tank.Vertex{A: 0.58, Corner: corner, Through: through}, tank.Vertex{A: 0.58, B: 0.28}, tank.Vertex{B: 0.28}, tank.Vertex{Corner: corner})
	}
	for _, bow := range []float64{1e-4, 1e-6, 1e-7} {
		for _, corner := range []float64{0.002, 0.005, 0.02} {
			for _, wall := range []float64{0.004, math.Nextafter(0.002, 0), 0.0015, 1e-4, 1e-5, 1e-8} {
				straight, err1 := flat(corner, nil).Inset(wall)
				bowed, err2 := flat(corner, &[2]float64{0.29, -bow}).Inset(wall)
				if err1 != nil || err2 != nil {
					t.Errorf("bow %g, rounding %g, wall %g: %v; %v", bow, corner, wall, err1, err2)
				} else if more := bowed.Area() - straight.Area(); more < 0.5*bow*0.57-1e-12 || more > 0.7*bow*0.58+1e-12 {
					t.Errorf("bow %g, rounding %g, wall %g: %g m² more; two thirds of the bow by the edge are %g", bow, corner, wall, more, bow*0.58*2/3)
				}
			}
		}
	}
}

func TestInsetRefuses(t *testing.T) {
	rectangle := outlineMade(t, outlineSharp(0, 0, 0.1, 0, 0.1, 0.04, 0, 0.04)...)
	circle := outlineMade(t, outlineCircle(0.05, 0, 0, 0)...)
	// Two rooms joined by a passage 0.04 wide.
	rooms := outlineMade(t, outlineSharp(0, 0, 0.2, 0, 0.2, 0.08, 0.3, 0.08, 0.3, 0, 0.5, 0, 0.5, 0.2, 0.3, 0.2, 0.3, 0.12, 0.2, 0.12, 0.2, 0.2, 0, 0.2)...)
	// Two arcs and a line, about a sliver: each edge moved by this wall passes the
	// others, and what they then enclose is a copy turned inside out.
	sliver := [3]r2.Vec{}
	for i, p := range [3][2]float64{{0.15, 0.8}, {0.4, 1.25}, {0.15, 2.25}} {
		s, c := math.Sincos(2 * math.Pi * p[1] / 3)
		sliver[i] = r2.Vec{X: p[0] * c, Y: p[0] * s}
	}
	bow := func(a, b r2.Vec, by float64) *[2]float64 {
		return &[2]float64{(a.X+b.X)/2 + by*(b.Y-a.Y), (a.Y+b.Y)/2 - by*(b.X-a.X)}
	}
	inverted := outlineMade(t, []tank.Vertex{
		{A: sliver[0].X, B: sliver[0].Y, Through: bow(sliver[2], sliver[0], -0.5)},
		{A: sliver[1].X, B: sliver[1].Y},
		{A: sliver[2].X, B: sliver[2].Y, Through: bow(sliver[1], sliver[2], 0.3125)},
	}...)
	for _, c := range []struct {
		o    tank.Outline
		wall float64
		says string
	}{
		{inverted, 0.13, "a wall of 130 mm can't be taken off the outline: the walls meet near"},
		{inverted, 0.15, "a wall of 150 mm leaves no inside"},
		{rectangle, -0.003, "the wall is -3 mm thick; expected 0 mm or more"},
		{rectangle, math.NaN(), "expected 0 mm or more"},
		{rectangle, 0.02, "a wall of 20 mm leaves no inside"},
		{rectangle, 0.03, "a wall of 30 mm leaves no inside"},
		{rectangle, 1, "a wall of 1000 mm leaves no inside"},
		{circle, 0.05, "leaves no inside"},
		{circle, 0.06, "leaves no inside"},
		{rooms, 0.03, "a wall of 30 mm"},
	} {
		if in, err := c.o.Inset(c.wall); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("wall %g: got area %g, %v; expected %s", c.wall, in.Area(), err, c.says)
		}
	}
	if same, err := rectangle.Inset(0); err != nil || same.Area() != rectangle.Area() {
		t.Errorf("no wall: %v, %v", same.Area(), err)
	}
}

// Two walls taken off one after the other are one of both.
func TestInsetTwice(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		o, err := tank.NewOutline(outlineConvex(t))
		if err != nil {
			t.Skip(err.Error())
		}
		size := math.Sqrt(o.Area())
		first, second := rapid.Float64Range(0, 0.15).Draw(t, "first")*size, rapid.Float64Range(0, 0.15).Draw(t, "second")*size
		once, err := o.Inset(first + second)
		if err != nil {
			t.Skip(err.Error())
		}
		a, err := o.Inset(first)
		if err != nil {
			t.Fatal(err)
		}
		b, err := a.Inset(second)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(b.Area()-once.Area()) > 1e-9*o.Area() {
			t.Fatalf("once %v, twice %v", once.Area(), b.Area())
		}
	})
}

// outlineConvex draws corners on an ellipse, some of them rounded, some edges
// bowed out to the ellipse's own circle where it is one.
func outlineConvex(t *rapid.T) []tank.Vertex {
	n := rapid.IntRange(3, 9).Draw(t, "corners")
	wide := rapid.Float64Range(0.5, 1).Draw(t, "wide")
	radius := rapid.Float64Range(0, 0.05).Draw(t, "rounding")
	v := make([]tank.Vertex, n)
	for i := range v {
		phi := 2 * math.Pi * (float64(i) + rapid.Float64Range(0, 0.6).Draw(t, "place")) / float64(n)
		s, c := math.Sincos(phi)
		v[i] = tank.Vertex{A: 0.3 * wide * c, B: 0.3 * s}
		if rapid.Bool().Draw(t, "rounded") {
			v[i].Corner = radius
		}
	}
	if rapid.Bool().Draw(t, "bowed") {
		a, b := v[n-1], v[0]
		v[0].Through = &[2]float64{1.1 * (a.A + b.A) / 2, 1.1 * (a.B + b.B) / 2}
		if math.Hypot(a.A+b.A, a.B+b.B) < 0.02 {
			v[0].Through = nil
		}
	}
	return v
}
