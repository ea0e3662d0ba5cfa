package tank

import (
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// revolveDrawn draws a body of revolution.
func revolveDrawn(t *rapid.T) *revolveBody {
	// From 5 mm to 50 m.
	size := rapid.Custom(func(t *rapid.T) float64 {
		return math.Pow(10, rapid.Float64Range(-2.3, 1.7).Draw(t, "log"))
	})
	head := func(name string, d float64) Head {
		switch rapid.IntRange(0, 6).Draw(t, name) {
		case 0:
			return Head{Kind: Flat}
		case 1:
			return Head{Kind: Hemispherical}
		case 2:
			return Head{Kind: Ellipsoidal}
		case 3:
			return Kloepper(d * rapid.Float64Range(1, 1.1).Draw(t, "basis"))
		case 4:
			return Korbbogen(d * rapid.Float64Range(1, 1.1).Draw(t, "basis"))
		case 5:
			return ASMEFlangedDished(d)
		}
		return Head{Kind: Torispherical,
			Crown:   d * rapid.Float64Range(0.5, 3).Draw(t, "crown"),
			Knuckle: d * rapid.Float64Range(0, 0.5).Draw(t, "knuckle")}
	}
	var s Solid
	var err error
	switch rapid.IntRange(0, 6).Draw(t, "kind") {
	case 0:
		s, err = Sphere(size.Draw(t, "diameter"))
	case 1:
		s, err = Cone(size.Draw(t, "bottom"), size.Draw(t, "top"), size.Draw(t, "height"))
	case 2:
		s, err = Cone(0, size.Draw(t, "top"), size.Draw(t, "height"))
	case 3:
		d := size.Draw(t, "diameter")
		axis := rapid.SampledFrom([]Axis{AxisX, AxisY, AxisZ}).Draw(t, "axis")
		s, err = Ring(d, d*rapid.Float64Range(0.02, 1).Draw(t, "tube"), axis)
	default:
		d := size.Draw(t, "diameter")
		s, err = Cylinder(d, size.Draw(t, "length"), rapid.Bool().Draw(t, "lying"), head("first", d), head("last", d))
	}
	if err != nil {
		t.Fatal(err)
	}
	return s.(*revolveBody)
}

// revolveUp draws a direction, now and then one along or square to an axis.
func revolveUp(t *rapid.T) r3.Vec {
	c := rapid.Float64Range(-1, 1)
	switch rapid.IntRange(0, 4).Draw(t, "up") {
	case 0:
		return rapid.SampledFrom([]r3.Vec{{Z: 1}, {Z: -1}, {X: 1}, {X: -1}, {Y: 1}, {Y: -1}}).Draw(t, "axis")
	case 1:
		s, k := math.Sincos(math.Pi * c.Draw(t, "roll"))
		return r3.Vec{Y: s, Z: k}
	case 2:
		// Hardly off an axis.
		off := math.Pow(10, rapid.Float64Range(-14, -2).Draw(t, "off"))
		s, k := math.Sincos(off)
		return rapid.SampledFrom([]r3.Vec{{X: s, Z: k}, {X: k, Z: -s}, {Y: s, Z: -k}}).Draw(t, "nearly")
	}
	for {
		v := r3.Vec{X: c.Draw(t, "x"), Y: c.Draw(t, "y"), Z: c.Draw(t, "z")}
		if n := r3.Norm(v); n > 0.1 {
			return r3.Scale(1/n, v)
		}
	}
}

// The laws of a cut: nothing below the lowest point, all below the highest,
// never falling between; volume is the integral of the surface, and the moment
// upward that of surface times level.
func TestRevolveLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b, up := revolveDrawn(t), revolveUp(t)
		cut, err := b.Cut(up)
		if err != nil {
			t.Fatal(err)
		}
		low, high := cut.Span()
		all, _ := cut.Below(high)
		if v, s := cut.Below(low); v != 0 || s != 0 {
			t.Fatalf("below the lowest point: %g m³, %g m²", v, s)
		}
		if v, s := cut.Below(high + 1); v != all || s != 0 {
			t.Fatalf("far above: %g m³, %g m²; at the highest point %g m³", v, s, all)
		}
		if v, _ := cut.Below(math.Nextafter(high, low)); math.Abs(v-all) > 1e-12*all {
			t.Fatalf("just below the highest point %g m³, at it %g m³", v, all)
		}
		// The span is tight: a little within it there is something to find.
		step := 1e-3 * (high - low)
		if v, _ := cut.Below(low + step); !(v > 0) {
			t.Fatalf("a thousandth above the lowest point: %g m³", v)
		}
		if v, _ := cut.Below(high - step); !(v < all) {
			t.Fatalf("a thousandth below the highest point: %.17g m³ of %.17g", v, all)
		}
		last := 0.0
		for k := range 101 {
			d := low + (high-low)*float64(k)/100
			v, s := cut.Below(d)
			m := cut.Moment(d)
			if !(v >= last-1e-14*all) || !(s >= 0) || math.IsInf(s, 0) {
				t.Fatalf("at %g: %.17g m³ after %.17g, %g m²", d, v, last, s)
			}
			if math.IsNaN(m.X + m.Y + m.Z) {
				t.Fatalf("at %g: moment %v", d, m)
			}
			last = v
		}
		size := max(math.Abs(low), math.Abs(high))
		d1 := low + (high-low)*rapid.Float64Range(0, 1).Draw(t, "from")
		d2 := low + (high-low)*rapid.Float64Range(0, 1).Draw(t, "to")
		if d1 > d2 {
			d1, d2 = d2, d1
		}
		// Broken where the level passes an edge, as the surface has corners there.
		edges := []float64{d1, d2}
		m0, rest := b.along(up)
		for _, p := range b.pieces {
			for _, e := range []float64{p.from, p.to} {
				r := r3.Norm(rest) * p.radius(e)
				edges = append(edges, m0*e-r, m0*e+r)
			}
			if p.kind == revolveArc { // where the level touches its circle
				c, r := r3.Norm(rest)*p.offset, p.along
				edges = append(edges, m0*p.centre-c-r, m0*p.centre-c+r, m0*p.centre+c-r, m0*p.centre+c+r)
			}
		}
		slices.Sort(edges)
		for i, e := range edges {
			edges[i] = min(d2, max(d1, e))
		}
		var volume, lever float64
		for i := 1; i < len(edges); i++ {
			v, l := quadratureEnds(func(d float64) (float64, float64) {
				_, s := cut.Below(d)
				return s, d * s
			}, edges[i-1], edges[i], 1e-10*all, 1e-10*all*size)
			volume, lever = volume+v, lever+l
		}
		v1, _ := cut.Below(d1)
		v2, _ := cut.Below(d2)
		if math.Abs(v2-v1-volume) > 1e-9*all {
			t.Errorf("between %g and %g of (%g, %g): volume grows by %.12g m³ of %g, the integral of the surface is %.12g", d1, d2, low, high, v2-v1, all, volume)
		}
		m := r3.Dot(up, r3.Sub(cut.Moment(d2), cut.Moment(d1)))
		if math.Abs(m-lever) > 1e-9*all*size {
			t.Errorf("between %g and %g: moment upward grows by %.12g, the integral of surface times level is %.12g", d1, d2, m, lever)
		}
	})
}

// Every closed form of a whole body against the integral over stretches.
func TestRevolveClosedForms(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := revolveDrawn(t)
		across := rapid.SampledFrom([]r3.Vec{{X: 1}, {Y: 1}, {Z: 1}}).Draw(t, "across")
		if b.axis.unit() == across {
			across = r3.Vec{X: across.Y, Y: across.Z, Z: across.X}
		}
		cut, err := b.Cut(across)
		if err != nil {
			t.Fatal(err)
		}
		f := revolveFrame{m: 0, n: 1, along: b.axis.unit(), across: across, pieces: b.pieces}
		f.low, f.high = revolveSpan(f.pieces, 0, 1)
		widest := f.high
		revolveAgree(t, cut, newRevolveTiltedCut(f), 1e-12, true)

		// Along the axis, and hardly off it.
		const off = 1e-10
		cut, err = b.Cut(b.axis.unit())
		if err != nil {
			t.Fatal(err)
		}
		f.m, f.n = math.Sqrt(1-off*off), off
		f.low, f.high = revolveSpan(f.pieces, f.m, f.n)
		revolveAgree(t, cut, newRevolveTiltedCut(f), 1e-12+3*off*math.Pi*widest*widest*widest/revolveAll(cut), false)
	})
}

func revolveAll(c Cut) float64 {
	_, high := c.Span()
	all, _ := c.Below(high)
	return all
}

func revolveAgree(t *rapid.T, a, b Cut, within float64, surfaces bool) {
	low, high := a.Span()
	all := revolveAll(a)
	size := max(math.Abs(low), math.Abs(high))
	for range 5 {
		d := low + (high-low)*rapid.Float64Range(0, 1).Draw(t, "level")
		v, s := a.Below(d)
		w, u := b.Below(d)
		if math.Abs(v-w) > within*all {
			t.Errorf("%T at %g: %.17g m³, integrated %.17g, of %g", a, d, v, w, all)
		}
		if surfaces && math.Abs(s-u) > 1e-11*all/(high-low) {
			t.Errorf("%T at %g: %.17g m², integrated %.17g", a, d, s, u)
		}
		if m, k := a.Moment(d), b.Moment(d); !(r3.Norm(r3.Sub(m, k)) <= within*10*all*max(size, 1)) {
			t.Errorf("%T at %g: moment %v, integrated %v", a, d, m, k)
		}
	}
}

// The segment and its sum, by what they are: derivatives of one another, and
// exact where little is cut off.
func TestRevolveSegment(t *testing.T) {
	for _, r := range []float64{0.01, 1, 7} {
		for _, k := range []float64{-1, -1 + 1e-9, -0.999, -0.99801, -0.998, -0.9, -0.3, 0, 0.2, 0.7, 0.998, 1, 1.5, -2} {
			area, half := revolveSegment(r, k*r)
			part, halfToo := revolvePart(r, k*r)
			if math.Abs(area-part) > 1e-15*r*r*math.Pi*4 || math.Abs(half-halfToo) > 1e-15*r*4 {
				t.Errorf("radius %g at %g: %g and %g, the other way %g and %g", r, k, area, half, part, halfToo)
			}
			const step = 1e-4
			diff := (revolveSegmentSum(r, (k+step)*r) - revolveSegmentSum(r, (k-step)*r)) / (2 * step * r)
			if math.Abs(diff-area) > 1e-5*r*r {
				t.Errorf("radius %g at %g: segment %g, derivative of its sum %g", r, k, area, diff)
			}
		}
	}
	// Of a low segment of the unit circle, 4/3·√2·h^(3/2)·(1 − 3h/20 − …).
	h := 1e-10
	area, _ := revolveSegment(1, -1+h)
	h = 1 + (-1 + h) // as it came out
	if want := 4.0 / 3 * math.Sqrt2 * h * math.Sqrt(h) * (1 - 3.0/20*h); math.Abs(area/want-1) > 1e-14 {
		t.Errorf("a segment of the height %g: %.17g, by its series %.17g", h, area, want)
	}
}
