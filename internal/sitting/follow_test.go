package sitting

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gaugewright/internal/curve"
	"gaugewright/internal/job"
)

// A fitter who goes wherever Suggest says comes to an end in a sitting's time,
// with any sender, and has a curve then that is near what the sender does. The
// senders are invented; what they do is known, so that the curve can be held
// against it.
func TestFollowedToTheEnd(t *testing.T) {
	for _, c := range []struct {
		name   string
		gives  func(mark float64, up bool, r *rand.Rand) float64 // ohms
		most   int                                               // readings
		within float64                                           // ohms, of the curve's middle
	}{
		{"straight", func(m float64, _ bool, _ *rand.Rand) float64 { return 5 + 175*m }, 40, 0.3},
		{"scatters", func(m float64, _ bool, r *rand.Rand) float64 { return 5 + 175*m + r.NormFloat64()*0.5 }, 80, 1.5},
		{"hysteresis", func(m float64, up bool, r *rand.Rand) float64 {
			if up {
				return 5 + 175*m + r.NormFloat64()*0.1
			}
			return 8 + 175*m + r.NormFloat64()*0.1
		}, 60, 2.5},
		{"falls, bent", func(m float64, _ bool, r *rand.Rand) float64 { return 240 - 207*math.Pow(m, 1.4) + r.NormFloat64()*0.2 }, 80, 2},
		{"steps", func(m float64, _ bool, _ *rand.Rand) float64 { return 10 + 8.5*math.Floor(m*20) }, 80, 9},
		{"a bad contact once in ten", func(m float64, _ bool, r *rand.Rand) float64 {
			if r.IntN(10) == 0 {
				return 5 + 175*m + 60
			}
			return 5 + 175*m
		}, 100, 3},
		{"no order at all", func(_ float64, _ bool, r *rand.Rand) float64 { return r.Float64() * 100 }, 40, math.Inf(1)},
	} {
		for seed := range uint64(20) {
			r := rand.New(rand.NewPCG(seed, 7))
			k := dial()
			n := Suggest(k, curve.Unstated, nil)
			for ; n.Known && len(k.Bench.Readings) <= c.most; n = Suggest(k, curve.Unstated, nil) {
				ohm := math.Round(10*max(0, c.gives(n.Mark, n.Sweep == curve.Up, r))) / 10
				if err := Take(&k, at(curve.Dial.ToShown(n.Mark), ohm, n.Sweep.String())); err != nil {
					t.Fatal(err)
				}
			}
			if seed == 0 {
				t.Logf("%s: %d readings, then %s", c.name, len(k.Bench.Readings), n.Words)
			}
			if n.Known {
				t.Errorf("%s: no end after %d readings, next %s", c.name, len(k.Bench.Readings), n.Words)
				continue
			}
			if math.IsInf(c.within, 0) {
				continue
			}
			made, err := k.Curve()
			if err != nil {
				t.Errorf("%s: %v", c.name, err)
				continue
			}
			still := rand.New(rand.NewPCG(1, 1))
			for m := 0.025; m < 1; m += 0.05 {
				want := 0.0
				for range 200 { // its mean over both ways
					want += (c.gives(m, true, still) + c.gives(m, false, still)) / 400
				}
				if strings.HasPrefix(c.name, "a bad contact") {
					want = 5 + 175*m
				}
				if a := made.Ohm(m, curve.Refuse); !a.Known || math.Abs(float64(a.Ohm)-want) > c.within {
					t.Errorf("%s: the curve gives %.1f Ω at %.1f %%, the sender %.1f Ω", c.name, float64(a.Ohm), m*100, want)
				}
			}
		}
	}
}

// The sample job has its benches done; whatever is said of them is said of all.
func TestSuggestOfTheSample(t *testing.T) {
	j, err := job.ReadFile("../job/testdata/tidewater.job.json")
	if err != nil {
		t.Fatal(err)
	}
	for _, k := range j.Tanks {
		n := Suggest(k, curve.Unstated, nil)
		if n.Words == "" || strings.Contains(n.Words, "%!") || n.Known && k.Unit().Text(n.Mark) == "" {
			t.Errorf("%s: %+v", k.Name, n)
		}
		t.Logf("%s (%d readings): %+v", k.Name, len(k.Bench.Readings), n)
	}
}
