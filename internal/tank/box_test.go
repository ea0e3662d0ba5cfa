package tank_test

import (
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"gaugewright/internal/tank"
)

func boxMade(t testing.TB, length, width, height float64) tank.Solid {
	t.Helper()
	b, err := tank.Box(length, width, height)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// The volume of a box below a plane is a sum over its corners of the plane's
// pyramids, by inclusion and exclusion: V = Σ ±(d − d_corner)₊³/(6·ux·uy·uz)
// (elementary geometry; it loses digits where a part of up is small).
func boxBelow(length, width, height float64, up r3.Vec, d float64) float64 {
	var v float64
	for corner := range 8 {
		p, sign := r3.Vec{X: -length / 2, Y: -width / 2}, 1.0
		if corner&1 != 0 {
			p.X, sign = length/2, -sign
		}
		if corner&2 != 0 {
			p.Y, sign = width/2, -sign
		}
		if corner&4 != 0 {
			p.Z, sign = height, -sign
		}
		if over := d - r3.Dot(up, p); over > 0 {
			v += sign * over * over * over
		}
	}
	return v / (6 * up.X * up.Y * up.Z)
}

func TestBoxByItsCorners(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		size := rapid.Float64Range(0.1, 1)
		l, w, h := size.Draw(t, "length"), size.Draw(t, "width"), size.Draw(t, "height")
		part := rapid.Float64Range(0.05, 1)
		up := r3.Unit(r3.Vec{X: part.Draw(t, "x"), Y: part.Draw(t, "y"), Z: part.Draw(t, "z")})
		b, err := tank.Box(l, w, h)
		if err != nil {
			t.Fatal(err)
		}
		c, err := b.Cut(up)
		if err != nil {
			t.Fatal(err)
		}
		low, high := c.Span()
		d := low + rapid.Float64Range(0, 1).Draw(t, "share")*(high-low)
		v, _ := c.Below(d)
		if expected := boxBelow(l, w, h, up, d); math.Abs(v-expected) > 1e-11*(1+l*w*h) {
			t.Fatalf("got %.15g, by its corners %.15g", v, expected)
		}
		mesh, err := tank.NewPolyhedron(b.Facets(0)).Cut(up)
		if err != nil {
			t.Fatal(err)
		}
		if m := r3.Sub(mesh.Moment(d), c.Moment(d)); r3.Norm(m) > 1e-12 {
			t.Fatalf("the moment differs from the mesh's by %v", m)
		}
	})
}

func TestBoxLaws(t *testing.T) {
	b := boxMade(t, 0.8, 0.5, 0.3)
	for _, up := range extrudeUps() {
		extrudeLaws(t, "box", b, up, 0.12)
	}
	low, high := b.Box()
	if low != (r3.Vec{X: -0.4, Y: -0.25}) || high != (r3.Vec{X: 0.4, Y: 0.25, Z: 0.3}) {
		t.Errorf("box %v to %v", low, high)
	}
	outlineNear(t, "facets", facetsVolume(t, "box", b.Facets(0)), 0.12, 1e-16)
	extrudeCount(t, "box", b, r3.Vec{X: 0.1, Y: 0.2, Z: 1})
}

// A slab stays where it stands, whichever way up is.
func TestBoxMomentOnItsSides(t *testing.T) {
	b := boxMade(t, 0.8, 0.5, 0.3)
	for _, c := range []struct{ up, centroid r3.Vec }{
		{r3.Vec{Z: 1}, r3.Vec{Z: 0.075}}, {r3.Vec{Z: -1}, r3.Vec{Z: 0.225}},
		{r3.Vec{X: 1}, r3.Vec{X: -0.2, Z: 0.15}}, {r3.Vec{X: -1}, r3.Vec{X: 0.2, Z: 0.15}},
		{r3.Vec{Y: 1}, r3.Vec{Y: -0.125, Z: 0.15}}, {r3.Vec{Y: -1}, r3.Vec{Y: 0.125, Z: 0.15}},
	} {
		cut := extrudeCutOf(t, b, c.up)
		low, high := cut.Span()
		d := (low + high) / 2
		v, _ := cut.Below(d)
		outlineNear(t, "half", v, 0.06, 1e-16)
		if off := r3.Norm(r3.Sub(r3.Scale(1/v, cut.Moment(d)), c.centroid)); off > 1e-15 {
			t.Errorf("up %v: centroid %v, expected %v", c.up, r3.Scale(1/v, cut.Moment(d)), c.centroid)
		}
	}
}

func TestBoxRefuses(t *testing.T) {
	for _, c := range []struct {
		l, w, h float64
		says    string
	}{
		{0, 1, 1, "the length of the box is 0 mm; expected more than 0 mm"},
		{1, -0.5, 1, "the width of the box is -500 mm"},
		{1, 1, math.NaN(), "the height of the box is"},
		{math.Inf(1), 1, 1, "the length of the box is"},
	} {
		if _, err := tank.Box(c.l, c.w, c.h); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("got %v, expected %s", err, c.says)
		}
	}
}

func BenchmarkBoxBelow(b *testing.B) {
	for _, c := range []struct {
		name string
		up   r3.Vec
	}{{"upright", r3.Vec{Z: 1}}, {"pitch", r3.Vec{X: 0.05, Z: 1}}, {"both", r3.Vec{X: 0.05, Y: 0.03, Z: 1}}} {
		b.Run(c.name, func(b *testing.B) { benchBelow(b, boxMade(b, 0.8, 0.5, 0.3), c.up) })
	}
}

func BenchmarkExtrudeBelow(b *testing.B) {
	rounded := outlineMade(b, outlineRounded(0.05, 0, 0, 0.6, 0, 0.6, 0.3, 0, 0.3)...)
	l := outlineMade(b, outlineShapes()["L"].vertices...)
	for _, c := range []struct {
		name  string
		solid tank.Solid
		up    r3.Vec
	}{
		{"prism", extrudeMade(b, l, 'z', 0.4), r3.Vec{Z: 1}},
		{"rounded_lying", extrudeMade(b, rounded, 'x', 0.8), r3.Vec{Z: 1}},
		{"rounded_lying_tilted", extrudeMade(b, rounded, 'x', 0.8), r3.Vec{X: 0.05, Y: 0.03, Z: 1}},
		{"rounded_lying_slightly", extrudeMade(b, rounded, 'x', 0.8), r3.Vec{X: 1e-6, Z: 1}},
	} {
		b.Run(c.name, func(b *testing.B) { benchBelow(b, c.solid, c.up) })
	}
}

// benchBelow asks for volumes all over the span, in an order that no branch
// predictor learns.
func benchBelow(b *testing.B, s tank.Solid, up r3.Vec) {
	b.Helper()
	c := extrudeCutOf(b, s, up)
	low, high := c.Span()
	const n = 1 << 12
	d := make([]float64, n)
	for k := range d {
		d[k] = low + (high-low)*halton(k+1, 2)
	}
	b.ReportAllocs()
	b.ResetTimer()
	var sum float64
	for i := range b.N {
		v, _ := c.Below(d[i%n])
		sum += v
	}
	if !(sum > 0) {
		b.Fatal("nothing below any plane")
	}
}
