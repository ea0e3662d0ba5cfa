package flow

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"gaugewright/internal/quantity"
	"gaugewright/internal/watch"
	"pgregory.net/rapid"
)

// sipped is a tank that is read every five minutes and used by many small draws between
// 7 in the morning and 11 at night; what else is drawn at an hour is given in points an
// hour.
func sipped(seed uint64, hours float64, more func(h float64) float64) *Tracker {
	r := rand.New(rand.NewPCG(seed, 9))
	k := New(Config{})
	x := 95.0
	for h := 0.0; h < hours; h += 1. / 12 {
		if hour := math.Mod(h, 24); hour >= 7 && hour < 23 && r.Float64() < 0.09 {
			x -= 0.7 * r.Float64()
		}
		x -= more(h) / 12
		k.Take(watch.Level{Time: begin.Add(time.Duration(h * float64(time.Hour))), Shown: true, Motion: watch.Standing, U: 0.001,
			Share: quantity.Share((x + 0.12*r.NormFloat64()) / 100), Raw: math.NaN()})
	}
	return k
}

// TestLeakBesideDraws: a slow leak beside daily draws is told by the nights before 5
// points were lost, one that is mended stays in the list where it went on for more than a
// day, and what is drawn for some hours, or comes and goes, was use.
func TestLeakBesideDraws(t *testing.T) {
	from := func(begin, end, rate float64) func(h float64) float64 {
		return func(h float64) float64 {
			if h >= begin && h < end {
				return rate
			}
			return 0
		}
	}
	for _, c := range []struct {
		name  string
		hours float64
		more  func(h float64) float64
		leaks int
		rate  float64
		ended bool
		wrong int // of four may tell more
	}{
		{"nothing", 200, from(0, 0, 0), 0, 0, false, 0},
		{"0.06 points an hour", 66 + 83, from(66, 1e9, 0.06), 1, 0.06, false, 0},
		{"0.1 points an hour", 66 + 50, from(66, 1e9, 0.1), 1, 0.1, false, 0},
		{"0.2 points an hour", 66 + 25, from(66, 1e9, 0.2), 1, 0.2, false, 0},
		{"mended after a day and a half", 150, from(66, 102, 0.25), 1, 0.25, true, 0},
		{"a heater for a night", 120, from(68, 80, 0.6), 0, 0, false, 1},
		{"a heater for three nights", 160, func(h float64) float64 {
			return from(68, 80, 0.6)(h) + from(92, 104, 0.6)(h) + from(116, 128, 0.6)(h)
		}, 0, 0, false, 1},
		{"the same from the first reading", 120, from(0, 1e9, 0.2), 0, 0, false, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			const seeds = 4
			missed, wrong := 0, 0
			for seed := range uint64(seeds) {
				var leaks []Event
				for _, e := range sipped(seed, c.hours, c.more).Events() {
					if e.Kind == Leak {
						leaks = append(leaks, e)
					}
				}
				if len(leaks) < c.leaks {
					missed++
					continue
				}
				if len(leaks) > c.leaks {
					wrong++
					continue
				}
				for _, e := range leaks {
					if got := 100 * e.PerHour; got < 0.6*c.rate || got > 1.6*c.rate || e.Open() == c.ended {
						t.Errorf("seed %d: %s; expected %.2f points an hour, ended %v", seed, say(e), c.rate, c.ended)
					}
				}
			}
			if missed > 1 || wrong > c.wrong {
				t.Errorf("missed in %d of %d, and more than %d told in %d; expected 1 and %d at most", missed, seeds, c.leaks, wrong, c.wrong)
			}
		})
	}
}

// TestLeast: the least that is lost in a stretch is never more than what is lost in one of
// them, nor than its part of what is lost in all; and it rises by what leaks.
func TestLeast(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		falls := rapid.SliceOfN(rapid.Float64Range(-1, 3), 20, 80).Draw(rt, "falls")
		m := rapid.Int32Range(2, 8).Draw(rt, "stretch")
		leak := rapid.Float64Range(0, 1).Draw(rt, "leak")
		var b, more bins
		for i, v := range falls {
			b.put(int64(i), bin{Fall: v, Tied: true, Known: true})
			more.put(int64(i), bin{Fall: v + leak, Tied: true, Known: true})
		}
		var f, g floors
		b.floors(&f, 0)
		more.floors(&g, 0)
		n := int32(len(falls))
		least, known := f.least(0, n, m)
		if known != n-m+1 {
			rt.Fatalf("%d stretches; expected %d", known, n-m+1)
		}
		whole := n / m * m
		all, _ := f.lost(0, whole)
		if least > all*float64(m)/float64(whole)+1e-9 {
			rt.Fatalf("the least of %d half hours is %g; all %d lost %g", m, least, whole, all)
		}
		if v, ok := f.lost(n/2-m, m); ok && v < least {
			rt.Fatalf("a stretch lost %g, less than the least, %g", v, least)
		}
		if with, _ := g.least(0, n, m); math.Abs(with-least-leak*float64(m)) > 1e-9 {
			rt.Fatalf("a leak of %g in each of %d half hours raises the least by %g", leak, m, with-least)
		}
	})
}
