package docket

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"gaugewright/internal/contents"
	"gaugewright/internal/quantity"
)

var seeds = flag.Int("seeds", 24, "how many simulated tanks of each kind the learning is tried on")

// wrongSender is a sender that is wrong, and what else is.
type wrongSender struct {
	name string
	// shows gives what it shows at a level, and capacity the true one by the stated one.
	shows    func(level float64, r *rand.Rand) float64
	capacity float64
	right    bool // it is right already
}

func shapes() []wrongSender {
	return []wrongSender{
		{name: "both ends too high", shows: func(l float64, _ *rand.Rand) float64 { return l + 0.06 }},
		{name: "both ends too low", shows: func(l float64, _ *rand.Rand) float64 { return l - 0.06 }},
		{name: "gain", shows: func(l float64, _ *rand.Rand) float64 { return l * 0.93 }},
		{name: "ends apart", shows: func(l float64, _ *rand.Rand) float64 { return 0.06 - 0.12*l + l }},
		{name: "ends together", shows: func(l float64, _ *rand.Rand) float64 { return -0.06 + 0.12*l + l }},
		{name: "bend", shows: func(l float64, _ *rand.Rand) float64 { return l + 0.06*math.Sin(math.Pi*l) }},
		{name: "sag", shows: func(l float64, _ *rand.Rand) float64 { return l - 0.06*math.Sin(math.Pi*l) }},
		{name: "capacity 10 % more", shows: func(l float64, _ *rand.Rand) float64 { return l }, capacity: 1.1, right: true},
		{name: "capacity 10 % less", shows: func(l float64, _ *rand.Rand) float64 { return l }, capacity: 0.9, right: true},
		{name: "right", shows: func(l float64, _ *rand.Rand) float64 { return l }, right: true},
	}
}

// season simulates the dockets of a gas tank: it is used down to somewhere, sometimes
// until it runs out, and filled, mostly until the pump stops.
type season struct {
	dockets          int
	stops, out       float64 // how often
	noise            float64 // of a level
	kilograms, plain bool
}

var noiseAt, valveAt, meanErr float64

const statedLitres = 54.0

func (s season) of(w wrongSender, seed uint64) []Seen {
	r := rand.New(rand.NewPCG(seed, 7))
	capacity := w.capacity
	if capacity == 0 {
		capacity = 1
	}
	noise := s.noise
	if noiseAt > 0 {
		noise = noiseAt
	}
	if noise == 0 {
		noise = 0.005 + 0.005*r.Float64()
	}
	show := func(level float64) float64 {
		return min(1, max(0, w.shows(level, r)+noise*r.NormFloat64()))
	}
	valve := 0.80 - 0.05*r.Float64()
	if valveAt > 0 {
		valve = valveAt
	}
	at := time.Date(2026, 5, 1, 18, 0, 0, 0, time.UTC)
	var list []Seen
	for n := 0; len(list) < s.dockets; n++ {
		at = at.Add(time.Duration(100+r.IntN(100)) * time.Hour)
		before := 0.08 + 0.4*r.Float64()
		if r.Float64() < s.out {
			before = 0.012 * r.Float64()
			list = append(list, Seen{Docket: Docket{ID: fmt.Sprint("o", n), Kind: RanOut, Time: at}, Before: -1, After: show(before), UAfter: noise})
			if len(list) == s.dockets {
				break
			}
			at = at.Add(2 * time.Hour)
		}
		after, stopped := valve+0.003*r.NormFloat64(), r.Float64() < s.stops
		if !stopped {
			after = before + (valve-before)*(0.4+0.6*r.Float64())
		}
		litres := (after - before) * statedLitres * capacity * (1 + 0.01*(2*r.Float64()-1))
		d := Docket{ID: fmt.Sprint("r", n), Kind: Receipt, Time: at, Litres: math.Round(litres*10) / 10, Stopped: stopped}
		if s.kilograms {
			d.Litres, d.Kilograms = 0, math.Round(litres*0.508*10)/10
		}
		list = append(list, Seen{Docket: d, Before: show(before), After: show(after), UBefore: noise, UAfter: noise, Refill: true})
	}
	return list
}

func gasTank() Tank {
	mix, _, err := contents.Preset("propane")
	if err != nil {
		panic(err)
	}
	return Tank{Full: quantity.CubicMetre(statedLitres / 1000), Gas: true, Densities: contents.MixDensities(mix),
		Signal: func(l float64) float64 { return 10 + 170*l }}
}

// errors gives the largest error between a tenth and eight tenths of the true level,
// without and with what was learned.
func errorsOf(w wrongSender, l Learned) (before, after float64) {
	for i := 10; i <= 80; i++ {
		level := float64(i) / 100
		shown := min(1, max(0, w.shows(level, nil)))
		learned, _ := l.Correction.At(shown)
		before = max(before, math.Abs(shown-level))
		after = max(after, math.Abs(learned-level))
		meanErr += math.Abs(learned-level) / 71
	}
	return before, after
}

func TestFiveDockets(t *testing.T) {
	for _, s := range []struct {
		name string
		season
	}{
		{"stops and running out", season{dockets: 5, stops: 0.6, out: 0.35}},
		{"stops alone", season{dockets: 5, stops: 0.7}},
		{"receipts alone", season{dockets: 5}},
		{"receipts in kg", season{dockets: 5, stops: 0.6, out: 0.35, kilograms: true}},
		{"fifteen", season{dockets: 15, stops: 0.6, out: 0.3}},
	} {
		for _, w := range shapes() {
			var all []float64
			within, worse, worseApplied, applied := 0, 0, 0, 0
			var is float64
			for seed := range *seeds {
				l := Learn(gasTank(), s.of(w, uint64(seed)))
				before, after := errorsOf(w, l)
				all = append(all, after)
				is = before
				if after <= 0.02 {
					within++
				}
				if after > before+0.001 {
					worse++
				}
				if l.Helps {
					applied++
					if after > before+0.001 {
						worseApplied++
					}
				}
			}
			slices.Sort(all)
			t.Logf("%-22s %-20s before %.1f: median %.1f, 90 %% %.1f points; within 2: %3d of %d; worse %d; applied %d, of them worse %d",
				s.name, w.name, 100*is, 100*all[len(all)/2], 100*all[len(all)*9/10], within, len(all), worse, applied, worseApplied)
		}
	}
}
