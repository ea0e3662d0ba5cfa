package curve

import (
	"math"
	"testing"
)

// straight gives an outline of a straight sender with marks at the shares given.
func straight(scatter, stray float64, shares ...float64) *outline {
	o := &outline{unit: Dial, full: 1, span: 90, scatter: scatter, stray: stray}
	for _, s := range shares {
		o.knots = append(o.knots, knot{s: s, y: s, stays: 0.001, n: 1})
	}
	o.gaps = make([]gap, len(o.knots)+1)
	o.refresh(0, len(o.gaps))
	return o
}

// JCGM 100:2008, 4.2.3: the variance of the mean of n readings is s²/n.
func TestRepeatsLowerTheVarianceByTheirNumber(t *testing.T) {
	o := straight(0.02, 0, 0, 0.5, 1)
	for n := 1; n <= 20; n++ {
		if got, want := o.variance(1, 0.5), 0.001*0.001+0.02*0.02/float64(n); math.Abs(got-want) > 1e-15 {
			t.Fatalf("%d readings: variance %v, want %v", n, got, want)
		}
		o.take(0.5, true)
	}
}

// A Brownian bridge (closed form): D·h·t(1−t) between two marks; never more
// than a rise that is smaller still, as 1/√12 of it.
func TestDoubtBetweenMarks(t *testing.T) {
	o := straight(0, 0.0025, 0, 0.4, 1)
	for _, c := range []struct {
		gap     int
		s, want float64
	}{{1, 0.2, 0.0025 * 0.4 / 4}, {2, 0.7, 0.0025 * 0.6 / 4}, {2, 0.55, 0.0025 * 0.6 * 0.25 * 0.75}, {1, 0.4, 0}} {
		if got := o.variance(c.gap, c.s) - 1e-6; math.Abs(got-c.want) > 1e-12 {
			t.Errorf("at %v: %v, want %v", c.s, got, c.want)
		}
	}
	flat := straight(0, 0.0025, 0, 0.4, 1)
	flat.knots[1].y = 0.001
	if got, want := flat.variance(1, 0.2)-1e-6, 0.001*0.001/12; math.Abs(got-want) > 1e-15 {
		t.Errorf("in a flat gap %v, want %v", got, want)
	}
	// Beyond the last mark: 0.2 away, a slope of 0 to 2.
	short := straight(0, 0, 0, 0.8)
	if got, want := math.Sqrt(short.variance(2, 1)-1e-6), 0.2/math.Sqrt(3); math.Abs(got-want) > 1e-12 {
		t.Errorf("beyond the end %v, want %v", got, want)
	}
}

// A knee, flat to 0.4 and with a slope of 2 from 0.6 on: a convex curve lies
// above both neighbours carried on, and these meet at the triangle's tip.
func TestKnee(t *testing.T) {
	o := straight(0, 0, 0, 0.4, 0.6, 1)
	for i, y := range []float64{0, 0, 0.2, 1} {
		o.knots[i].y = y
	}
	// Slopes 0, 1, 2: the neighbours carried on meet half-way, 0.1 below.
	if reach, side := o.triangle(2, 0.5); math.Abs(reach-0.1) > 1e-12 || side != -1 {
		t.Errorf("half-way %v to the side %v, want 0.1 below", reach, side)
	}
	if reach, _ := o.triangle(2, 0.25); math.Abs(reach-0.05) > 1e-12 {
		t.Errorf("a quarter of the way %v, want 0.05", reach)
	}
	// √(1/12) of the rise of 0.2 is less than 0.1/√3, and equal here: 0.0577.
	if got := math.Sqrt(o.variance(2, 0.5) - 1e-6); math.Abs(got-0.2/math.Sqrt(12)) > 1e-12 {
		t.Errorf("doubt %v, want %v", got, 0.2/math.Sqrt(12))
	}
	// The other way about it bulges upwards.
	for i, y := range []float64{0, 0.8, 1, 1} {
		o.knots[i].y = y
	}
	if reach, side := o.triangle(2, 0.5); math.Abs(reach-0.1) > 1e-12 || side != 1 {
		t.Errorf("concave: %v to the side %v, want 0.1 above", reach, side)
	}
	// Scatter that would do as much hides a knee.
	o.scatter = 0.2
	if reach, _ := o.triangle(2, 0.5); reach != 0 {
		t.Errorf("within the scatter %v, want 0", reach)
	}
}

// D from marks that stray by d from the straight line between neighbours a
// and b away is d²(a+b)/(ab) (closed form), beside one mark's worth of what was
// expected beforehand.
func TestStraying(t *testing.T) {
	o := straight(0, 0, 0, 0.5, 1)
	o.knots[1].y = 0.51
	if got, want := o.straying(0.0025), (0.0025+0.01*0.01*4)/2; math.Abs(got-want) > 1e-15 {
		t.Errorf("%v, want %v", got, want)
	}
	o.knots[1].y = 0.9 // a knee: no more than was expected
	if got, want := o.straying(0.0025), 0.0025; math.Abs(got-want) > 1e-15 {
		t.Errorf("%v, want %v", got, want)
	}
}

// What is measured anew after a reading is all that it changes.
func TestTakeMeasuresWhatChanges(t *testing.T) {
	o := straight(0.01, 0.0025, 0, 0.1, 0.3, 0.35, 0.6, 0.8)
	for i, y := range []float64{0, 0, 0.1, 0.3, 0.5, 0.9} {
		o.knots[i].y = y
	}
	o.refresh(0, len(o.gaps))
	for _, s := range []float64{0.45, 0.2, 1, 0.33, 0.7, 0.05} {
		o.take(s, false)
		o.take(s, true)
		for i, g := range o.gaps {
			if again := o.measure(i); again != g {
				t.Fatalf("after %v gap %d is kept as %+v and measures %+v", s, i, g, again)
			}
		}
	}
}

// A choice tried on the marks nearby is the same as one made on all.
func TestAfterIsWhatTakeLeaves(t *testing.T) {
	for _, again := range []bool{false, true} {
		for _, s := range []float64{0.05, 0.2, 0.33, 0.45, 0.7, 0.9, 1} {
			o := straight(0.01, 0.0025, 0, 0.1, 0.3, 0.35, 0.6, 0.8)
			for i, y := range []float64{0, 0, 0.1, 0.3, 0.5, 0.9} {
				o.knots[i].y = y
			}
			o.refresh(0, len(o.gaps))
			w := 0
			for w < len(o.knots) && o.knots[w].s < s {
				w++
			}
			at := s
			if again {
				if w == len(o.knots) {
					continue
				}
				at = o.knots[w].s
			}
			got := o.after(w, at, again)
			o.take(at, again)
			own := 2
			if again {
				own = 1
			}
			want, sum := 0.0, 0.0
			for k := max(0, w-1); k <= min(w+own, len(o.knots)); k++ {
				if k >= w && k < w+own {
					want = max(want, o.gaps[k].u)
				}
				sum += o.gaps[k].sum
			}
			if math.Abs(got.left-want) > 1e-15 || math.Abs(got.sum-sum) > 1e-15 {
				t.Errorf("%v, again %v: tried %v and %v, taken %v and %v", at, again, got.left, got.sum, want, sum)
			}
		}
	}
}
