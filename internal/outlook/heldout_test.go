package outlook

import (
	"flag"
	"math"
	"math/rand/v2"
	"testing"
)

// full runs the tables of docs/outlook.md.
var full = flag.Bool("full", false, "score hundreds of made-up histories of each kind")

// kept are kinds of users that were written down after the model was done, and that
// it wasn't changed for.
var kept = []person{
	{"four days on, four off", daysOf(func(r *rand.Rand) func(int, int) float64 {
		at := r.IntN(8)
		return func(i, _ int) float64 {
			if (i+at)%8 >= 4 {
				return 0
			}
			return 1
		}
	}, 0.3), between24(6, 22), 0.5, 0.05},
	{"Friday's club bar", daysOf(func(r *rand.Rand) func(int, int) float64 {
		return func(_, wd int) float64 {
			if wd == 5 && r.Float64() < 0.9 {
				return 3
			}
			return 0.1
		}
	}, 0.35), between24(18, 24), 0.3, 0.06},
	{"school kitchen with breaks", daysOf(func(r *rand.Rand) func(int, int) float64 {
		at := r.IntN(49)
		return func(i, wd int) float64 {
			if wd == 0 || wd == 6 || (i+at)%49 < 9 {
				return 0
			}
			return 1
		}
	}, 0.15), between24(9, 14), 0.2, 0.05},
	{"couple with guests", daysOf(func(r *rand.Rand) func(int, int) float64 {
		guests := 0
		return func(_, wd int) float64 {
			if guests--; guests < 0 && r.Float64() < 0.06 {
				guests = 2 + r.IntN(5)
			}
			if guests >= 0 {
				return 2.2
			}
			return 0.8
		}
	}, 0.3), showers(), 0.6, 0.06},
	{"a tap now and then", func(r *rand.Rand, n int, _ int32) []float64 {
		out := make([]float64, n)
		for i := range out {
			for left := r.ExpFloat64(); left < 6; left += r.ExpFloat64() {
				out[i] += r.ExpFloat64() / 6
			}
		}
		return out
	}, between24(6, 23), 0.8, 0.05},
	{"getting thriftier", daysOf(func(*rand.Rand) func(int, int) float64 {
		return func(i, _ int) float64 { return 0.3 + 1.2/(1+float64(i)/60) }
	}, 0.3), between24(7, 23), 0.5, 0.05},
	{"fridge and evening cooking", daysOf(func(*rand.Rand) func(int, int) float64 {
		return func(_, wd int) float64 { return 0.8 + 0.1*float64(wd%3) }
	}, 0.2), func() [24]float64 {
		h := between24(0, 24)
		for i := range h {
			h[i] *= 0.3
		}
		h[18], h[19], h[20] = 3, 4, 3
		return h
	}(), 0.1, 0.06},
	{"on tour for weeks, home for weeks", daysOf(func(r *rand.Rand) func(int, int) float64 {
		in, left := true, 8+r.IntN(20)
		return func(int, int) float64 {
			if left--; left < 0 {
				in, left = !in, 8+r.IntN(20)
			}
			if in {
				return 1
			}
			return 0
		}
	}, 0.35), between24(7, 22), 0.5, 0.05},
}

// TestHeldOut scores forecasts of made-up histories: coverage between 85 and 95 %, and a
// CRPS that is a tenth better than that of both baselines, the last whole day's rate
// and the exponentially weighted one. Where habits never change, intervals may hold the
// truth more often: nobody can know beforehand that they won't. The whole table is in
// docs/outlook.md.
func TestHeldOut(t *testing.T) {
	each := 8
	if *full {
		each = 200
	}
	spans := []lengths{{0.3, 2}, {2, 10}, {10, 40}, {40, 200}}
	for _, set := range []struct {
		name   string
		people []person
		most   float64 // coverage
		better float64 // CRPS over the better baseline's, at most
	}{
		{"people as the model was made for", people, 0.95, 0.9},
		{"people of other kinds", kept, 0.95, 0.9},
		{"habits that never change", plain, 0.985, 1},
	} {
		var whole score
		for li, l := range spans {
			var all score
			for i := range set.people {
				var s score
				for k := range each {
					s.try(&set.people[i], 1_000_003+uint64(k)*7+uint64(li), l)
				}
				if *full {
					t.Logf("| %g to %g days | %s | %s", l.least, l.most, set.people[i].name, &s)
				}
				all.add(&s)
			}
			t.Logf("| %g to %g days | together | %s", l.least, l.most, &all)
			whole.add(&all)
		}
		t.Logf("| %s | together | %s", set.name, &whole)
		in := float64(whole.in) / float64(whole.n)
		// So few histories leave open one standard deviation.
		chance := math.Sqrt(0.85 * 0.15 / float64(whole.n))
		if in < 0.85-chance || in > set.most+chance {
			t.Errorf("%s: %d of %d intervals hold the truth, %.1f %%; want 85 to %.1f", set.name, whole.in, whole.n, 100*in, 100*set.most)
		}
		// The CRPS of the time's logarithm; of the time itself, where the longest count
		// most, only where habits differ.
		if whole.crps >= set.better*min(whole.crpsLast, whole.crpsMA) || set.better < 1 && whole.days >= set.better*min(whole.daysLast, whole.daysMA) {
			t.Errorf("%s: CRPS isn't as much better than both baselines': %s", set.name, &whole)
		}
	}
}
