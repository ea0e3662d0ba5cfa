package span_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
	"gaugewright/internal/span"
)

// parabola is a sender whose share is the square of its share of ohms: share
// x² at 100x Ω.
func parabola(t testing.TB, n int) *curve.Curve {
	t.Helper()
	var sheet curve.Sheet
	for i := range n {
		x := float64(i) / float64(n-1)
		sheet.Readings = append(sheet.Readings, curve.Reading{Mark: x * x, Ohm: quantity.Ohm(100 * x)})
	}
	c, err := curve.Fit(sheet, curve.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// For a function of constant second derivative f″ the best straight line over a
// stretch h errs by h²·f″/16, and lines over equal stretches, each lowered by
// that much from its chord, join without a gap. For x² on 0..1 that is h²/8;
// the level run below the first entry stays within it as far as h/2; so k
// straight pieces come to h = 1/(k + ½). Source: Chebyshev's theorem for
// straight lines, any textbook of approximation (from memory); the closed form
// is worked here.
func TestBestTableParabola(t *testing.T) {
	c := parabola(t, 2001)
	s := onScale(t, scale.Mark, 1)
	for _, points := range []int{2, 3, 4, 5, 9} {
		best, err := span.BestTable(c, s, span.TableReadout{Points: points}, span.Margin{})
		if err != nil {
			t.Fatal(err)
		}
		k := float64(points - 1)
		want := 1 / (8 * (k + 0.5) * (k + 0.5))
		// Sampling gives a little back.
		if got := float64(best.Worst); got > want*(1+1e-9) || got < want*0.99 {
			t.Errorf("%d points: worst error %.6f, closed form %.6f", points, got, want)
		}
		if best.Worst-best.LowerBound > 1e-9 {
			t.Errorf("%d points: worst error %v, bound %v", points, best.Worst, best.LowerBound)
		}
		if got := len(best.Setting.(span.Table)); got != points {
			t.Errorf("%d points: table of %d", points, got)
		}
	}
}

// A sender made of three straight pieces needs four points and no more.
func TestBestTableOfStraightPieces(t *testing.T) {
	var pairs []float64
	for mark := 0.0; mark <= 100; mark += 5 {
		ohm := 2 * mark
		switch {
		case mark > 60:
			ohm = 60 + 1.5*(mark-60)
		case mark > 25:
			ohm = 50 + 10.0/35*(mark-25)
		}
		pairs = append(pairs, mark, ohm)
	}
	best, err := span.BestTable(dial(t, pairs...), onScale(t, scale.Mark, 1), span.TableReadout{Points: 4}, span.Margin{})
	if err != nil {
		t.Fatal(err)
	}
	if best.Worst > 1e-9 {
		t.Errorf("worst error %g points: %v", float64(best.Worst)*100, best.Setting)
	}
	three, err := span.BestTable(dial(t, pairs...), onScale(t, scale.Mark, 1), span.TableReadout{Points: 3}, span.Margin{})
	if err != nil {
		t.Fatal(err)
	}
	if three.Worst < 0.01 {
		t.Errorf("three points for three pieces: worst error %g", float64(three.Worst))
	}
}

// With two points the table is a straight line, and the best one is known from
// the convex hull of the readings.
func TestTwoPointTableIsMinimaxLine(t *testing.T) {
	c := dial(t, 10, 12, 25, 33, 40, 40, 55, 66, 70, 71, 90, 95)
	s := onScale(t, scale.Mark, 1)
	var x, y []float64
	for _, r := range c.Used() {
		x, y = append(x, float64(r.Ohm)), append(y, r.Mark)
	}
	best, err := span.BestTable(c, s, span.TableReadout{Points: 2}, span.Margin{})
	if err != nil {
		t.Fatal(err)
	}
	if want := curve.MinimaxLine(x, y).Error; math.Abs(float64(best.Worst)-want) > 1e-9 {
		t.Errorf("worst error %.12f, minimax line %.12f", float64(best.Worst), want)
	}
}

// No table of as many points does better than the bound, however it's sought:
// from the best one and from anywhere, by a stubborn random search.
func TestNoTableBeatsTheBound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, s := bench(t), anyScale(t)
		points := rapid.IntRange(2, 6).Draw(t, "points")
		best, err := span.BestTable(c, s, span.TableReadout{Points: points}, span.Margin{})
		if err != nil {
			t.Fatal(err)
		}
		if gap := float64(best.Worst - best.LowerBound); gap > 1e-8 {
			t.Fatalf("worst error %.12f, bound %.12f", float64(best.Worst), float64(best.LowerBound))
		}
		if got := best.Setting.(span.Table); len(got) < 2 || len(got) > points || !keepsOrder(got, c.Direction()) {
			t.Fatalf("%d points asked for; %v", points, got)
		} else if last := got[len(got)-1].Ohm; last < reach(c, s)-1e-6 {
			t.Fatalf("the table ends at %v, before the sender's greatest %v", last, reach(c, s))
		}
		random := rand.New(rand.NewPCG(1, rapid.Uint64().Draw(t, "seed")))
		least, _ := c.Range()
		greatest := reach(c, s)
		up := c.Direction() == curve.Rising
		try := make(span.Table, points)
		judge := func() float64 {
			e := 0.0
			for _, r := range c.Used() {
				e = max(e, math.Abs(float64(try.Show(r.Ohm)-s.Target(r.Mark))))
			}
			return e
		}
		for i := range try {
			share := quantity.Share(i) / quantity.Share(points-1)
			if !up {
				share = 1 - share
			}
			try[i] = span.Entry{Ohm: least + quantity.Ohm(share)*(greatest-least), Share: share}
			if !up {
				try[i].Ohm = least + (1-quantity.Ohm(share))*(greatest-least)
			}
		}
		if d := rapid.Bool().Draw(t, "from the best"); d {
			copy(try, best.Setting.(span.Table))
		}
		now := judge()
		for k := range 1500 {
			i := random.IntN(points)
			old := try[i]
			scale := math.Exp(-8 * float64(k) / 1500)
			try[i].Ohm += quantity.Ohm(random.NormFloat64()*0.1*scale) * (greatest - least)
			try[i].Share = min(1, max(0, try[i].Share+quantity.Share(random.NormFloat64()*0.1*scale)))
			ends := try[points-1].Ohm >= greatest
			if next := judge(); ends && keepsOrder(try, c.Direction()) && next <= now {
				now = next
			} else {
				try[i] = old
			}
		}
		if now < float64(best.LowerBound)-1e-10 {
			t.Fatalf("%v has a worst error of %.12f, below the bound %.12f", try, now, float64(best.LowerBound))
		}
	})
}

// keepsOrder says whether a table rises in ohms and its shares go the sender's way.
func keepsOrder(table span.Table, d curve.Direction) bool {
	for i := 1; i < len(table); i++ {
		if !(table[i].Ohm > table[i-1].Ohm) || quantity.Share(d)*(table[i].Share-table[i-1].Share) < 0 {
			return false
		}
	}
	return true
}

// reach gives the greatest ohms that a setting must stay beyond.
func reach(c *curve.Curve, s scale.Scale) quantity.Ohm {
	lo, hi := quantity.Ohm(0), quantity.Ohm(1e6)
	for range 100 { // by asking the definition
		mid := (lo + hi) / 2
		e := span.Ends{Lower: 0, Upper: mid}
		if c.Direction() == curve.Falling {
			e = span.Ends{Lower: mid, Upper: 0}
		}
		if allowed(c, s, e, 0) {
			hi = mid
		} else {
			lo = mid
		}
	}
	return hi
}

func TestBestTableOnSteps(t *testing.T) {
	c := parabola(t, 21)
	s := onScale(t, scale.Mark, 1)
	best, err := span.BestTable(c, s, span.TableReadout{Points: 5, Readout: span.Readout{Step: 1}, ShareStep: 0.01}, span.UsualMargin())
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range best.Setting.(span.Table) {
		if r := math.Remainder(float64(e.Ohm), 1); math.Abs(r) > 1e-9 {
			t.Errorf("%g Ω isn't a whole number", float64(e.Ohm))
		}
		if r := math.Remainder(float64(e.Share), 0.01); math.Abs(r) > 1e-9 {
			t.Errorf("%g isn't a whole percent", float64(e.Share))
		}
	}
	if best.Worst < best.LowerBound || best.Worst > best.LowerBound+0.012 {
		t.Errorf("worst error %v, bound %v", best.Worst, best.LowerBound)
	}
	last := best.Setting.(span.Table)
	if last[len(last)-1].Ohm < 100+best.Margin {
		t.Errorf("the table ends at %v, inside the margin of %v", last[len(last)-1].Ohm, best.Margin)
	}
}

// The last link of a table may fall a little within its doors, and must then not
// be lifted out of them: without steps every table reaches its bound. About one
// in seventy of these senders has such a link.
func TestTablesReachTheirBound(t *testing.T) {
	random := rand.New(rand.NewPCG(11, 7))
	s := onScale(t, scale.Mark, 1)
	for range 600 {
		n := 4 + random.IntN(11)
		bend, noise := 1.6*random.Float64()-0.8, 0.02*random.Float64()
		var sheet curve.Sheet
		for i := range n {
			mark := 0.8 * float64(i) / float64(n-1)
			share := mark + bend*mark*(1-mark) + noise*(2*random.Float64()-1)
			sheet.Readings = append(sheet.Readings, curve.Reading{Mark: mark, Ohm: quantity.Ohm(math.Round(10*max(0, 20+150*share)) / 10)})
		}
		c, err := curve.Fit(sheet, curve.Options{})
		if err != nil {
			continue
		}
		best, err := span.BestTable(c, s, span.TableReadout{Points: 4}, span.UsualMargin())
		if err != nil {
			t.Fatal(err)
		}
		if gap := best.Worst - best.LowerBound; gap > 1e-8 {
			t.Fatalf("%v: worst error %.6f, bound %.6f", best.Setting, float64(best.Worst), float64(best.LowerBound))
		}
	}
}
