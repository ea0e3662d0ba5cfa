package flow

import "math"

// floorStill is that where the level stood still for most of a day, and then falls as
// evenly as nothing does that people draw by turning it on and off.
func (f *floors) floorStill(k int32) (o found) {
	before := f.n - k
	if before < 24 || k < 10 || k < 16 && before < 40 {
		return o
	}
	lost, ok := f.lost(0, k)
	rate := lost / (0.5 * float64(k))
	if !ok || lost < leastFall || rate < 0.1 {
		return o
	}
	for i := int32(0); i+2 <= k; i++ {
		if v, _ := f.lost(i, 2); math.Abs(v-rate) > 0.35*rate+3*f.u {
			return o
		}
	}
	low, high := 0.0, 0.0
	for i := k; i < f.n; i++ {
		d := f.sum[i+1] - f.sum[k]
		low, high = min(low, d), max(high, d)
	}
	if rest := high - low; f.tied[f.n]-f.tied[k] < before*4/5 || rest > 0.3+4*f.u || rest > 0.2*lost {
		return o
	}
	o.span, o.rate, o.lost, o.z = k, rate, lost, lost/max(f.u, 0.01)
	o.guard = leastFall + 3*max(0, 1-float64(before)/40)
	o.gain = lost * lost / float64(k)
	o.ok = lost > o.guard
	return o
}
