package span_test

import (
	"math"
	"math/rand"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
	"gaugewright/internal/span"
)

// Behind its end values the table on coarse steps is the best of all, every one
// being tried; the end values hold the whole travel.
func TestEndsThenTableBeatsEveryTable(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, s := small(t), anyScale(t)
		o := rapid.SampledFrom([]span.Objective{span.Worst, span.NearEmpty, span.NeverHigh}).Draw(t, "objective")
		percentStep := rapid.SampledFrom([]float64{10, 20, 12.5}).Draw(t, "percent step")
		readout := span.TableReadout{Readout: span.Readout{Step: 1}, Points: rapid.IntRange(2, 4).Draw(t, "points"), ShareStep: quantity.Share(percentStep / 100)}
		best, err := span.BestEndsThenTable(c, s, readout, span.Margin{Ohm: 1}, o)
		if err != nil {
			t.Fatal(err)
		}
		chosen := best.Setting.(span.EndsThenTable)
		least, greatest := c.Range()
		if min(chosen.Ends.Lower, chosen.Ends.Upper) > least || max(chosen.Ends.Lower, chosen.Ends.Upper) < greatest+1-1e-9 {
			t.Fatalf("%v doesn't hold %v to %v", chosen.Ends, least, greatest)
		}
		if n := len(chosen.Table); n < 2 || n > readout.Points || chosen.Table[0].In != 0 || math.Abs(float64(chosen.Table[n-1].In)-1) > 1e-12 {
			t.Fatalf("%v of %d points", chosen, readout.Points)
		}
		top := math.Inf(1)
		rows := int(100/percentStep + 1e-9)
		var try func(table []span.Correction)
		try = func(table []span.Correction) {
			last := table[len(table)-1]
			if last.In > 1-1e-9 {
				top = min(top, score(c, s, span.EndsThenTable{Ends: chosen.Ends, Table: table}, o, false))
				return
			}
			if len(table) == readout.Points {
				return
			}
			for i := int(float64(last.In)*float64(rows)+0.5) + 1; i <= rows; i++ {
				for k := int(float64(last.Out)*float64(rows) + 0.5); k <= rows; k++ {
					try(append(table, span.Correction{In: quantity.Share(i) / quantity.Share(rows), Out: quantity.Share(k) / quantity.Share(rows)}))
				}
			}
		}
		for k := range rows + 1 {
			try([]span.Correction{{In: 0, Out: quantity.Share(k) / quantity.Share(rows)}})
		}
		if !best.Proven || math.Abs(top-float64(best.Score)) > 2e-9 {
			t.Fatalf("%s: the best of all scores %.12f, the chosen %v %.12f (proven %v)", o, top, chosen, float64(best.Score), best.Proven)
		}
	})
}

// Without steps: no ends that hold the travel, with any table behind them, score
// less than the bound; and the answer reaches it.
func TestNoEndsThenTableBeatsTheBound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, s := bench(t), anyScale(t)
		points := rapid.IntRange(2, 5).Draw(t, "points")
		margin := span.Margin{Ohm: 0.5}
		best, err := span.BestEndsThenTable(c, s, span.TableReadout{Points: points}, margin, span.Worst)
		if err != nil {
			t.Fatal(err)
		}
		if best.Score-best.LowerBound > 1e-8 {
			t.Fatalf("scores %.12f, bound %.12f", float64(best.Score), float64(best.LowerBound))
		}
		// A table straight in the ohms can do no worse than this one does.
		table, err := span.BestTable(c, s, span.TableReadout{Points: points}, margin)
		if err != nil {
			t.Fatal(err)
		}
		if table.LowerBound > best.Score+1e-9 {
			t.Fatalf("a table alone can't do better than %v, with ends before it %v", table.LowerBound, best.Score)
		}
		random := rand.New(rand.NewSource(rapid.Int64().Draw(t, "seed")))
		chosen := best.Setting.(span.EndsThenTable)
		for range 3000 {
			next := span.EndsThenTable{Ends: chosen.Ends, Table: append([]span.Correction(nil), chosen.Table...)}
			wider := quantity.Ohm(0)
			if random.Intn(2) == 0 {
				wider = quantity.Ohm(3 * random.Float64())
			}
			up := quantity.Ohm(c.Direction())
			next.Ends.Lower = max(0, next.Ends.Lower-up*wider)
			next.Ends.Upper = max(0, next.Ends.Upper+up*wider*quantity.Ohm(random.Float64()))
			width := 0.1 * math.Exp(-6*random.Float64())
			for i := range next.Table {
				next.Table[i].Out = min(1, max(0, next.Table[i].Out+quantity.Share(width*random.NormFloat64())))
				if i > 0 && i < len(next.Table)-1 {
					next.Table[i].In += quantity.Share(width * random.NormFloat64())
				}
			}
			sane := true
			for i := 1; i < len(next.Table); i++ {
				sane = sane && next.Table[i].In > next.Table[i-1].In && next.Table[i].Out >= next.Table[i-1].Out
			}
			if sane && score(c, s, next, span.Worst, false) < float64(best.LowerBound)-1e-9 {
				t.Fatalf("%v scores less than the bound %v", next, best.LowerBound)
			}
		}
	})
}

// No table at random has a root-mean-square error below the bound, and isotonic
// regression, which no rising table can beat either, agrees in order.
func TestNoTableBeatsTheSquaresBound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, s := bench(t), anyScale(t)
		points := rapid.IntRange(2, 6).Draw(t, "points")
		best, err := span.BestTableFor(c, s, span.TableReadout{Points: points}, span.Margin{}, span.RMS)
		if err != nil {
			t.Fatal(err)
		}
		if got := score(c, s, best.Setting, span.RMS, false); math.Abs(got-float64(best.Score)) > 1e-12 || best.LowerBound > best.Score {
			t.Fatalf("scores %v, said to be %v, bound %v", got, best.Score, best.LowerBound)
		}
		worst, err := span.BestTable(c, s, span.TableReadout{Points: points}, span.Margin{})
		if err != nil {
			t.Fatal(err)
		}
		if got := score(c, s, worst.Setting, span.RMS, false); got < float64(best.Score)-1e-9 {
			t.Fatalf("the table for the worst error has a root-mean-square error of %v, the one for that %v", got, best.Score)
		}
		random := rand.New(rand.NewSource(rapid.Int64().Draw(t, "seed")))
		now := append(span.Table(nil), best.Setting.(span.Table)...)
		for range 3000 {
			next := append(span.Table(nil), now...)
			width := 0.1 * math.Exp(-6*random.Float64())
			i := random.Intn(len(next))
			next[i].Ohm += quantity.Ohm(width*random.NormFloat64()) * c.Span()
			next[i].Share = min(1, max(0, next[i].Share+quantity.Share(width*random.NormFloat64())))
			if !keepsOrder(next, c.Direction()) {
				continue
			}
			got := score(c, s, next, span.RMS, false)
			if got < float64(best.LowerBound)-1e-9 {
				t.Fatalf("%v scores %v, below the bound %v", next, got, best.LowerBound)
			}
		}
	})
}

// The same sender in other ohms, or (on the mark scale) turned round, has tables
// that are as good.
func TestTablesScaleAndMirror(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, s := bench(t), anyScale(t)
		points := rapid.IntRange(2, 6).Draw(t, "points")
		choose := func(step quantity.Ohm, change func(*curve.Reading)) span.Choice {
			sheet := curve.Sheet{Readings: c.Used()}
			for i := range sheet.Readings {
				change(&sheet.Readings[i])
			}
			fitted, err := curve.Fit(sheet, curve.Options{KeepAll: true})
			if err != nil {
				t.Skip("lost in rounding")
			}
			best, err := span.BestTable(fitted, s, span.TableReadout{Points: points, Readout: span.Readout{Step: step}, ShareStep: quantity.Share(step) / 100}, span.Margin{})
			if err != nil {
				t.Fatal(err)
			}
			return best
		}
		best := choose(0, func(*curve.Reading) {})
		tenfold := choose(0, func(r *curve.Reading) { r.Ohm *= 10 })
		if math.Abs(float64(best.Score-tenfold.Score)) > 1e-8 {
			t.Fatalf("%v, ten times the ohms %v", best.Score, tenfold.Score)
		}
		if s.Kind() == scale.Mark {
			turned := choose(0, func(r *curve.Reading) { r.Mark = 1 - r.Mark })
			if math.Abs(float64(best.Score-turned.Score)) > 1e-8 {
				t.Fatalf("%v, turned round %v", best.Score, turned.Score)
			}
		}
	})
}
