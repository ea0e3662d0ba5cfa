package span_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
	"gaugewright/internal/span"
)

// noisyDial is a bent dial read up and down, n readings in all.
func noisyDial(n int) curve.Sheet {
	random := rand.New(rand.NewPCG(1, 2))
	var sheet curve.Sheet
	for i := range n {
		half := n / 2
		k, sweep := i, curve.Up
		if i >= half {
			k, sweep = n-1-i, curve.Down
		}
		mark := float64(k) / float64(half-1)
		ohm := 0.6 + 89*(mark+0.06*math.Sin(math.Pi*mark)) + random.NormFloat64()*0.2
		sheet.Readings = append(sheet.Readings, curve.Reading{Mark: mark, Ohm: quantity.Ohm(math.Round(10*max(0, ohm)) / 10), Sweep: sweep})
	}
	return sheet
}

func BenchmarkCurveAndEnds40(b *testing.B) {
	sheet := noisyDial(40)
	s := onScale(b, scale.Mark, 1)
	b.ReportAllocs()
	for b.Loop() {
		c, err := curve.Fit(sheet, curve.Options{})
		if err != nil {
			b.Fatal(err)
		}
		if _, err := span.BestEnds(c, s, span.Readout{Step: 1}, span.UsualMargin()); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkEndsTenths40(b *testing.B) {
	c, err := curve.Fit(noisyDial(40), curve.Options{})
	if err != nil {
		b.Fatal(err)
	}
	s := onScale(b, scale.Mark, 1)
	for b.Loop() {
		if _, err := span.BestEnds(c, s, span.Readout{Step: 0.1}, span.UsualMargin()); err != nil {
			b.Fatal(err)
		}
	}
}

// A curve of 200 points, every mark read once.
func BenchmarkTable12Of200(b *testing.B) {
	var sheet curve.Sheet
	for i := range 200 {
		mark := float64(i) / 199
		sheet.Readings = append(sheet.Readings, curve.Reading{Mark: mark, Ohm: quantity.Ohm(5 + 180*(mark+0.1*math.Sin(2*math.Pi*mark)+0.03*math.Sin(11*mark)))})
	}
	c, err := curve.Fit(sheet, curve.Options{})
	if err != nil {
		b.Fatal(err)
	}
	s := onScale(b, scale.Mark, 1)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := span.BestTable(c, s, span.TableReadout{Points: 12}, span.UsualMargin()); err != nil {
			b.Fatal(err)
		}
	}
}

// bent is a sender of 40 readings that no two end values fit.
func bent(b *testing.B) *curve.Curve {
	random := rand.New(rand.NewPCG(3, 4))
	var sheet curve.Sheet
	for i := range 40 {
		mark := float64(i) / 39
		ohm := 5 + 180*(mark+0.1*math.Sin(2*math.Pi*mark)) + random.NormFloat64()*0.2
		sheet.Readings = append(sheet.Readings, curve.Reading{Mark: mark, Ohm: quantity.Ohm(math.Round(10*ohm) / 10)})
	}
	c, err := curve.Fit(sheet, curve.Options{})
	if err != nil {
		b.Fatal(err)
	}
	return c
}

func BenchmarkEndsObjectives40(b *testing.B) {
	c, err := curve.Fit(noisyDial(40), curve.Options{})
	if err != nil {
		b.Fatal(err)
	}
	s := onScale(b, scale.Mark, 1)
	for _, o := range span.Objectives {
		b.Run(string(o), func(b *testing.B) {
			for b.Loop() {
				if _, err := span.BestEndsFor(c, s, span.Readout{Step: 1}, span.UsualMargin(), o); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// Eight points for 40 readings, on the steps that readouts have.
func BenchmarkTable8Of40(b *testing.B) {
	c := bent(b)
	s := onScale(b, scale.Mark, 1)
	for name, readout := range map[string]span.TableReadout{
		"any values":                {Points: 8},
		"whole ohms":                {Points: 8, Readout: span.Readout{Step: 1}},
		"whole percent":             {Points: 8, ShareStep: 0.01},
		"whole ohms, whole percent": {Points: 8, Readout: span.Readout{Step: 1}, ShareStep: 0.01},
		"tenths of both":            {Points: 8, Readout: span.Readout{Step: 0.1}, ShareStep: 0.001},
	} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				best, err := span.BestTable(c, s, readout, span.UsualMargin())
				if err != nil {
					b.Fatal(err)
				}
				b.ReportMetric(float64(best.Gap)*100, "gap-points")
				b.ReportMetric(float64(best.Score)*100, "score-points")
				b.ReportMetric(float64(best.Searched), "searched")
			}
		})
	}
	b.Run("rms", func(b *testing.B) {
		for b.Loop() {
			best, err := span.BestTableFor(c, s, span.TableReadout{Points: 8}, span.UsualMargin(), span.RMS)
			if err != nil {
				b.Fatal(err)
			}
			b.ReportMetric(float64(best.Gap)*100, "gap-points")
			b.ReportMetric(float64(best.Score)*100, "score-points")
		}
	})
	b.Run("ends then table", func(b *testing.B) {
		for b.Loop() {
			if _, err := span.BestEndsThenTable(c, s, span.TableReadout{Points: 8, Readout: span.Readout{Step: 1}, ShareStep: 0.01}, span.UsualMargin(), span.Worst); err != nil {
				b.Fatal(err)
			}
		}
	})
}
