package kin

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
)

// An invented type of dial sender, 10 to 180 Ω. Units differ by offset, gain and
// bend and by a rest that goes on over a twentieth of the dial; batches by offset
// and gain. All in parts of the span.
type invented struct {
	offset, gain, bend, rest float64
	batchOffset, batchGain   float64
	noise                    float64
	hump                     float64 // how far the curve bows
}

var usual = invented{offset: 0.010, gain: 0.015, bend: 0.006, rest: 0.002, batchOffset: 0.006, batchGain: 0.008, noise: 0.001, hump: 0.12}

const (
	inventedLow  = 10.0
	inventedSpan = 170.0
)

// sender is one unit: what it truly gives at a mark, 0 to 1.
type sender func(mark float64) float64

type batch struct{ offset, gain float64 }

func (v invented) batch(r *rand.Rand) batch {
	return batch{v.batchOffset * r.NormFloat64(), v.batchGain * r.NormFloat64()}
}

func (v invented) course(mark float64) float64 { return mark + v.hump*math.Sin(math.Pi*mark) }

func (v invented) unit(r *rand.Rand, b batch) sender {
	offset, gain, bend := v.offset*r.NormFloat64()+b.offset, v.gain*r.NormFloat64()+b.gain, v.bend*r.NormFloat64()
	// The rest: a sum of waves of 2 to 7 half-periods, with even power.
	var wave [6][2]float64
	for k := range wave {
		wave[k] = [2]float64{r.NormFloat64() * v.rest / math.Sqrt(6), r.NormFloat64() * v.rest / math.Sqrt(6)}
	}
	return func(mark float64) float64 {
		y := v.course(mark)
		d := offset + gain*(y-0.5) + bend*math.Sin(math.Pi*mark)
		for k, w := range wave {
			d += w[0]*math.Sin(float64(k+2)*math.Pi*mark) + w[1]*math.Cos(float64(k+2)*math.Pi*mark)
		}
		return inventedLow + inventedSpan*(y+d)
	}
}

// bench reads a unit at marks, up and down and up again.
func (v invented) bench(r *rand.Rand, s sender, marks []float64, sweeps int) curve.Sheet {
	sheet := curve.Sheet{Unit: curve.Dial}
	for k := range sweeps {
		for i := range marks {
			sweep := curve.Up
			if k%2 == 1 {
				i, sweep = len(marks)-1-i, curve.Down
			}
			ohm := max(0, s(marks[i])+v.noise*inventedSpan*r.NormFloat64())
			sheet.Readings = append(sheet.Readings, curve.Reading{Mark: marks[i], Ohm: quantity.Ohm(quantity.Round(ohm, 2)), Sweep: sweep})
		}
	}
	return sheet
}

var eleven = []float64{0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1}

// gathered is a type of so many units, in batches of the given size.
func (v invented) gathered(t testing.TB, r *rand.Rand, units, perBatch int) *Type {
	t.Helper()
	kind := &Type{Version: Version, Name: "invented", Marks: "mark_pct", Gives: "ohm"}
	var b batch
	for i := range units {
		if i%perBatch == 0 {
			b = v.batch(r)
		}
		c, err := curve.Fit(v.bench(r, v.unit(r, b), eleven, 3), curve.Options{})
		if err != nil {
			t.Fatal(err)
		}
		u, err := NewUnit(c, Unit{Job: fmt.Sprint(i), Serial: fmt.Sprintf("%03d", i), Batch: fmt.Sprint("B", i/perBatch)})
		if err != nil {
			t.Fatal(err)
		}
		kind.Units = append(kind.Units, u)
	}
	return kind
}
