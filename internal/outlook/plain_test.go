package outlook

import "math/rand/v2"

// tapDays is use in openings of a tap: many a day, each a little.
func tapDays(perDay int, vary float64) func(*rand.Rand, int, int32) []float64 {
	return func(r *rand.Rand, n int, _ int32) []float64 {
		out := make([]float64, n)
		for i := range out {
			want := float64(perDay) * logNormal(r, vary)
			for left := r.ExpFloat64(); left < want; left += r.ExpFloat64() {
				out[i] += (r.ExpFloat64() + r.ExpFloat64()) / 2 / float64(perDay)
			}
		}
		return out
	}
}

// plain are people whose habits don't change: their intervals mustn't be too wide.
var plain = []person{
	{"draws without a pause", daysOf(func(*rand.Rand) func(int, int) float64 {
		return func(int, int) float64 { return 1 }
	}, 0), between24(0, 24), 0, 0.03},
	{"fridge that cycles", daysOf(func(*rand.Rand) func(int, int) float64 {
		return func(int, int) float64 { return 1 }
	}, 0.03), between24(0, 24), 0.4, 0.05},
	{"taps through the day", tapDays(18, 0.25), showers(), 0.5, 0.03},
	{"taps, each day alike", tapDays(20, 0), between24(7, 23), 0.5, 0.03},
	{"cooks most evenings", daysOf(func(r *rand.Rand) func(int, int) float64 {
		return func(int, int) float64 {
			if r.Float64() < 0.15 {
				return 0.15
			}
			return 1.1
		}
	}, 0.35), func() [24]float64 {
		h := between24(17, 21)
		h[7], h[8] = 0.3, 0.3
		return h
	}(), 0.3, 0.03},
	{"taps and a heater", tapDays(12, 0.2), func() [24]float64 {
		h := between24(0, 24)
		for i := range h {
			h[i] += 2 * showers()[i]
		}
		return h
	}(), 0.3, 0.04},
}
