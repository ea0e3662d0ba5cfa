package flow

import (
	"math"
	"testing"
	"time"

	"gaugewright/internal/quantity"
	"gaugewright/internal/watch"
)

// TestAllIsAccountedFor: what the model of the use has been given is the level at the
// start less that at the end, and what came in, less what leaked or was let off: in every
// kind of history, its first and last half hour among it.
func TestAllIsAccountedFor(t *testing.T) {
	type made struct {
		name  string
		every time.Duration
		level func(h float64) float64 // points
		gap   func(h float64) bool
	}
	steps := func(h, x float64, at ...float64) float64 { // 10 points in 3 minutes each
		for _, a := range at {
			x -= 10 * min(max((h-a)*20, 0), 1)
		}
		return x
	}
	for _, m := range []made{
		{"steady", time.Minute, func(h float64) float64 { return 90 - 0.8*h }, nil},
		{"runs dry", 30 * time.Second, func(h float64) float64 { return max(0, 84-2.2*h) }, nil},
		{"taps", 10 * time.Second, func(h float64) float64 { return steps(h, 90, 7.2, 8.1, 12.5, 19.3, 31.4, 32.1, 43.3, 47.8) }, nil},
		{"at the end", time.Minute, func(h float64) float64 { return 90 - 20*max(0, h-47.4) }, nil},
		{"in the first half hour", time.Minute, func(h float64) float64 { return 90 - 30*min(h, 0.4) }, nil},
		{"in a gap", time.Minute, func(h float64) float64 { return 90 - h }, func(h float64) bool { return h > 14.2 && h < 21.7 }},
		{"gap up to the end", time.Minute, func(h float64) float64 { return 90 - h }, func(h float64) bool { return h > 40.2 && h < 47.5 }},
		{"filled", time.Minute, func(h float64) float64 { return 60 - h + 50*min(max((h-20.3)*8, 0), 1) }, nil},
		{"filled at the end", time.Minute, func(h float64) float64 { return 60 - h + 40*min(max((h-47)*8, 0), 1) }, nil},
		{"stuck", time.Minute, func(h float64) float64 {
			if h > 20 && h < 30 {
				return 70
			}
			return 90 - h
		}, nil},
	} {
		t.Run(m.name, func(t *testing.T) {
			k := New(Config{})
			first, last := math.NaN(), 0.0
			for at := time.Duration(0); at < 48*time.Hour; at += m.every {
				h := at.Hours()
				if m.gap != nil && m.gap(h) {
					continue
				}
				last = m.level(h - 1./60) // the books are made up to the last whole minute
				if at == 0 {
					last = m.level(0)
				}
				if math.IsNaN(first) {
					first = last
				}
				k.Take(watch.Level{Time: begin.Add(at), Shown: true, Motion: watch.Standing, U: 0.001, Share: quantity.Share(last / 100), Raw: math.NaN()})
			}
			r := k.Model().Rate()
			in := 0.0
			for _, e := range k.Events() {
				switch e.Kind {
				case Refill:
					in += 100 * e.Amount
				case Leak, Drain, Drop:
					in -= 100 * e.Amount
				}
			}
			want := first - last + in
			if got := 100 * r.Mid * 2; math.Abs(got-want) > 0.5+0.002*want {
				t.Errorf("%.2f points in two days; expected %.2f (events %+v)", got, want, k.Events())
			}
		})
	}
}
