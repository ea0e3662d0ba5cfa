package sitting

import (
	"math"
	"strings"
	"testing"

	"gaugewright/internal/curve"
	"gaugewright/internal/job"
	"gaugewright/internal/kin"
	"gaugewright/internal/quantity"
)

// An invented type whose units differ by an offset of 3 Ω and a gain of 3 %, over a
// dial of 10 to 180 Ω: what one reading tells of both can be worked out by hand.
func ofInventedType(readings ...job.Reading) job.Tank {
	k := dial(readings...)
	known := kin.Known{From: "sender type invented, 12 units of 4 batches", Marks: "mark_pct", Gives: "ohm", Units: 12, Batches: 4, DF: 11, Noise: 0.2, NoiseDF: 40}
	for mark := 0.0; mark <= 100; mark += 10 {
		value := 10 + 1.7*mark
		gain := 0.03 * (value - 95)
		known.Knots = append(known.Knots, kin.Knot{Mark: mark, Value: value, U: math.Sqrt(9 + gain*gain + 0.04), Modes: []float64{3, gain}})
	}
	k.Sender.Known = &known
	return k
}

func TestSuggestGoesByTheType(t *testing.T) {
	k := ofInventedType()
	n := Suggest(k, curve.Unstated, nil)
	// With offset and gain independent about the middle, the variance that a reading
	// of gain share g leaves on the whole is least where it takes most of both: worked
	// out here by conditioning on one reading of each knot.
	want, least := 0.0, math.Inf(1)
	for _, at := range k.Sender.Known.Knots {
		v := at.U*at.U + 0.04
		sum := 0.0
		for _, q := range k.Sender.Known.Knots {
			cov := q.Modes[0]*at.Modes[0] + q.Modes[1]*at.Modes[1]
			sum += q.U*q.U - cov*cov/v
		}
		if sum < least {
			want, least = at.Mark, sum
		}
	}
	if !n.Known || math.Abs(n.Mark*100-want) > 1e-9 || !strings.HasPrefix(n.Words, "begin at ") {
		t.Fatalf("the first mark is %+v, expected %g %%", n, want)
	}
	// It takes two or three readings of a unit that is of the type, not twenty.
	for len(k.Bench.Readings) < 12 {
		if n = Suggest(k, curve.Unstated, nil); !n.Known {
			break
		}
		mark := n.Mark * 100
		k.Bench.Readings = append(k.Bench.Readings, at(quantity.Round(mark, 6), quantity.Round(12+1.72*mark, 2), ""))
	}
	if got := len(k.Bench.Readings); got < 2 || got > 4 || !strings.Contains(n.Words, "accepted as one of its type") {
		t.Errorf("%d readings, and then: %s", got, n.Words)
	}
}

// One that is not of the type is read in full.
func TestSuggestReadsAStrangerInFull(t *testing.T) {
	k := ofInventedType(at(0, 150, ""), at(50, 160, ""), at(100, 170, ""))
	if n := Suggest(k, curve.Unstated, nil); !n.Known || !n.First || !strings.Contains(n.Words, "it isn't of its type, so it is read in full") {
		t.Errorf("%+v", n)
	}
}

// What is poured stays within the permitted fill also where the type's units were
// read beyond it.
func TestSuggestByTheTypeStaysWithinReach(t *testing.T) {
	k := ofInventedType()
	full := 60.0
	k.Bench.FullMark = &full
	for range 4 {
		n := Suggest(k, curve.Unstated, nil)
		if n.Known && n.Mark > 0.6+1e-9 {
			t.Fatalf("beyond the reach: %+v", n)
		}
		k.Bench.Readings = append(k.Bench.Readings, at(n.Mark*100, 12+172*n.Mark, ""))
	}
}

// Shorted test leads that are stated are taken off, and a reading that doesn't go
// with the others is found all the same.
func TestDoubtsWithTestLeads(t *testing.T) {
	k := took("0u 10u 20u 30u 40u=90 50u 60u 70u 80u 90u 100u")
	for i := range k.Bench.Readings {
		k.Bench.Readings[i].Ohm += 0.3
	}
	k.Bench.Doubts = &job.Doubts{LeadsOhm: 0.3}
	for i, words := range Doubts(k) {
		if (words != "") != (i == 4) {
			t.Errorf("reading %d: %q", i+1, words)
		}
	}
	if n := Suggest(k, curve.Unstated, nil); n.Mark != 0.4 || !strings.Contains(n.Words, "once more") {
		t.Errorf("%+v", n)
	}
}
