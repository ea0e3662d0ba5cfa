package span_test

import (
	"errors"
	"math"
	"math/rand"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
	"gaugewright/internal/span"
)

// small draws a sender of few readings over a few tens of ohms.
func small(t *rapid.T) *curve.Curve {
	random := rand.New(rand.NewSource(rapid.Int64().Draw(t, "seed")))
	n := 2 + random.Intn(6)
	falling := random.Intn(2) == 0
	empty, width, bend := 30*random.Float64(), 20+30*random.Float64(), 1.6*random.Float64()-0.8
	var sheet curve.Sheet
	for i := range n {
		mark := float64(i) / float64(n-1)
		share := mark + bend*mark*(1-mark)
		if falling {
			share = 1 - share
		}
		for range 1 + random.Intn(2) {
			ohm := math.Round(10*(empty+width*share+random.Float64())) / 10
			sheet.Readings = append(sheet.Readings, curve.Reading{Mark: mark, Ohm: quantity.Ohm(ohm)})
		}
	}
	c, err := curve.Fit(sheet, curve.Options{})
	if err != nil {
		t.Skip("not a sender")
	}
	return c
}

// On coarse steps the table chosen is as good as the best of all tables there
// are, every one being tried.
func TestTableOnStepsBeatsEveryTable(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, s := small(t), anyScale(t)
		o := rapid.SampledFrom([]span.Objective{span.Worst, span.NearEmpty, span.NeverHigh}).Draw(t, "objective")
		step := quantity.Ohm(rapid.SampledFrom([]float64{7, 10}).Draw(t, "step"))
		shareStep := quantity.Share(rapid.SampledFrom([]float64{0.1, 0.15, 0.25}).Draw(t, "share step"))
		points := rapid.IntRange(2, 3).Draw(t, "points")
		lowest := quantity.Ohm(rapid.SampledFrom([]float64{0, 0, 12}).Draw(t, "lowest"))
		readout := span.TableReadout{Readout: span.Readout{Step: step, Lowest: lowest}, Points: points, ShareStep: shareStep}
		best, err := span.BestTableFor(c, s, readout, span.Margin{Ohm: 1}, o)
		var none *span.NoChoiceError
		if err != nil && !errors.As(err, &none) {
			t.Fatal(err)
		}
		up := c.Direction() == curve.Rising
		least, leastOf := math.Inf(1), span.Table(nil)
		leastShown, leastShownOf := math.Inf(1), span.Table(nil) // of those that show anything at all
		smallest, greatest := c.Range()
		need := reach(c, s) + 1
		var try func(table span.Table)
		try = func(table span.Table) {
			if n := len(table); n >= 2 && table[n-1].Ohm >= need-1e-9 {
				got := score(c, s, table, o, false)
				if got < least {
					least, leastOf = got, append(span.Table(nil), table...)
				}
				if got < leastShown && max(table[0].Share, table[n-1].Share) > 0 {
					leastShown, leastShownOf = got, append(span.Table(nil), table...)
				}
			}
			if len(table) == points {
				return
			}
			// As far as one span beyond what the sender gives, on either side.
			from := step * quantity.Ohm(math.Ceil(float64(max(lowest, 2*smallest-greatest)/step)))
			if len(table) > 0 {
				from = table[len(table)-1].Ohm + step
			}
			for ohm := from; ohm <= 2*greatest-smallest; ohm += step {
				for k := 0; float64(k)*float64(shareStep) <= 1+1e-9; k++ {
					e := span.Entry{Ohm: ohm, Share: quantity.Share(k) * shareStep}
					if n := len(table); n > 0 && (up && e.Share < table[n-1].Share-1e-9 || !up && e.Share > table[n-1].Share+1e-9) {
						continue
					}
					try(append(table, e))
				}
			}
		}
		try(nil)
		if err != nil {
			// A display that shows nothing at all is no choice, also where a full tank
			// shows less than the whole.
			if leastShown < 1 {
				t.Fatalf("%v, but %v scores %g", err, leastShownOf, leastShown)
			}
			return
		}
		if !best.Proven || best.Gap != 0 {
			t.Fatalf("not proven: %+v", best)
		}
		chosen := best.Setting.(span.Table)
		if !keepsOrder(chosen, c.Direction()) || len(chosen) > points || chosen[0].Ohm < lowest || chosen[len(chosen)-1].Ohm < need-1e-9 ||
			math.Abs(score(c, s, chosen, o, false)-float64(best.Score)) > 1e-9 {
			t.Fatalf("%v of %d points scores %g, said to be %g", chosen, points, score(c, s, chosen, o, false), float64(best.Score))
		}
		// It may stand a little further out than those tried here.
		if float64(best.Score) > least+2e-9 {
			t.Fatalf("%s: %v scores %.12f, the chosen %v %.12f", o, leastOf, least, best.Setting, float64(best.Score))
		}
	})
}

// With a step in one direction only, the table is as good as the best with a
// fine step in the other, less what rounding to that step may cost; and no table
// at random scores less than what is proven.
func TestTableOnOneStep(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, s := small(t), anyScale(t)
		points := rapid.IntRange(2, 5).Draw(t, "points")
		onOhms := rapid.Bool().Draw(t, "on ohms")
		readout := span.TableReadout{Points: points, ShareStep: 0.05}
		fine := readout
		fine.Step = 0.5
		if onOhms {
			readout.Step, readout.ShareStep = 5, 0
			fine.Step, fine.ShareStep = 5, 0.0025
		}
		best, err := span.BestTable(c, s, readout, span.Margin{Ohm: 1})
		if err != nil {
			t.Fatal(err)
		}
		if best.Proven == (best.Gap > 0) || best.Gap > best.Score-best.LowerBound+2e-9 || onOhms && !best.Proven {
			t.Fatalf("proven %v, gap %v, score %v, bound %v", best.Proven, best.Gap, best.Score, best.LowerBound)
		}
		both, err := span.BestTable(c, s, fine, span.Margin{Ohm: 1})
		if err != nil {
			t.Fatal(err)
		}
		if both.Score < best.Score-best.Gap-2e-9 {
			t.Fatalf("%v scores %.10f, with a further step %v %.10f", best.Setting, float64(best.Score), both.Setting, float64(both.Score))
		}
		if onOhms && both.Proven && both.Score > best.Score+0.00125+2e-9 {
			t.Fatalf("%v scores %.10f, rounded to the further step %.10f", best.Setting, float64(best.Score), float64(both.Score))
		}
		// Stubborn search from the table chosen.
		random := rand.New(rand.NewSource(rapid.Int64().Draw(t, "seed")))
		now := append(span.Table(nil), best.Setting.(span.Table)...)
		need := reach(c, s) + 1
		for range 10_000 {
			next := append(span.Table(nil), now...)
			i := random.Intn(len(next))
			width := math.Exp(-8 * random.Float64())
			if onOhms {
				next[i].Ohm += 5 * quantity.Ohm(random.Intn(3)-1)
				for k := range next {
					next[k].Share = min(1, max(0, next[k].Share+quantity.Share(0.1*width*random.NormFloat64())))
				}
			} else {
				next[i].Share = min(1, max(0, next[i].Share+0.05*quantity.Share(random.Intn(3)-1)))
				for k := range next {
					next[k].Ohm = max(0, next[k].Ohm+quantity.Ohm(10*width*random.NormFloat64()))
				}
			}
			if !keepsOrder(next, c.Direction()) || next[len(next)-1].Ohm < need {
				continue
			}
			if got := score(c, s, next, span.Worst, false); got < float64(best.Score-best.Gap)-2e-9 {
				t.Fatalf("%v scores %.10f, the chosen %v %.10f", next, got, best.Setting, float64(best.Score))
			}
		}
	})
}
