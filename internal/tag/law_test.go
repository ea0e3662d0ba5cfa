package tag_test

import (
	"math"
	"reflect"
	"slices"
	"testing"

	"gaugewright/internal/curve"
	"gaugewright/internal/job"
	"gaugewright/internal/peer"
	"gaugewright/internal/quantity"
	"gaugewright/internal/span"
	"gaugewright/internal/tag"

	"pgregory.net/rapid"
)

// drawn makes a job with one tank that was read, and perhaps set.
func drawn(t *rapid.T) *job.Job {
	unit := rapid.SampledFrom(curve.MarkUnits).Draw(t, "unit")
	signal := rapid.SampledFrom(curve.Signals).Draw(t, "signal")
	contents := rapid.SampledFrom([]job.Contents{job.LPG, job.Water, job.Diesel, job.Petrol, job.Waste, job.Other}).Draw(t, "contents")
	tank := job.Tank{Name: rapid.StringMatching(`[A-Za-zÄé水]{1,40}`).Draw(t, "name"), Contents: contents, Sender: job.Sender{Serial: rapid.StringMatching(`[0-9]{0,8}`).Draw(t, "serial")}}
	tank.WaterCapacityL = rapid.SampledFrom([]float64{0, 54, 66.25, 127.3}).Draw(t, "capacity")
	if tank.WaterCapacityL > 0 {
		tank.PermittedFillPct = rapid.SampledFrom([]float64{0, 80, 78.5}).Draw(t, "fill")
		tank.HeelL = rapid.SampledFrom([]float64{0, 1.5}).Draw(t, "heel")
	}
	top := map[curve.MarkUnit]float64{curve.Dial: 100, curve.Height: 347.5, curve.Volume: 54, curve.Mass: 25.3}[unit]
	limit := min(float64(signal.Limit()), rapid.SampledFrom([]float64{5, 90, 190, 10_000}).Draw(t, "range"))
	places := rapid.IntRange(0, 4).Draw(t, "places") // of the marks
	n := rapid.IntRange(2, 90).Draw(t, "n")
	from, to := 0.05*limit, 0.95*limit
	if rapid.Bool().Draw(t, "falls") {
		from, to = to, from
	}
	bend := rapid.Float64Range(0.4, 2.5).Draw(t, "bend")
	noise := rapid.SampledFrom([]float64{0, 1e-3, 5e-3}).Draw(t, "noise")
	for range n {
		mark := quantity.Round(rapid.Float64Range(0, top).Draw(t, "mark"), places)
		value := from + (to-from)*math.Pow(mark/top, bend) + noise*limit*rapid.Float64Range(-1, 1).Draw(t, "off")
		r := job.Reading{Ohm: quantity.Round(min(limit, max(0, value)), signal.Decimals()), Signal: signal}
		r.SetMark(min(mark, top), unit)
		tank.Bench.Readings = append(tank.Bench.Readings, r)
	}
	tank.Bench.Date = rapid.SampledFrom([]string{"", "2026-11-03", "0001-01-01", "9999-12-31"}).Draw(t, "date")
	j := &job.Job{Version: job.Version, Number: rapid.StringMatching(`[A-Z0-9-]{1,12}`).Draw(t, "number"), Tanks: []job.Tank{tank}}
	if rapid.Bool().Draw(t, "set") {
		j.Tanks[0].Setting = setting(t, signal, limit)
	}
	return j
}

func setting(t *rapid.T, signal curve.Signal, limit float64) *job.Setting {
	s := &job.Setting{
		Readout: rapid.SampledFrom([]string{job.TwoPoint, job.Table, job.EndsThenTable}).Draw(t, "readout"), Scale: "mark", Numbers: job.NumbersOf(signal),
		StepOhm: rapid.SampledFrom([]float64{0, 0.1, 1}).Draw(t, "step"), Date: "2026-11-04",
		Objective: rapid.SampledFrom([]string{"", "worst", "near-empty", "never-high", "rms"}).Draw(t, "objective"),
	}
	figure := rapid.Map(rapid.Float64Range(0, limit), func(v float64) float64 { return quantity.Round(v, 9) })
	if s.Readout != job.Table {
		lower, upper := figure.Draw(t, "lower"), figure.Draw(t, "upper")
		if lower == upper {
			upper = lower / 2
			lower++
		}
		s.LowerOhm, s.UpperOhm = &lower, &upper
		if s.Readout == job.EndsThenTable {
			for _, in := range []float64{0, 12.5, 50, 100} {
				s.ThenTable = append(s.ThenTable, job.Correction{InPct: in, Pct: quantity.Round(rapid.Float64Range(0, 100).Draw(t, "pct"), 1)})
			}
		}
		return s
	}
	values := rapid.SliceOfNDistinct(figure, 2, 16, rapid.ID).Draw(t, "values")
	slices.Sort(values)
	for _, v := range values {
		s.Table = append(s.Table, job.Entry{Ohm: v, Pct: quantity.Round(rapid.Float64Range(0, 100).Draw(t, "pct"), 3)})
	}
	return s
}

// Whatever was keyed in comes back exactly and shows the same at every mark; the
// curve comes back to within its own doubt everywhere between its ends, and
// that doubt is never less than the bench's.
func TestRoundTrip(t *testing.T) {
	peer.Draws(t, 150)
	curves := 0
	rapid.Check(t, func(t *rapid.T) {
		j := drawn(t)
		if _, err := j.Encode(); err != nil {
			t.Fatalf("the job drawn is no job: %v", err)
		}
		before := j.Tanks[0]
		c, err := tag.Encode(j, "")
		if err != nil {
			if _, fit := before.Curve(); before.Setting == nil && fit != nil {
				return // nothing to print
			}
			if k, _ := before.Curve(); before.Setting == nil && !k.Ordered() {
				return
			}
			t.Fatal(err)
		}
		got, err := tag.Decode(c.Text)
		if err != nil {
			t.Fatal(err)
		}
		after := got.Tanks[0]
		if !reflect.DeepEqual(before.Setting, after.Setting) {
			t.Fatalf("keyed in %+v, came back %+v", before.Setting, after.Setting)
		}
		if before.Unit() != after.Unit() || before.Signal() != after.Signal() || before.Contents != after.Contents ||
			before.WaterCapacityL != after.WaterCapacityL || before.PermittedFillPct != after.PermittedFillPct || before.HeelL != after.HeelL || before.Bench.Date != after.Bench.Date {
			t.Fatalf("came back %+v, want %+v", after, before)
		}
		empty, full, err := before.Ends()
		again, fullAgain, also := after.Ends()
		if (err == nil) != (also == nil) || err == nil && (empty != again || full != fullAgain) {
			t.Fatalf("ends %g and %g, came back %g and %g (%v, %v)", empty, full, again, fullAgain, err, also)
		}
		bench, err := before.Curve()
		if err != nil || !bench.Ordered() {
			if after.Sender.Known != nil {
				t.Fatal("a curve came back where there was none")
			}
			return
		}
		restored, err := after.Curve()
		if err != nil {
			t.Fatal(err)
		}
		curves++
		near(t, bench, restored, after.Setting)
		if more, err := tag.Encode(got, ""); err != nil || more.Text != c.Text {
			t.Fatalf("written again as %q, %v; want %q", more.Text, err, c.Text)
		}
	})
	if curves == 0 {
		t.Error("no curve was drawn")
	}
}

// near holds the restored curve against that of the bench.
func near(t *rapid.T, bench, restored *curve.Curve, set *job.Setting) {
	points := bench.Points()
	first, last := points[0].Mark, points[len(points)-1].Mark
	low, high := bench.Range()
	span1000 := float64(high-low) / 1000
	for i := range 1001 {
		mark := first + (last-first)*float64(i)/1000
		a, b := bench.Ohm(mark, curve.Refuse), restored.Ohm(mark, curve.Refuse)
		if !b.Known {
			t.Fatalf("the restored curve has no answer at %g of %g to %g", mark, first, last)
		}
		off := math.Abs(float64(a.Ohm - b.Ohm))
		// The knots are widened until no more than 1 % of a doubt lacks.
		covered := max(1.03*float64(b.UOhm), span1000)
		if off > covered {
			t.Fatalf("at %g: %g ± %g on the bench, %g ± %g restored", mark, a.Ohm, a.UOhm, b.Ohm, b.UOhm)
		}
		if float64(b.UOhm) < 0.98*float64(a.UOhm)-span1000/10 {
			t.Fatalf("at %g: the doubt of %g came back as %g", mark, a.UOhm, b.UOhm)
		}
		if set == nil {
			continue
		}
		keyed, err := set.Keyed()
		if err != nil {
			t.Fatal(err)
		}
		// One thousandth of the span is the most that what is shown may differ by
		// for what the code leaves out, beyond the doubt that it states.
		shown := math.Abs(float64(keyed.Show(a.Ohm) - keyed.Show(b.Ohm)))
		if ends, ok := keyed.(span.Ends); ok {
			if most := covered / math.Abs(float64(ends.Upper-ends.Lower)); shown > most*(1+1e-9) {
				t.Fatalf("at %g: shown %g apart, want at most %g", mark, shown, most)
			}
		}
	}
}
