package flow

import "time"

// view is the half hours from the newest back, prepared to be looked at over many
// spans.
type view struct {
	n            int32
	hour         int32 // of the day, of the newest, in the zone
	three        [binsSize + 1]float64
	threes       [binsSize + 1]float64 // sums of three quiet rates in a row, and of how many
	sum, count   [binsSize + 1]float64 // of all newer than a place
	jumps, pairs [binsSize + 1]float64 // the same for the squared jumps from one to the next
}

func (b *bins) view(w *view, zone *time.Location) {
	w.n = b.Has
	w.hour = int32(moment(b.Cell * halfHour).In(zone).Hour())
	var last *bin
	for i := range b.Has {
		v := b.back(i)
		w.sum[i+1], w.count[i+1] = w.sum[i], w.count[i]
		w.jumps[i+1], w.pairs[i+1] = w.jumps[i], w.pairs[i]
		if !v.Known {
			last = nil
			continue
		}
		w.sum[i+1] += v.Quiet
		w.count[i+1]++
		for j := max(i-1, 0); j <= min(i+1, b.Has-1); j++ {
			w.three[j] += v.Quiet
			w.threes[j]++
		}
		if last != nil {
			d := v.Quiet - last.Quiet
			// A difference of two differences of levels half an hour apart has 24 times the
			// variance of a level, in (points/h)².
			w.jumps[i+1] += max(0, d*d/2-12*v.U*v.U)
			w.pairs[i+1]++
		}
		last = v
	}
}

// same gives the mean quiet rate of the same half hour, and those beside it, on the
// days before the newest k half hours, and of how many there are.
func (w *view) same(i, k int32) (mean, n float64) {
	for d := (k-i)/48*48 + 48; i+d < w.n && n < 9; d += 48 {
		mean += w.three[i+d]
		n += w.threes[i+d]
	}
	if n > 0 {
		mean /= n
	}
	return mean, n
}

// scatter gives the variance of the quiet rate from one half hour to the next between
// two places, (points/h)², beyond what the doubt of the levels makes of it.
func (w *view) scatter(from, to int32) float64 {
	n := w.pairs[to] - w.pairs[from]
	if n < 4 {
		return 0
	}
	return (w.jumps[to] - w.jumps[from]) / n
}
