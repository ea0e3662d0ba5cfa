package span_test

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
	"gaugewright/internal/span"
)

// Common practice, no source: 0.6 Ω at mark 0 and 80 Ω at mark 80, with 0 as the
// lower value. What the display shows at mark 80, and why, on the dial's own
// scale and where 100 % is the permitted fill of 80 %.
func TestWhyCommonPractice(t *testing.T) {
	c := dial(t, 0, 0.6, 80, 80)
	mark, fill := onScale(t, scale.Mark, 1), onScale(t, scale.Fill, 0.8)
	tests := []struct {
		s     scale.Scale
		upper quantity.Ohm
		want  string
	}{
		{mark, 82, "Shows 98 at mark 80, 18 points high, because 100 % was set to what the sender gives at mark 80."},
		{mark, 90, "Shows 89 at mark 80, 9 points high: the upper value lies 9.8 Ω below what the sender gives at 100 % (99.8 Ω)."},
		{mark, 95, "Shows 84 at mark 80, 4 points high: the upper value lies 4.8 Ω below what the sender gives at 100 % (99.8 Ω)."},
		{mark, 100, "Shows 80 at mark 80 because 100 % was set to the dial's own end."},
		{fill, 82, "Shows 98 at mark 80, 2 points low, because 100 % was set to the ohms at the permitted fill."},
		{fill, 90, "Shows 89 at mark 80, 11 points low: the upper value lies 10.0 Ω above what the sender gives at the permitted fill (80.0 Ω)."},
		{fill, 100, "Shows 80 at mark 80, 20 points low, because 100 % was set to the dial's own end."},
	}
	for _, test := range tests {
		if got := span.Why(c, test.s, span.Ends{Lower: 0, Upper: test.upper}); got != test.want {
			t.Errorf("%s scale, 0 and %g:\n got %s\nwant %s", test.s.Kind(), float64(test.upper), got, test.want)
		}
	}
}

func TestWhy(t *testing.T) {
	falling := dial(t, 0, 240, 50, 136, 100, 33)
	bent := dial(t, 0, 0, 25, 40, 50, 65, 75, 85, 100, 100)
	mark := onScale(t, scale.Mark, 1)
	tests := []struct {
		c    *curve.Curve
		ends span.Ends
		want string
	}{
		{falling, span.Ends{Lower: 33, Upper: 240}, "the wrong way round for a falling sender"},
		{falling, span.Ends{Lower: 200, Upper: 33}, "low: the lower value lies 40.0 Ω below what the sender gives at 0 % (240.0 Ω)"},
		{falling, span.Ends{Lower: 240, Upper: 60}, "high: the upper value lies 27.0 Ω above what the sender gives at 100 % (33.0 Ω)"},
		{falling, span.Ends{Lower: 241, Upper: 33}, "Shows 100 at mark 100 because 100 % was set to the dial's own end."},
		{bent, span.Ends{Lower: 0, Upper: 100}, "bent, dead or uneven between"},
	}
	for _, test := range tests {
		if got := span.Why(test.c, mark, test.ends); !strings.Contains(got, test.want) {
			t.Errorf("%v: %q, want %q in it", test.ends, got, test.want)
		}
	}
}

func TestSensitivitySentences(t *testing.T) {
	c := dial(t, 0, 0.6, 80, 80)
	mark := onScale(t, scale.Mark, 1)
	// At 80 Ω between 0 and 90: 8000/90 − 8000/91 = 0.98 points; and for the
	// lower value 10/90 − 10/89 of 100, 0.12 there and at mark 0 all of 0.6/90.
	var got []string
	for _, v := range span.Sensitivities(c, mark, span.Ends{Lower: 0, Upper: 90}) {
		got = append(got, v.Sentence(c.Unit()))
	}
	want := []string{
		"One ohm more on the upper value lowers the figure at mark 80 by 1.0 points.",
		"One ohm more on the lower value lowers the figure at mark 80 by 0.1 points.",
		"One ohm more on the lower value lowers the figure at mark 0 by 0.7 points.",
	}
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
	for _, setting := range []span.Setting{
		span.Table{{Ohm: 0, Share: 0}, {Ohm: 50, Share: 0.5}, {Ohm: 101, Share: 1}},
		span.EndsThenTable{Ends: span.Ends{Lower: 0, Upper: 101}, Table: []span.Correction{{In: 0, Out: 0}, {In: 0.5, Out: 0.55}, {In: 1, Out: 1}}},
	} {
		if len(span.Sensitivities(c, mark, setting)) == 0 {
			t.Errorf("%v: nothing said", setting)
		}
	}
}

// The uncertainty of what is shown follows from that of the ohms by the slope,
// 100/(U−L) points an ohm, where the display is held nowhere.
func TestWhatIf(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, s := bench(t), anyScale(t)
		points := c.Points()
		ends := span.Ends{Lower: quantity.Ohm(rapid.Float64Range(0, 300).Draw(t, "lower")), Upper: quantity.Ohm(rapid.Float64Range(301, 600).Draw(t, "upper"))}
		mark := points[0].Mark + rapid.Float64Range(0, 1).Draw(t, "where")*(points[len(points)-1].Mark-points[0].Mark)
		f := span.WhatIf(c, s, ends, mark)
		if !f.Known || f.Outside || f.Target != s.Target(mark) {
			t.Fatalf("%+v", f)
		}
		if !(f.Low >= 0 && f.Low <= f.Shown && f.Shown <= f.High && f.High <= 1) || math.IsNaN(float64(f.U)) {
			t.Fatalf("%v to %v about %v ± %v", f.Low, f.High, f.Shown, f.U)
		}
		if f.Low > 0 && f.High < 1 {
			slope := 1 / float64(ends.Upper-ends.Lower)
			if math.Abs(float64(f.U)-slope*float64(f.UOhm)) > 1e-12 || math.Abs(float64(f.High-f.Low)-4*slope*float64(f.UOhm)) > 1e-12 {
				t.Fatalf("%+v", f)
			}
		}
	})
	c := dial(t, 0, 0.6, 80, 80)
	if f := span.WhatIf(c, onScale(t, scale.Mark, 1), span.Ends{Lower: 0, Upper: 100}, 1); !f.Outside || !f.Known || math.Abs(float64(f.Ohm)-99.85) > 1e-9 {
		t.Errorf("beyond the readings: %+v", f)
	}
}
