package kin

import (
	"math"
	"math/rand/v2"
	"testing"

	"gaugewright/internal/curve"
)

func tally(t *testing.T, v invented, units, perBatch, readings, runs int) (covered, width, refused, strange, accepted float64) {
	r := rand.New(rand.NewPCG(20251103, uint64(units)))
	looks := 0
	other := v
	other.hump += 0.05
	for range runs {
		g, err := v.gathered(t, r, units, perBatch).Gather()
		if err != nil {
			t.Fatal(err)
		}
		plan, err := g.Known.Plan(readings, curve.Options{})
		if err != nil {
			t.Fatal(err)
		}
		marks := make([]float64, readings)
		for i, n := range plan.Next {
			marks[i] = n.Mark
		}
		for range 4 {
			b := v.batch(r)
			s := v.unit(r, b)
			c, verdict, err := g.Known.With(v.bench(r, s, marks, 1), curve.Options{})
			if err != nil {
				t.Fatal(err)
			}
			if verdict.Judgement == Refused {
				refused++
			}
			if verdict.Judgement == Accepted {
				accepted++
			}
			for k := range 21 {
				mark := float64(k) / 20
				a := c.Ohm(mark, curve.Refuse)
				if math.Abs(float64(a.Ohm)-s(mark)) <= 2*float64(a.UOhm) {
					covered++
				}
				width += 2 * float64(a.UOhm) / inventedSpan
				looks++
			}
			alien := other.unit(r, b)
			_, verdict, err = g.Known.With(v.bench(r, alien, marks, 1), curve.Options{})
			if err == nil && verdict.Judgement == Refused {
				strange++
			}
		}
	}
	n := float64(4 * runs)
	return covered / float64(looks), width / float64(looks), refused / n, strange / n, accepted / n
}

func TestLook(t *testing.T) {
	for _, u := range []struct{ n, per int }{{2, 1}, {3, 1}, {5, 2}, {8, 2}, {8, 4}, {8, 8}, {20, 5}} {
		for _, k := range []int{2, 3, 5} {
			c, w, f, s, a := tally(t, usual, u.n, u.per, k, 150)
			t.Logf("%2d units by %d, %d readings: covered %.3f ±%.4f of span, refused %.4f, other refused %.3f accepted %.3f", u.n, u.per, k, c, w, f, s, a)
		}
	}
}
