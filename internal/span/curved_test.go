package span_test

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/internal/curve"
	"gaugewright/internal/doubt"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
	"gaugewright/internal/span"
)

// lying is the filling of a lying cylinder with flat ends, of height 1, by the
// formula f = (acos k − k·√(1−k²))/π with k = 1 − 2h/D (any handbook; its
// handbook table has 0.19550 at a quarter of the height). The sender comes from
// one height to another.
func lying(from, to float64) scale.Filling {
	f := func(h float64) float64 {
		k := 1 - 2*min(1, max(0, h))
		return min(1, max(0, (math.Acos(k)-k*math.Sqrt(max(0, 1-k*k)))/math.Pi))
	}
	return scale.Filling{
		Share: func(mark float64) float64 { return f(min(to, max(from, mark))) },
		Mark: func(share float64) float64 {
			low, high := from, to
			for range 60 {
				if mid := (low + high) / 2; f(mid) < share {
					low = mid
				} else {
					high = mid
				}
			}
			return (low + high) / 2
		},
		Capacity: 0.054,
		Words:    "by the shape of the tank",
	}
}

// throughLying draws a scale through a lying cylinder, of which the sender may
// not reach the bottom or the top.
func throughLying(t *rapid.T) scale.Scale {
	kind := rapid.SampledFrom([]scale.Kind{scale.Volume, scale.Fill, scale.Usable}).Draw(t, "through")
	from := rapid.SampledFrom([]float64{0, 0.1}).Draw(t, "lowest of the sender")
	to := rapid.SampledFrom([]float64{1, 0.9}).Draw(t, "highest of the sender")
	s, err := scale.Through(kind, lying(from, to), 0.8, 0.06, 0, 1, true)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func through(t testing.TB, kind scale.Kind) scale.Scale {
	t.Helper()
	s, err := scale.Through(kind, lying(0, 1), 0.8, 0.06, 0, 1, false)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// even is a sender that is straight in the height, read every tenth of it.
func even(t testing.TB) *curve.Curve {
	t.Helper()
	var sheet curve.Sheet
	for i := range 11 {
		sheet.Readings = append(sheet.Readings, curve.Reading{Mark: float64(i) / 10, Ohm: quantity.Ohm(10 * i)})
	}
	c, err := curve.Fit(sheet, curve.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// A straight sender in a lying cylinder: the least worst error of two end values
// found by trying every pair of whole ohms, and that of tables by trying every
// one on coarse steps.
func TestLyingCylinderByBruteForce(t *testing.T) {
	c := even(t)
	for _, kind := range []scale.Kind{scale.Volume, scale.Fill, scale.Usable} {
		s := through(t, kind)
		margin := span.Margin{Ohm: 1}
		best, err := span.BestEnds(c, s, span.Readout{Step: 1}, margin)
		if err != nil {
			t.Fatal(err)
		}
		least := math.Inf(1)
		for lower := quantity.Ohm(0); lower <= 200; lower++ {
			for upper := quantity.Ohm(0); upper <= 200; upper++ {
				if e := (span.Ends{Lower: lower, Upper: upper}); upper > lower && allowed(c, s, e, 1) {
					least = min(least, worst(c, s, e))
				}
			}
		}
		if math.Abs(least-float64(best.Worst)) > 1e-12 {
			t.Errorf("%s: %v is off by %.6f, the best of all pairs by %.6f", kind, best.Setting, float64(best.Worst), least)
		}
		// The greater end value keeps its margin to the ohms at 100 %: 100 Ω for
		// the whole tank, and 74.59 Ω where four fifths of it are (0.745930916382
		// of the height, to twelve digits by the same formula).
		upper, floor := best.Setting.(span.Ends).Upper, 101.0
		if kind != scale.Volume {
			floor = 74.5930916382 + 1
		}
		if float64(upper) < floor-1e-6 {
			t.Errorf("%s: an upper value of %v leaves less than the margin above %v", kind, upper, floor-1)
		}

		readout := span.TableReadout{Readout: span.Readout{Step: 10, Highest: 110}, Points: 3, ShareStep: 0.1}
		table, err := span.BestTable(c, s, readout, margin)
		if err != nil {
			t.Fatal(err)
		}
		greatest := float64(reach(c, s)) + 1
		leastTable := math.Inf(1)
		for a := range 12 {
			for b := a + 1; b < 12; b++ {
				for d := b; d < 12; d++ {
					if last := float64(10 * max(b, d)); last < greatest {
						continue
					}
					for p := range 11 {
						for q := p; q <= 10; q++ {
							for r := q; r <= 10; r++ {
								try := span.Table{{Ohm: quantity.Ohm(10 * a), Share: quantity.Share(p) / 10}, {Ohm: quantity.Ohm(10 * b), Share: quantity.Share(q) / 10}}
								if d > b {
									try = append(try, span.Entry{Ohm: quantity.Ohm(10 * d), Share: quantity.Share(r) / 10})
								}
								leastTable = min(leastTable, score(c, s, try, span.Worst, false))
								if d == b {
									break
								}
							}
						}
					}
				}
			}
		}
		if !table.Proven || math.Abs(leastTable-float64(table.Worst)) > 1e-9 {
			t.Errorf("%s: the table %v (proven %v) is off by %.6f, the best of all by %.6f", kind, table.Setting, table.Proven, float64(table.Worst), leastTable)
		}
	}
}

// Between the marks that were read the error along the curve counts the bend of
// the tank: two readings only, at the bottom and at the top, are met exactly, and
// half-way between the display is off by what the formula says.
func TestBetweenFollowsTheTank(t *testing.T) {
	var sheet curve.Sheet
	for _, m := range []float64{0, 1} {
		sheet.Readings = append(sheet.Readings, curve.Reading{Mark: m, Ohm: quantity.Ohm(100 * m)})
	}
	c, err := curve.Fit(sheet, curve.Options{})
	if err != nil {
		t.Fatal(err)
	}
	trial := span.Try(c, through(t, scale.Volume), span.Ends{Lower: 0, Upper: 100})
	// h − f(h) is greatest where f' = 8·√(h−h²)/π is 1, at h = 0.1906: 0.0577
	// by the formula. Sixteenths of the way come within 0.0001 of it.
	if trial.Worst > 1e-12 || math.Abs(float64(trial.Between)-0.0577) > 2e-4 {
		t.Errorf("at the marks %v, between %v", trial.Worst, trial.Between)
	}
}

// A straight sender isn't called bent, nor its end values wrong, where the bend
// is the tank's.
func TestWhyKnowsTheTank(t *testing.T) {
	c, s := even(t), through(t, scale.Volume)
	if why := span.Why(c, s, span.Ends{Lower: 0, Upper: 101}); !strings.Contains(why, "the shape of the tank bends the scale") || strings.Contains(why, "it is bent") {
		t.Errorf("says %q", why)
	}
	// Set 30 Ω too high, the end value is to blame, and the tank is not.
	if why := span.Why(c, s, span.Ends{Lower: 0, Upper: 130}); !strings.Contains(why, "the upper value lies 30.0 Ω above") {
		t.Errorf("says %q", why)
	}
	best, err := span.BestEnds(c, s, span.Readout{Step: 1}, span.UsualMargin())
	if err != nil {
		t.Fatal(err)
	}
	remedy := span.Remedy(c, s, best)
	if len(remedy) != 1 || !strings.Contains(remedy[0].Text, "because of the shape of the tank") || !strings.Contains(remedy[0].Text, "A readout that takes a table of") {
		t.Errorf("best %v off by %v, says %v", best.Setting, best.Worst, remedy)
	}
	// On the mark scale the same sender needs no remedy.
	mark := onScale(t, scale.Mark, 1)
	if best, err = span.BestEnds(c, mark, span.Readout{Step: 1}, span.UsualMargin()); err != nil || len(span.Remedy(c, mark, best)) != 0 {
		t.Errorf("on the mark scale %v %v", best.Worst, err)
	}
	// A bent sender in an upright tank is the sender's own doing.
	bent := parabola(t, 11)
	upright, err := scale.Through(scale.Volume, scale.Straight(0, 1, 0, ""), 0, 0, 0, 1, true)
	if err != nil {
		t.Fatal(err)
	}
	if best, err = span.BestEnds(bent, upright, span.Readout{Step: 1}, span.UsualMargin()); err != nil {
		t.Fatal(err)
	}
	if remedy = span.Remedy(bent, upright, best); len(remedy) != 1 || !strings.Contains(remedy[0].Text, "because the sender is bent") {
		t.Errorf("says %v", remedy)
	}
}

// The doubt of a mark in a check counts by the slope of the scale there: half a
// point of the height is 0.64 points of the volume in the middle of a lying
// cylinder (the slope is 4/π) and next to nothing at its bottom.
func TestCheckDoubtByTheTank(t *testing.T) {
	d := span.CheckDoubt{Step: 0.001, Mark: 0.005, Guard: 1}
	p, err := span.ProveWith(through(t, scale.Volume), looks(50, 50, 0, 0), 0.02, d)
	if err != nil {
		t.Fatal(err)
	}
	if got, want := float64(p.Rows[0].Parts.Mark), doubt.Rectangular(0.005*4/math.Pi); math.Abs(got-want) > 1e-3*want {
		t.Errorf("in the middle %v, want %v", got, want)
	}
	fill, err := span.ProveWith(through(t, scale.Fill), looks(50, 62), 0.02, d)
	if err != nil {
		t.Fatal(err)
	}
	if got, want := float64(fill.Rows[0].Parts.Mark), doubt.Rectangular(0.005*4/math.Pi/0.8); math.Abs(got-want) > 1e-3*want {
		t.Errorf("in the middle, of what may be filled, %v, want %v", got, want)
	}
	if got := float64(p.Rows[1].Parts.Mark); got > doubt.Rectangular(0.001) {
		t.Errorf("at the bottom %v", got)
	}
}

// A sender that doesn't come down to the bottom, or up to the top, is told so.
func TestSenderShortOfTheTank(t *testing.T) {
	c := even(t)
	s, err := scale.Through(scale.Volume, lying(0.2, 0.9), 0, 0, 0, 1, false)
	if err != nil {
		t.Fatal(err)
	}
	best, err := span.BestEnds(c, s, span.Readout{Step: 1}, span.UsualMargin())
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range best.Findings {
		// f(0.2) = 0.142378489933, f(0.9) = 1 − 0.0520440193309.
		if f.Kind == "stands-still" && strings.Contains(f.Text, "14.2 %") && strings.Contains(f.Text, "94.8 %") {
			return
		}
	}
	t.Errorf("findings %v", best.Findings)
}
