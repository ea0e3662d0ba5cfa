package span_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
	"gaugewright/internal/span"
)

// bench draws the readings of a sender that may be bent, noisy, dead at the
// ends, read in part only, rising or falling.
func bench(t *rapid.T) *curve.Curve {
	n := rapid.IntRange(2, 14).Draw(t, "marks")
	empty := rapid.Float64Range(0, 60).Draw(t, "empty ohm")
	width := rapid.Float64Range(15, 240).Draw(t, "span ohm")
	bend := rapid.Float64Range(-0.8, 0.8).Draw(t, "bend")
	noise := rapid.Float64Range(0, 0.02).Draw(t, "noise")
	dead := rapid.SampledFrom([]float64{0, 0, 0.1}).Draw(t, "dead travel")
	top := rapid.SampledFrom([]float64{1, 1, 0.8}).Draw(t, "top mark")
	falling := rapid.Bool().Draw(t, "falling")
	twice := rapid.Bool().Draw(t, "both sweeps")
	var sheet curve.Sheet
	add := func(mark float64, sweep curve.Sweep) {
		moved := max(0, mark-dead) / (1 - dead)
		share := moved + bend*moved*(1-moved) + noise*rapid.Float64Range(-1, 1).Draw(t, "scatter")
		if falling {
			share = 1 - share
		}
		ohm := math.Round(10*max(0, empty+width*share)) / 10
		sheet.Readings = append(sheet.Readings, curve.Reading{Mark: mark, Ohm: quantity.Ohm(ohm), Sweep: sweep})
	}
	for i := range n {
		mark := top * float64(i) / float64(n-1)
		add(mark, curve.Up)
		if twice {
			add(mark, curve.Down)
		}
	}
	c, err := curve.Fit(sheet, curve.Options{})
	if err != nil {
		t.Skip("not a sender")
	}
	return c
}

func anyScale(t *rapid.T) scale.Scale {
	if rapid.IntRange(0, 2).Draw(t, "way") == 0 {
		return throughLying(t)
	}
	kind := rapid.SampledFrom([]scale.Kind{scale.Mark, scale.Fill}).Draw(t, "scale")
	s, err := scale.New(kind, 0.8, 0, 1, true)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// allowed says whether end values keep the margin, by the definition and not by
// the optimiser's way of putting it.
func allowed(c *curve.Curve, s scale.Scale, e span.Ends, margin quantity.Ohm) bool {
	greater := max(e.Lower, e.Upper)
	return (e.Upper > e.Lower) == (c.Direction() == curve.Rising) && e.Lower >= 0 && e.Upper >= 0 &&
		greater >= greatestOf(c, s)+margin-1e-9
}

// greatestOf gives the most ohms of the sender within the scale.
func greatestOf(c *curve.Curve, s scale.Scale) quantity.Ohm {
	_, full := s.Ends()
	greatest := quantity.Ohm(0)
	for _, r := range c.Used() {
		if r.Mark <= full+1e-9 {
			greatest = max(greatest, r.Ohm)
		}
	}
	if a := c.Ohm(full, curve.Refuse); a.Known {
		greatest = max(greatest, a.Ohm)
	}
	return greatest
}

// No pair of whole ohms does better than the one chosen, every one being tried;
// none of any kind does better than the bound; and of those that do as well
// none is nearer to what the sender gives at the ends of the scale.
func TestBestEndsBeatsEveryPair(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, s := bench(t), anyScale(t)
		margin := span.Margin{Ohm: quantity.Ohm(rapid.SampledFrom([]float64{0, 1, 2.5}).Draw(t, "margin"))}
		step := quantity.Ohm(rapid.SampledFrom([]float64{1, 1, 2, 5}).Draw(t, "step"))
		best, err := span.BestEnds(c, s, span.Readout{Step: step}, margin)
		if err != nil {
			t.Fatal(err)
		}
		chosen := best.Setting.(span.Ends)
		if !allowed(c, s, chosen, best.Margin) {
			t.Fatalf("%v doesn't keep the margin of %v", chosen, best.Margin)
		}
		if best.LowerBound > best.Worst {
			t.Fatalf("bound %v above the worst error %v", best.LowerBound, best.Worst)
		}
		_, greatest := c.Range()
		limit := step * quantity.Ohm(math.Ceil(float64(greatest*1.4+10)/float64(step)))
		for lower := quantity.Ohm(0); lower <= limit; lower += step {
			for upper := quantity.Ohm(0); upper <= limit; upper += step {
				e := span.Ends{Lower: lower, Upper: upper}
				if lower == upper || !allowed(c, s, e, best.Margin) {
					continue
				}
				got := worst(c, s, e)
				if got < float64(best.Worst)-1e-10 {
					t.Fatalf("%v has a worst error of %.9f, the chosen %v of %.9f", e, got, chosen, float64(best.Worst))
				}
				if got < float64(best.Worst)+1e-12 && fromNatural(c, s, e) < fromNatural(c, s, chosen)-1e-6 {
					t.Fatalf("%v does as well as the chosen %v and is nearer to what the sender gives at the ends", e, chosen)
				}
			}
		}
	})
}

// fromNatural is how far end values stand from what the sender gives at 0 % and
// 100 % of the scale, both distances together.
func fromNatural(c *curve.Curve, s scale.Scale, e span.Ends) float64 {
	points := c.Points()
	empty, full := s.Ends()
	at := func(mark float64, fallback quantity.Ohm) float64 {
		if a := c.Ohm(mark, curve.Continue); a.Known {
			return float64(a.Ohm)
		}
		return float64(fallback)
	}
	return math.Abs(float64(e.Lower)-at(empty, points[0].Ohm)) + math.Abs(float64(e.Upper)-at(full, points[len(points)-1].Ohm))
}

// worst is the definition: 100·(R−L)/(U−L) held to 0..100, against the target.
func worst(c *curve.Curve, s scale.Scale, e span.Ends) float64 {
	worst := 0.0
	for _, r := range c.Used() {
		shown := float64((r.Ohm - e.Lower) / (e.Upper - e.Lower))
		worst = max(worst, math.Abs(min(1, max(0, shown))-float64(s.Target(r.Mark))))
	}
	return worst
}

func TestBestEndsOfAnyValue(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, s := bench(t), anyScale(t)
		margin := span.Margin{Ohm: quantity.Ohm(rapid.SampledFrom([]float64{0, 1}).Draw(t, "margin"))}
		best, err := span.BestEnds(c, s, span.Readout{}, margin)
		if err != nil {
			t.Fatal(err)
		}
		chosen := best.Setting.(span.Ends)
		if !allowed(c, s, chosen, best.Margin) {
			t.Fatalf("%v doesn't keep the margin of %v", chosen, best.Margin)
		}
		if gap := best.Worst - best.LowerBound; gap > 1e-8 {
			t.Fatalf("%v: worst error %.12f, bound %.12f", chosen, float64(best.Worst), float64(best.LowerBound))
		}
		for range 2000 {
			e := span.Ends{
				Lower: chosen.Lower + quantity.Ohm(rapid.Float64Range(-20, 20).Draw(t, "lower")),
				Upper: chosen.Upper + quantity.Ohm(rapid.Float64Range(-20, 20).Draw(t, "upper")),
			}
			if e.Lower != e.Upper && allowed(c, s, e, best.Margin) && worst(c, s, e) < float64(best.LowerBound)-1e-9 {
				t.Fatalf("%v has a worst error of %.12f, below the bound %.12f", e, worst(c, s, e), float64(best.LowerBound))
			}
		}
	})
}

// A sender in other ohms is the same sender, and one that is read against a dial
// that runs the other way mirrors the answer.
func TestBestEndsScalesAndMirrors(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, s := bench(t), anyScale(t)
		none := span.Margin{}
		best, err := span.BestEnds(c, s, span.Readout{}, none)
		if err != nil {
			t.Fatal(err)
		}
		changed := func(change func(*curve.Reading)) span.Choice {
			sheet := curve.Sheet{Readings: c.Used()}
			for i := range sheet.Readings {
				change(&sheet.Readings[i])
			}
			scaled, err := curve.Fit(sheet, curve.Options{KeepAll: true})
			if err != nil {
				t.Skip("lost in rounding")
			}
			again, err := span.BestEnds(scaled, s, span.Readout{}, none)
			if err != nil {
				t.Fatal(err)
			}
			return again
		}
		tenfold := changed(func(r *curve.Reading) { r.Ohm *= 10 })
		if d := math.Abs(float64(tenfold.Worst - best.Worst)); d > 1e-8 {
			t.Fatalf("ten times the ohms changed the worst error by %g", d)
		}
		if s.Kind() != scale.Mark {
			return // a permitted fill has no mirror
		}
		turned := changed(func(r *curve.Reading) { r.Mark = 1 - r.Mark })
		if d := math.Abs(float64(turned.Worst - best.Worst)); d > 1e-8 {
			t.Fatalf("turning the dial round changed the worst error by %g: %v, before %v", d, turned.Setting, best.Setting)
		}
	})
}
