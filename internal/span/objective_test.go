package span_test

import (
	"errors"
	"math"
	"math/rand"
	"sort"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
	"gaugewright/internal/span"
)

// score is the definition of what each objective makes least. Where a setting
// shows more than there is and may not, it's infinite; a falling sender's empty
// readings are let off where eased.
func score(c *curve.Curve, s scale.Scale, setting span.Setting, o span.Objective, eased bool) float64 {
	worst, squares, used := 0.0, 0.0, c.Used()
	for _, r := range used {
		target := float64(s.Target(r.Mark))
		e := float64(setting.Show(r.Ohm)) - target
		squares += e * e
		switch o {
		case span.NearEmpty:
			worst = max(worst, math.Abs(e)*(1+3*(1-target)))
		case span.NeverHigh:
			if e > 1e-8 && !(eased && target <= 0) {
				return math.Inf(1)
			}
			worst = max(worst, math.Abs(e))
		default:
			worst = max(worst, math.Abs(e))
		}
	}
	if o == span.RMS {
		return math.Sqrt(squares / float64(len(used)))
	}
	return worst
}

func easedAtEmpty(choice span.Choice) bool {
	for _, f := range choice.Findings {
		if f.Kind == "high-at-empty" {
			return true
		}
	}
	return false
}

func anyObjective(t *rapid.T) span.Objective {
	return rapid.SampledFrom(span.Objectives).Draw(t, "objective")
}

// For every objective no pair on the steps scores less than the one chosen,
// every one being tried.
func TestEveryObjectiveBeatsEveryPair(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, s, o := bench(t), anyScale(t), anyObjective(t)
		margin := span.Margin{Ohm: quantity.Ohm(rapid.SampledFrom([]float64{0, 1, 2.5}).Draw(t, "margin"))}
		step := quantity.Ohm(rapid.SampledFrom([]float64{1, 2, 5}).Draw(t, "step"))
		lowest := quantity.Ohm(rapid.SampledFrom([]float64{0, 0, 10}).Draw(t, "lowest"))
		best, err := span.BestEndsFor(c, s, span.Readout{Step: step, Lowest: lowest}, margin, o)
		var none *span.NoChoiceError
		if err != nil && !errors.As(err, &none) {
			t.Fatal(err)
		}
		eased := easedAtEmpty(best)
		least := math.Inf(1)
		var leastOf span.Ends
		_, greatest := c.Range()
		limit := step * quantity.Ohm(math.Ceil(float64(greatest*1.4+10)/float64(step)))
		if o == span.RMS {
			limit += 10 * step
		}
		for lower := step * quantity.Ohm(math.Ceil(float64(lowest/step))); lower <= limit; lower += step {
			for upper := step * quantity.Ohm(math.Ceil(float64(lowest/step))); upper <= limit; upper += step {
				e := span.Ends{Lower: lower, Upper: upper}
				if lower == upper || !allowed(c, s, e, margin.Ohm) {
					continue
				}
				if got := score(c, s, e, o, eased); got < least {
					least, leastOf = got, e
				}
			}
		}
		if err != nil {
			// A readout that can be set to nothing below what the sender ever gives
			// shows one figure whatever there is: no pair of that is worth keying in.
			if lowest > 0 && lowest >= greatestOf(c, s) {
				return
			}
			if o != span.NeverHigh && lowest == 0 || !math.IsInf(least, 1) {
				t.Fatalf("%v, but %v scores %g", err, leastOf, least)
			}
			return
		}
		if lowest > 0 && lowest >= greatestOf(c, s) {
			t.Fatalf("%+v chosen, though the readout takes no less than %v and the sender gives no more than %v", best, lowest, greatestOf(c, s))
		}
		chosen := best.Setting.(span.Ends)
		if !allowed(c, s, chosen, best.Margin) || min(chosen.Lower, chosen.Upper) < lowest {
			t.Fatalf("%v doesn't keep the margin of %v or the lowest of %v", chosen, best.Margin, lowest)
		}
		if least < float64(best.Score)-1e-9 {
			t.Fatalf("%s: %v scores %.12f, the chosen %v %.12f", o, leastOf, least, chosen, float64(best.Score))
		}
		if got := score(c, s, chosen, o, eased); math.Abs(got-float64(best.Score)) > 1e-9 {
			t.Fatalf("%s: said to score %.12f, scores %.12f", o, float64(best.Score), got)
		}
		if best.LowerBound > best.Score || !best.Proven || best.Gap != 0 || best.Searched == 0 {
			t.Fatalf("%+v", best)
		}
	})
}

// No pair of any kind scores less than the bound: ten thousand at random, near
// the best one and far from it.
func TestNoPairBeatsTheBound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, s, o := bench(t), anyScale(t), anyObjective(t)
		margin := span.Margin{Ohm: quantity.Ohm(rapid.SampledFrom([]float64{0, 1}).Draw(t, "margin"))}
		best, err := span.BestEndsFor(c, s, span.Readout{}, margin, o)
		var none *span.NoChoiceError
		if errors.As(err, &none) && o == span.NeverHigh {
			return // TestEveryObjectiveBeatsEveryPair holds that against all pairs
		}
		if err != nil {
			t.Fatal(err)
		}
		eased := easedAtEmpty(best)
		if gap := best.Score - best.LowerBound; gap > 2e-7 {
			t.Fatalf("%s: %v scores %.12f, bound %.12f", o, best.Setting, float64(best.Score), float64(best.LowerBound))
		}
		chosen := best.Setting.(span.Ends)
		random := rand.New(rand.NewSource(rapid.Int64().Draw(t, "seed")))
		for range 10_000 {
			width := 20 * math.Exp(-6*random.Float64())
			e := span.Ends{
				Lower: chosen.Lower + quantity.Ohm(random.NormFloat64()*width),
				Upper: chosen.Upper + quantity.Ohm(random.NormFloat64()*width),
			}
			if e.Lower == e.Upper || !allowed(c, s, e, best.Margin) {
				continue
			}
			if got := score(c, s, e, o, eased); got < float64(best.LowerBound)-1e-9 {
				t.Fatalf("%s: %v scores %.12f, below the bound %.12f of %v", o, e, got, float64(best.LowerBound), chosen)
			}
		}
	})
}

func TestNeverHigh(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, s := bench(t), anyScale(t)
		readout := span.Readout{Step: quantity.Ohm(rapid.SampledFrom([]float64{0, 0.1, 1}).Draw(t, "step"))}
		choices := map[string]func() (span.Choice, error){
			"two-point": func() (span.Choice, error) {
				return span.BestEndsFor(c, s, readout, span.UsualMargin(), span.NeverHigh)
			},
			"table": func() (span.Choice, error) {
				return span.BestTableFor(c, s, span.TableReadout{Points: 5}, span.UsualMargin(), span.NeverHigh)
			},
			"ends then table": func() (span.Choice, error) {
				return span.BestEndsThenTable(c, s, span.TableReadout{Readout: readout, Points: 5}, span.UsualMargin(), span.NeverHigh)
			},
		}
		for name, choose := range choices {
			best, err := choose()
			var none *span.NoChoiceError
			if name == "two-point" && c.Direction() == curve.Falling && errors.As(err, &none) {
				continue // TestEveryObjectiveBeatsEveryPair holds that against all pairs
			}
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			for _, row := range best.Rows {
				if row.Error() > 2e-8 && !(name == "two-point" && c.Direction() == curve.Falling && row.Target == 0 && easedAtEmpty(best)) {
					t.Fatalf("%s: %v shows %v at %g, where there is %v", name, best.Setting, row.Shown, row.Mark, row.Target)
				}
			}
		}
	})
}

// The same sender in other ohms, and one read against a dial that runs the other
// way: the score is the same, or (where high and low, or full and empty, change
// places) for RMS and the worst error alone.
func TestObjectivesScaleAndMirror(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, s, o := bench(t), anyScale(t), anyObjective(t)
		choose := func(change func(*curve.Reading)) (span.Choice, error) {
			sheet := curve.Sheet{Readings: c.Used()}
			for i := range sheet.Readings {
				change(&sheet.Readings[i])
			}
			fitted, err := curve.Fit(sheet, curve.Options{KeepAll: true})
			if err != nil {
				t.Skip("lost in rounding")
			}
			return span.BestEndsFor(fitted, s, span.Readout{}, span.Margin{}, o)
		}
		best, err := choose(func(*curve.Reading) {})
		tenfold, errTenfold := choose(func(r *curve.Reading) { r.Ohm *= 10 })
		if (err == nil) != (errTenfold == nil) || err == nil && math.Abs(float64(best.Score-tenfold.Score)) > 1e-7 {
			t.Fatalf("%s: %v %v, ten times the ohms %v %v", o, best.Score, err, tenfold.Score, errTenfold)
		}
		if s.Kind() != scale.Mark || o == span.NearEmpty || o == span.NeverHigh {
			return
		}
		turned, err := choose(func(r *curve.Reading) { r.Mark = 1 - r.Mark })
		if err != nil || math.Abs(float64(best.Score-turned.Score)) > 1e-7 {
			t.Fatalf("%s: %v, turned round %v %v", o, best.Score, turned.Score, err)
		}
	})
}

// Chebyshev's theorem for straight lines (any textbook of approximation, from
// memory): the line with the least worst error has it at three places, once to
// the one side, then to the other, then to the first again.
func TestBestEndsAlternate(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(3, 20).Draw(t, "readings")
		random := rand.New(rand.NewSource(rapid.Int64().Draw(t, "seed")))
		var sheet curve.Sheet
		for i := range n {
			x := 0.2 + 0.6*float64(i)/float64(n-1)
			ohm := 100*x + 3*random.Float64()
			if i%3 == 0 {
				ohm += 4
			}
			sheet.Readings = append(sheet.Readings, curve.Reading{Mark: x, Ohm: quantity.Ohm(ohm)})
		}
		c, err := curve.Fit(sheet, curve.Options{KeepAll: true})
		if err != nil {
			t.Skip("not a sender")
		}
		best, err := span.BestEnds(c, onScaleOf(t), span.Readout{}, span.Margin{})
		if err != nil {
			t.Fatal(err)
		}
		// Two readings at nearly one resistance, one too high and one too low, fix
		// the error by themselves, and the line may turn about them a little.
		for _, a := range best.Rows {
			for _, b := range best.Rows {
				if math.Abs(float64(a.Ohm-b.Ohm)) < 1 && float64(a.Error()-b.Error()) > 2*float64(best.Worst)-1e-5 {
					t.Skip("two readings contradict each other")
				}
			}
		}
		signs := 0
		last := 0.0
		sort.Slice(best.Rows, func(i, j int) bool { return best.Rows[i].Ohm < best.Rows[j].Ohm })
		for _, row := range best.Rows {
			e := float64(row.Error())
			if row.Shown <= 0 || row.Shown >= 1 {
				t.Skip("held at an end")
			}
			if math.Abs(e) > float64(best.Worst)-1e-7 && e*last <= 0 {
				signs, last = signs+1, e
			}
		}
		_, greatest := c.Range()
		ends := best.Setting.(span.Ends)
		if ends.Lower < 1e-6 || ends.Upper < greatest+1e-6 {
			t.Skip("at a limit of what can be keyed in")
		}
		if signs < 3 {
			for _, row := range best.Rows {
				t.Logf("%v %.12f", row.Ohm, float64(row.Error()))
			}
			t.Fatalf("%d alternations: %v worst %.12f", signs, best.Setting, float64(best.Worst))
		}
	})
}

func onScaleOf(t *rapid.T) scale.Scale {
	s, err := scale.New(scale.Mark, 1, 0, 1, true)
	if err != nil {
		t.Fatal(err)
	}
	return s
}
