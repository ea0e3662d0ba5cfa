package flow

import (
	"math"
	"time"
)

// view is the half hours from the newest back, prepared to be looked at over many
// spans.
type view struct {
	n      int32
	hour   int32 // of the day, of the newest, in the zone
	three  [binsSize + 1]float64
	threes [binsSize + 1]float64 // sums of three quiet rates in a row, and of how many
	net    [binsSize + 1]float64 // what the level fell by in the newest so many, points
	// What same gave, by the half hour and by how many days back it begins to look: spans
	// of nearly the same length ask for the same.
	kept [150][4]sameDays
}

// sameDays is what same gives.
type sameDays struct {
	mean, days, apart float64
	known             bool
}

func (b *bins) view(w *view, zone *time.Location) {
	w.n = b.Has
	w.hour = int32(moment(b.Cell * halfHour).In(zone).Hour())
	for i := range b.Has {
		v := b.back(i)
		w.net[i+1] = w.net[i]
		if !v.Known {
			continue
		}
		w.net[i+1] += v.Net
		for j := max(i-1, 0); j <= min(i+1, b.Has-1); j++ {
			w.three[j] += v.Quiet
			w.threes[j]++
		}
	}
}

// same gives the mean quiet rate of the same half hour, and those beside it, on the
// days before the newest k half hours, of how many days, and how far one such day may
// be from another, points/h.
func (w *view) same(b *bins, i, k int32) (mean, days, apart float64) {
	from := (k - i + 47) / 48
	if int(i) >= len(w.kept) || from < 1 || from > 4 {
		return w.reckon(b, i, k)
	}
	v := &w.kept[i][from-1]
	if !v.known {
		v.mean, v.days, v.apart = w.reckon(b, i, k)
		v.known = true
	}
	return v.mean, v.days, v.apart
}

// reckon works out what same gives.
func (w *view) reckon(b *bins, i, k int32) (mean, days, apart float64) {
	var x [9]float64
	for d := (k - i + 47) / 48 * 48; i+d < w.n && days < 8; d += 48 {
		if i+d < k || w.threes[i+d] == 0 {
			continue
		}
		x[int(days)] = w.three[i+d] / w.threes[i+d]
		mean += x[int(days)]
		days++
	}
	if days == 0 {
		return 0, 0, 0
	}
	mean /= days
	v := 0.3 * mean * 0.3 * mean // common practice, no source
	n := 1.0
	for _, o := range x[:int(days)] {
		v += (o - mean) * (o - mean)
		n++
	}
	// Less what noise alone makes of three half hours in a row: it doesn't add up.
	u := b.back(i).U
	v = max(0.02*mean*mean, 0.5*u*u, v/max(1, n-1)-0.9*u*u)
	return mean, days, math.Sqrt(v * (1 + 1/days))
}
