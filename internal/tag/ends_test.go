package tag_test

import (
	"testing"

	"gaugewright/internal/job"
	"gaugewright/internal/tag"
)

// The marks at both ends of the scale are the lowest and the highest read, and
// come back so even where a reading there was set aside and the curve ends
// before them: the third of a millimetre in the first of these once came back as
// half of one.
func TestEndsBeyondCurve(t *testing.T) {
	type readings [][2]float64 // mm, Ω
	for _, c := range []struct {
		name        string
		read        readings
		empty, full float64 // mm
		curve       [2]float64
	}{
		{"lowest set aside", readings{{1, 0.29}, {1, 0.29}, {1.5, 0.3}, {0.8, 0.28}, {0.3, 0.28}, {0.5, 0.23}}, 0.3, 1.5, [2]float64{0.5, 1.5}},
		{"highest set aside", readings{{10, 5}, {50, 20}, {100, 40}, {150, 60}, {200, 80}, {250, 10}}, 10, 250, [2]float64{10, 200}},
		{"none set aside", readings{{10, 5}, {50, 20}, {100, 40}, {150, 60}, {200, 80}}, 10, 200, [2]float64{10, 200}},
	} {
		j := example()
		before := &j.Tanks[0]
		before.Sender.Known, before.Setting, before.Bench.Marks = nil, nil, "mark_mm"
		for _, r := range c.read {
			before.Bench.Readings = append(before.Bench.Readings, job.Reading{MarkMM: at(r[0]), Ohm: r[1]})
		}
		code, err := tag.Encode(j, "")
		if err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		got, err := tag.Decode(code.Text)
		if err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		for _, tank := range []job.Tank{*before, got.Tanks[0]} {
			if empty, full, err := tank.Ends(); err != nil || empty != c.empty || full != c.full {
				t.Errorf("%s: ends %g and %g (%v), want %g and %g", c.name, empty, full, err, c.empty, c.full)
			}
		}
		knots := got.Tanks[0].Sender.Known.Knots
		if first, last := knots[0].Mark, knots[len(knots)-1].Mark; first != c.curve[0] || last != c.curve[1] {
			t.Errorf("%s: the curve goes from %g to %g, want %g to %g", c.name, first, last, c.curve[0], c.curve[1])
		}
	}
}
