package drift_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"gaugewright/internal/curve"
	"gaugewright/internal/drift"
)

// atMost gives the probability of k or fewer of n at a rate.
func atMost(k, n int, rate float64) float64 {
	return distuv.Binomial{N: float64(n), P: rate}.CDF(float64(k))
}

// Senders that haven't changed, of every shape, with a record of their own each,
// and five readings later: 1 in 100 is said to have changed. With normal doubts
// the rate is held on both sides, by the exact binomial bounds of 1 in 1000; as
// the doubts really are, rectangular for the most part, it may be lower and is
// held above. With normal doubts p is about uniform besides (Kolmogorov–Smirnov,
// 1.63/√n is its limit at 1 %; any textbook, from memory).
func TestRateOfFalseAlarms(t *testing.T) {
	for _, normal := range []bool{true, false} {
		t.Run(map[bool]string{true: "normal", false: "as they are"}[normal], func(t *testing.T) {
			t.Parallel()
			const each = 140 / raced
			alarms, alarms5, many := 0, 0, 0
			for k, s := range senders {
				o := occasion{rand.New(rand.NewPCG(uint64(k), 11)), normal}
				for range each {
					r := compare(t, record(t, o, s.at), o.bench(s.at, 1, fiveMarks...), drift.Options{})
					if r.Changed {
						alarms++
					}
					if r.P < 0.05 {
						alarms5++
					}
					many++
				}
			}
			t.Logf("%d of %d said to have changed at 1 %%, %d at 5 %%", alarms, many, alarms5)
			for _, v := range []struct {
				alarms int
				rate   float64
			}{{alarms, 0.01}, {alarms5, 0.05}} {
				if atMost(v.alarms-1, many, v.rate) > 0.999 {
					t.Errorf("%d false alarms in %d; %g %% were promised", v.alarms, many, v.rate*100)
				}
				if normal && atMost(v.alarms, many, v.rate) < 0.001 {
					t.Errorf("only %d false alarms in %d; with normal doubts %g %% are expected", v.alarms, many, v.rate*100)
				}
			}
		})
	}
}

// At the record's own marks, with normal doubts, the covariance is that of the
// simulation, and p is uniform where nothing changed: Kolmogorov–Smirnov, whose
// limit at 1 % is 1.63/√n (any textbook, from memory). Between its marks the
// record is taken to be known no better than at them, which makes p larger.
func TestPIsUniform(t *testing.T) {
	t.Parallel()
	const each = 80 / raced
	var ps []float64
	for k, s := range senders {
		o := occasion{rand.New(rand.NewPCG(uint64(k), 14)), true}
		for range each {
			ps = append(ps, compare(t, record(t, o, s.at), o.bench(s.at, 1, 0.1, 0.3, 0.5, 0.7, 0.9), drift.Options{}).P)
		}
	}
	slices.Sort(ps)
	far, n := 0.0, float64(len(ps))
	for i, p := range ps {
		far = max(far, math.Abs(p-float64(i)/n), math.Abs(p-float64(i+1)/n))
	}
	t.Logf("p is at the most %.3f from uniform in %d", far, len(ps))
	if limit := 1.63 / math.Sqrt(n); far > limit {
		t.Errorf("p is %.3f from uniform; the limit is %.3f", far, limit)
	}
}

// A drift of 3 % of the span, five readings, an ordinary bench: it is found as
// often as the power says, whatever its cause. The power is worked out before
// the readings of the drift are made, from those where nothing changed.
func TestPowerIsKept(t *testing.T) {
	causes := []struct {
		cause drift.Cause
		at    func(s sender) func(float64) float64 // 3 % of the span where it moves most
	}{
		{drift.Series, func(s sender) func(float64) float64 {
			return func(m float64) float64 { return s.at(m) + 0.03*spanOf(s) }
		}},
		{drift.Gain, func(s sender) func(float64) float64 {
			return func(m float64) float64 {
				return s.at(m) * (1 + 0.03*spanOf(s)/mostOf(s, func(v float64) float64 { return v }))
			}
		}},
		{drift.Leak, func(s sender) func(float64) float64 {
			return func(m float64) float64 {
				return s.at(m) - 0.03*spanOf(s)/mostOf(s, func(v float64) float64 { return v * v })*s.at(m)*s.at(m)
			}
		}},
	}
	for _, c := range causes {
		t.Run(string(c.cause), func(t *testing.T) {
			t.Parallel()
			const each = 40 / raced
			found, many := 0, 0
			said := 0.0
			for k, s := range senders {
				o := occasion{rand.New(rand.NewPCG(uint64(k), 12)), true}
				for range each {
					rec := record(t, o, s.at)
					same := compare(t, rec, o.bench(s.at, 1, fiveMarks...), drift.Options{})
					p, ok := same.Finds(c.cause, 0.03*spanOf(s))
					if !ok {
						t.Fatalf("no power for %s", c.cause)
					}
					said += p
					many++
					if compare(t, rec, o.bench(c.at(s), 1, fiveMarks...), drift.Options{}).Changed {
						found++
					}
				}
			}
			t.Logf("3 %% of the span by %s: found %d of %d, %.0f expected", c.cause, found, many, said)
			// The number found scatters at the most as that of many alike.
			expected := said / float64(many)
			if p := atMost(found, many, expected); p < 0.001 {
				t.Errorf("found %d of %d; the power says %.1f %%", found, many, 100*expected)
			}
			if p := atMost(found-1, many, expected); p > 0.999 {
				t.Errorf("found %d of %d, more than the power says: %.1f %%", found, many, 100*expected)
			}
			if c.cause == drift.Series && found < many*95/100 {
				t.Errorf("3 %% in series found only %d times of %d", found, many)
			}
		})
	}
}

func spanOf(s sender) float64 { return math.Abs(s.at(1) - s.at(0)) }

// mostOf gives the greatest of a figure over the five marks.
func mostOf(s sender, of func(v float64) float64) float64 {
	most := 0.0
	for _, m := range fiveMarks {
		most = max(most, of(s.at(m)))
	}
	return most
}

// Where nothing was read twice, the floor stands for the scatter, and a sender
// no worse than that isn't accused.
func TestRateWithoutRepeats(t *testing.T) {
	o := occasion{rand.New(rand.NewPCG(5, 13)), true}
	alarms := 0
	const many = 120 / raced
	for range many {
		s := senders[1]
		c, err := curve.Fit(o.bench(s.at, 1, recordMarks...), curve.Options{Doubts: ordinary, KeepAll: true})
		if err != nil {
			t.Fatal(err)
		}
		if compare(t, c, o.bench(s.at, 1, fiveMarks...), drift.Options{}).Changed {
			alarms++
		}
	}
	if atMost(alarms-1, many, 0.01) > 0.999 {
		t.Errorf("%d false alarms in %d", alarms, many)
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
