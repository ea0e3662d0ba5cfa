package drift_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"gaugewright/internal/curve"
	"gaugewright/internal/drift"
	"gaugewright/internal/quantity"
)

// sender is an invented sender: what it truly gives at a mark of 0..1.
type sender struct {
	name string
	at   func(mark float64) float64
}

// senders have several shapes, rising and falling.
var senders = []sender{
	{"straight, rising", func(m float64) float64 { return 2 + 90*m }},
	{"straight, falling", func(m float64) float64 { return 240 - 207*m }},
	{"bent, rising", func(m float64) float64 { return 5 + 175*m*m*(1.8-0.8*m) }},
	{"bent, falling", func(m float64) float64 { return 30 + 150*math.Pow(math.Max(0, 1-m), 1.4) }},
	{"s-shaped, rising", func(m float64) float64 { return 10 + 170*(m-0.12*math.Sin(2*math.Pi*m)) }},
}

// occasion is a bench with its doubts, drawn anew for each sender.
type occasion struct {
	random *rand.Rand
	normal bool // every doubt normal with the same standard deviation; else as it is
}

// width draws a doubt of a half-width.
func (o occasion) width(half float64) float64 {
	if o.normal {
		return half / math.Sqrt(3) * o.random.NormFloat64()
	}
	return half * (2*o.random.Float64() - 1)
}

const (
	scatterOhm = 0.15
	stepOhm    = 0.1
)

// ordinary are the doubts of an ordinary bench: an electrician's meter, marks
// held to half a point, leads read to a tenth of an ohm.
var ordinary = curve.Doubts{
	Meter: curve.Meter{OfReading: 0.005, Digits: 2, Step: stepOhm}, Leads: 0.3, LeadsU: 0.05, MarkHalfWidth: 0.005,
}

// bench reads a sender at marks, each so many times, with an occasion's doubts.
func (o occasion) bench(at func(float64) float64, repeats int, marks ...float64) curve.Sheet {
	gain, digits := o.width(float64(ordinary.Meter.OfReading)), o.width(ordinary.Meter.Digits*stepOhm)
	leads := float64(ordinary.Leads) + float64(ordinary.LeadsU)*o.random.NormFloat64()
	var sheet curve.Sheet
	for _, m := range marks {
		stands := m + o.width(ordinary.MarkHalfWidth)
		for range repeats {
			v := at(stands) + scatterOhm*o.random.NormFloat64()
			v += gain*v + digits + leads
			if o.normal {
				v += o.width(stepOhm / 2)
			} else {
				v = math.Round(v/stepOhm) * stepOhm
			}
			sheet.Readings = append(sheet.Readings, curve.Reading{Mark: m, Ohm: quantity.Ohm(max(0, v))})
		}
	}
	return sheet
}

var recordMarks = []float64{0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1}

func record(t testing.TB, o occasion, at func(float64) float64) *curve.Curve {
	t.Helper()
	c, err := curve.Fit(o.bench(at, 2, recordMarks...), curve.Options{Doubts: ordinary, KeepAll: true})
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func compare(t testing.TB, c *curve.Curve, later curve.Sheet, o drift.Options) drift.Result {
	t.Helper()
	r, err := drift.Compare(c, later, ordinary, o)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// fiveMarks are those of a service: five readings spread over the scale, two of
// them between marks of the record.
var fiveMarks = []float64{0.1, 0.35, 0.5, 0.75, 0.9}
