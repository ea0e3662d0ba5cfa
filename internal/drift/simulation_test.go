package drift_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"gaugewright/internal/drift"
)

func TestTrial(t *testing.T) {
	const many = 400
	for _, normal := range []bool{true, false} {
		for _, s := range senders {
			o := occasion{rand.New(rand.NewPCG(1, 2)), normal}
			alarms := 0
			pw := 0.0
			var sum [4]int
			var exp [4]float64
			for range many {
				c := record(t, o, s.at)
				r := compare(t, c, o.bench(s.at, 1, fiveMarks...), drift.Options{})
				if r.Changed {
					alarms++
				}
				span := math.Abs(s.at(1) - s.at(0))
				for k, f := range []struct {
					c  drift.Cause
					at func(m float64) float64
				}{
					{drift.Series, func(m float64) float64 { return s.at(m) + 0.03*span }},
					{drift.Gain, func(m float64) float64 { return s.at(m) * 1.03 }},
					{drift.Shift, func(m float64) float64 { return s.at(m + 0.03) }},
				} {
					r := compare(t, c, o.bench(f.at, 1, fiveMarks...), drift.Options{})
					if r.Changed {
						sum[k]++
					}
					for _, p := range r.Power {
						if p.Cause == f.c {
							exp[k] += p.Points / many
						}
					}
				}
			}
			t.Log(normal, s.name, alarms, pw, sum, exp)
		}
	}
}

func BenchmarkCompare(b *testing.B) {
	o := occasion{rand.New(rand.NewPCG(1, 2)), false}
	c := record(b, o, senders[2].at)
	later := o.bench(func(m float64) float64 { return senders[2].at(m) + 5 }, 1, 0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9)
	for b.Loop() {
		compare(b, c, later, drift.Options{})
	}
}
