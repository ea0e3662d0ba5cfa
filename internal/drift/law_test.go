package drift_test

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/internal/curve"
	"gaugewright/internal/drift"
	"gaugewright/internal/quantity"
)

// scaled gives a sheet and its doubts in another unit of the values.
func scaled(s curve.Sheet, d curve.Doubts, by quantity.Ohm) (curve.Sheet, curve.Doubts) {
	out := curve.Sheet{Unit: s.Unit, Signal: s.Signal}
	for _, r := range s.Readings {
		r.Ohm *= by
		out.Readings = append(out.Readings, r)
	}
	d.Meter.Step *= by
	d.Leads *= by
	d.LeadsU *= by
	return out, d
}

// pair draws a record and a later bench of one of the senders, perhaps changed.
// The later marks lie between the record's: at those the curve takes the slope
// of its lower side, which in a mirror is the other one.
func pair(t *rapid.T) (curve.Sheet, curve.Sheet) {
	s := rapid.SampledFrom(senders).Draw(t, "sender")
	o := occasion{rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1)), false}
	added := rapid.Float64Range(0, 8).Draw(t, "added")
	marks := rapid.SliceOfNDistinct(rapid.IntRange(0, 19), 1, 8, rapid.ID[int]).Draw(t, "marks")
	at := make([]float64, len(marks))
	for i, m := range marks {
		at[i] = float64(2*m+1) / 40
	}
	return o.bench(s.at, 2, recordMarks...), o.bench(func(m float64) float64 { return s.at(m) + added }, rapid.IntRange(1, 2).Draw(t, "repeats"), at...)
}

func fitted(t rapid.TB, s curve.Sheet, d curve.Doubts) *curve.Curve {
	c, err := curve.Fit(s, curve.Options{Doubts: d, KeepAll: true})
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func compared(t rapid.TB, c *curve.Curve, later curve.Sheet, d curve.Doubts, o drift.Options) drift.Result {
	r, err := drift.Compare(c, later, d, o)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func near(a, b, part float64) bool { return math.Abs(a-b) <= part*(math.Abs(a)+math.Abs(b))+1e-9 }

// Other units, another order of the readings, a mirror image: the same answer.
func TestLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		before, later := pair(t)
		c := fitted(t, before, ordinary)
		r := compared(t, c, later, ordinary, drift.Options{})

		by := rapid.SampledFrom([]quantity.Ohm{0.5, 2, 8}).Draw(t, "by")
		b2, d2 := scaled(before, ordinary, by)
		l2, _ := scaled(later, ordinary, by)
		s := compared(t, fitted(t, b2, d2), l2, d2, drift.Options{})
		if !near(r.Whole.Statistic, s.Whole.Statistic, 1e-6) || !near(r.Sharp.Statistic, s.Sharp.Statistic, 1e-6) || math.Abs(r.P-s.P) > 0.002 {
			t.Fatalf("in another unit: %+v %+v %g, %+v %+v %g", r.Whole, r.Sharp, r.P, s.Whole, s.Sharp, s.P)
		}

		mixed := curve.Sheet{Unit: later.Unit, Signal: later.Signal}
		for _, i := range rapid.Permutation(indices(len(later.Readings))).Draw(t, "order") {
			mixed.Readings = append(mixed.Readings, later.Readings[i])
		}
		m := compared(t, c, mixed, ordinary, drift.Options{})
		if x, y := asJSON(t, r), asJSON(t, m); x != y {
			t.Fatalf("in another order:\n%s\n%s", x, y)
		}

		mirror := func(s curve.Sheet) curve.Sheet {
			out := curve.Sheet{Unit: s.Unit, Signal: s.Signal}
			for _, r := range s.Readings {
				r.Mark = 1 - r.Mark
				out.Readings = append(out.Readings, r)
			}
			return out
		}
		w := compared(t, fitted(t, mirror(before), ordinary), mirror(later), ordinary, drift.Options{})
		if !near(r.Whole.Statistic, w.Whole.Statistic, 1e-6) || !near(r.Sharp.Statistic, w.Sharp.Statistic, 1e-6) || math.Abs(r.P-w.P) > 0.1*r.P+0.005 {
			t.Fatalf("in the mirror: %+v %+v %g, %+v %+v %g", r.Whole, r.Sharp, r.P, w.Whole, w.Sharp, w.P)
		}
	})
}

// A stricter rate never finds what a laxer one doesn't, its bounds are wider and
// it finds only larger changes.
func TestStricterFindsLess(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		before, later := pair(t)
		c := fitted(t, before, ordinary)
		strict := compared(t, c, later, ordinary, drift.Options{ErrorRate: 0.002})
		lax := compared(t, c, later, ordinary, drift.Options{ErrorRate: 0.05})
		if strict.Changed && !lax.Changed || strict.P != lax.P {
			t.Fatalf("at 0.2 %% %v (p %g), at 5 %% %v (p %g)", strict.Changed, strict.P, lax.Changed, lax.P)
		}
		for i := range strict.Rows {
			if strict.Rows[i].Bound <= lax.Rows[i].Bound {
				t.Fatalf("bounds %g and %g", strict.Rows[i].Bound, lax.Rows[i].Bound)
			}
		}
		for i := range strict.Power {
			if strict.Power[i].Change <= lax.Power[i].Change {
				t.Fatalf("least %+v and %+v", strict.Power[i], lax.Power[i])
			}
		}
	})
}

func indices(n int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = i
	}
	return out
}

func asJSON(t rapid.TB, v any) string {
	text, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}
