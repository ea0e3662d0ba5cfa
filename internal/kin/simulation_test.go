package kin

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"gaugewright/internal/curve"
)

// counts is what came of many invented types and their next units.
type counts struct {
	units                              int // next units
	covered, looks                     int // marks at which the band held the truth
	coveredAll                         int // units whose band held all of it
	refused, accepted                  int
	otherRefused                       int
	rms, rmsTen, rmsThree, rmsTypeOnly float64 // in parts of the span
	width                              float64 // mean half-width of the band, 2·U
}

// simulate gathers invented types anew, each time from other units, and reads
// new units of new batches at the planned marks; besides, units whose curve is
// bowed by so much more of the span.
func simulate(t *testing.T, v invented, units, perBatch, readings, runs int, bow float64) counts {
	t.Helper()
	r := rand.New(rand.NewPCG(20251103, uint64(units*100+perBatch*10+readings)))
	ten := []float64{0, 0.11, 0.22, 0.33, 0.44, 0.56, 0.67, 0.78, 0.89, 1}
	other := v
	other.hump += bow
	var n counts
	for range runs {
		g, err := v.gathered(t, r, units, perBatch).Gather()
		if err != nil {
			t.Fatal(err)
		}
		plan, err := g.Known.Plan(readings, curve.Options{})
		if err != nil {
			t.Fatal(err)
		}
		marks := make([]float64, readings)
		for i, next := range plan.Next {
			marks[i] = next.Mark
		}
		alone, err := g.Known.Curve()
		if err != nil {
			t.Fatal(err)
		}
		for range 2 {
			b := v.batch(r)
			s := v.unit(r, b)
			c, verdict, err := g.Known.With(v.bench(r, s, marks, 1), curve.Options{})
			if err != nil {
				t.Fatal(err)
			}
			fitted, err := curve.Fit(v.bench(r, s, ten, 1), curve.Options{})
			if err != nil {
				t.Fatal(err)
			}
			three, err := curve.Fit(v.bench(r, s, []float64{0, 0.5, 1}, 1), curve.Options{})
			if err != nil {
				t.Fatal(err)
			}
			n.units++
			switch verdict.Judgement {
			case Refused:
				n.refused++
			case Accepted:
				n.accepted++
			}
			all := true
			for k := range 21 {
				mark := float64(k) / 20
				a := c.Ohm(mark, curve.Refuse)
				n.looks++
				n.width += 2 * float64(a.UOhm) / inventedSpan
				if off := func(c *curve.Curve) float64 { return float64(c.Ohm(mark, curve.Refuse).Ohm) - s(mark) }; true {
					if math.Abs(off(c)) <= 2*float64(a.UOhm) {
						n.covered++
					} else {
						all = false
					}
					n.rms += square(off(c) / inventedSpan)
					n.rmsTen += square(off(fitted) / inventedSpan)
					n.rmsThree += square(off(three) / inventedSpan)
					n.rmsTypeOnly += square(off(alone) / inventedSpan)
				}
			}
			if all {
				n.coveredAll++
			}
			if _, verdict, err := g.Known.With(v.bench(r, other.unit(r, b), marks, 1), curve.Options{}); err == nil && verdict.Judgement == Refused {
				n.otherRefused++
			}
		}
	}
	for _, sum := range []*float64{&n.rms, &n.rmsTen, &n.rmsThree, &n.rmsTypeOnly} {
		*sum = math.Sqrt(*sum / float64(n.looks))
	}
	n.width /= float64(n.looks)
	return n
}

// tooMany says whether so many of n at a rate p or less would come by chance
// less than once in 1000, so that the fixed seed isn't a matter of luck.
func tooMany(k, n int, p float64) bool {
	return k > 0 && 1-distuv.Binomial{N: float64(n), P: p}.CDF(float64(k-1)) < 0.001
}

// What is promised of the next unit, on types of 3 to 20 units gathered anew
// each time: 95 % bands hold the truth at no fewer marks than that, and no more
// than 1 unit in 100 is refused wrongly.
//
// The marks of one unit hang together, so the bound for coverage goes by the
// number of units; it is a bound for each mark by itself, averaged over them.
func TestPromises(t *testing.T) {
	runs := 200
	if testing.Short() {
		runs = 40
	}
	for _, c := range []struct {
		units, perBatch, readings int
		least                     float64 // power against a bow of 5 % of span
	}{{3, 1, 3, 0.1}, {5, 2, 3, 0.25}, {8, 2, 3, 0.5}, {8, 4, 2, 0.02}, {8, 8, 3, 0.2}, {20, 5, 3, 0.85}} {
		n := simulate(t, usual, c.units, c.perBatch, c.readings, runs, 0.05)
		held := float64(n.covered) / float64(n.looks)
		t.Logf("%2d units, %d to a batch, %d readings: band ±%.2f %% holds %.1f %% of marks, refused %.2f %%, accepted %.1f %%; a bow of 5 %% of span refused %.0f %%",
			c.units, c.perBatch, c.readings, 100*n.width, 100*held, 100*float64(n.refused)/float64(n.units), 100*float64(n.accepted)/float64(n.units), 100*float64(n.otherRefused)/float64(n.units))
		if missed := int(float64(n.units) * (1 - held)); tooMany(missed, n.units, 0.05) {
			t.Errorf("%+v: the band holds %.3f of the truth, 0.95 promised", c, held)
		}
		if tooMany(n.refused, n.units, FalseRefusals) {
			t.Errorf("%+v: %d of %d refused, 1 in 100 promised", c, n.refused, n.units)
		}
		if float64(n.otherRefused) < c.least*float64(n.units) {
			t.Errorf("%+v: only %d of %d others refused", c, n.otherRefused, n.units)
		}
		if float64(n.accepted) < 0.85*float64(n.units) {
			t.Errorf("%+v: only %d of %d accepted", c, n.accepted, n.units)
		}
	}
}

// Where batches differ seven times as much as units and only two are known, more
// good units are refused than promised: what is told of such a type says so, up
// to 4 in 100. With three batches the promise holds again.
func TestTwoBatchesThatDifferWidely(t *testing.T) {
	v := invented{offset: 0.003, gain: 0.003, batchOffset: 0.02, batchGain: 0.02, rest: 0.002, noise: 0.002, hump: 0.1}
	for _, c := range []struct {
		units int
		most  float64
	}{{4, 0.04}, {6, FalseRefusals}} {
		n := simulate(t, v, c.units, 2, 3, 150, 0.05)
		t.Logf("%d units of %d batches: %.1f %% refused, bands hold %.1f %% of marks", c.units, c.units/2, 100*float64(n.refused)/float64(n.units), 100*float64(n.covered)/float64(n.looks))
		if tooMany(n.refused, n.units, c.most) {
			t.Errorf("%+v: %d of %d refused", c, n.refused, n.units)
		}
		if held := float64(n.covered) / float64(n.looks); held < 0.95 {
			t.Errorf("%+v: bands hold %.3f", c, held)
		}
	}
}

// Where units differ by much that is neither offset nor gain nor bend, three
// readings help little; the band says so, and holds.
func TestLargeRest(t *testing.T) {
	v := invented{offset: 0.01, gain: 0.01, bend: 0.005, rest: 0.01, noise: 0.002, hump: 0.1}
	n := simulate(t, v, 20, 5, 3, 150, 0.05)
	held := float64(n.covered) / float64(n.looks)
	t.Logf("band ±%.2f %% of span holds %.1f %% of marks", 100*n.width, 100*held)
	if missed := int(float64(n.units) * (1 - held)); tooMany(missed, n.units, 0.05) || n.width < 0.015 {
		t.Errorf("%+v", n)
	}
}

// Three readings on a type of eight units against ten and three without it, for
// three amounts by which one reading scatters.
func TestThreeReadingsWithTheTypeAgainstTenWithout(t *testing.T) {
	runs := 100
	if testing.Short() {
		runs = 30
	}
	for _, c := range []struct{ noise, most float64 }{{0.001, 3.5}, {0.003, 1.7}, {0.005, 1.3}} {
		v := usual
		v.noise = c.noise
		n := simulate(t, v, 8, 2, 3, runs, 0.05)
		t.Logf("one reading scatters by %.1f %% of span: error (root mean square) with the type and 3 readings %.2f %%, with 10 alone %.2f %%, with 3 alone %.2f %%, of the type alone %.2f %%",
			100*c.noise, 100*n.rms, 100*n.rmsTen, 100*n.rmsThree, 100*n.rmsTypeOnly)
		if n.rms > c.most*n.rmsTen {
			t.Errorf("noise %g: %g with the type and three, %g with ten", c.noise, n.rms, n.rmsTen)
		}
		if n.rms > 0.8*n.rmsThree || n.rms > 0.5*n.rmsTypeOnly {
			t.Errorf("noise %g: the type doesn't help: %+v", c.noise, n)
		}
	}
}

// A type without an odd unit is told to have one 5 times in 100 at the most, and
// a unit that is bowed by a tenth of the span is nearly always found.
func TestOddUnitsAreFound(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 5))
	other := usual
	other.hump += 0.1
	wrong, found, runs := 0, 0, 100
	for range runs {
		kind := usual.gathered(t, r, 10, 5)
		if len(oddUnits(kind)) > 0 {
			wrong++
		}
		kind.Units[3].Knots = other.gathered(t, r, 1, 1).Units[0].Knots
		for _, o := range oddUnits(kind) {
			if o.Index == 3 {
				found++
			}
		}
	}
	t.Logf("%d of %d types without one, found in %d of %d", wrong, runs, found, runs)
	if tooMany(wrong, runs, oddOnes) {
		t.Errorf("an odd unit told in %d of %d types without one", wrong, runs)
	}
	if found < 90*runs/100 {
		t.Errorf("found in %d of %d", found, runs)
	}
}
