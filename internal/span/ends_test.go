package span_test

import (
	"math"
	"testing"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
	"gaugewright/internal/span"
)

// dial makes a curve from pairs of mark in percent and ohms.
func dial(t testing.TB, pairs ...float64) *curve.Curve {
	t.Helper()
	var sheet curve.Sheet
	for i := 0; i < len(pairs); i += 2 {
		sheet.Readings = append(sheet.Readings, curve.Reading{Mark: pairs[i] / 100, Ohm: quantity.Ohm(pairs[i+1])})
	}
	c, err := curve.Fit(sheet, curve.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func onScale(t testing.TB, kind scale.Kind, fill quantity.Share) scale.Scale {
	t.Helper()
	s, err := scale.New(kind, fill, 0, 1, true)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// Common practice, no source: a dial sender that gives 0.6 Ω at mark 0 and
// 80 Ω at mark 80, with 0 as the lower value, is shown as 98, 89, 84 and 80 at
// mark 80 for the upper values 82, 90, 95 and 100.
func TestTryCommonPractice(t *testing.T) {
	c := dial(t, 0, 0.6, 80, 80)
	s := onScale(t, scale.Mark, 1)
	for upper, want := range map[quantity.Ohm]float64{82: 98, 90: 89, 95: 84, 100: 80} {
		trial := span.Try(c, s, span.Ends{Lower: 0, Upper: upper})
		top := trial.Rows[len(trial.Rows)-1]
		if got := math.Round(float64(top.Shown) * 100); got != want {
			t.Errorf("with 0 and %g the display shows %g at mark 80, want %g", float64(upper), got, want)
		}
	}
	// And a float whose greatest ohms are 199.6 with 0 and 200: 99.8 at the top.
	float := dial(t, 0, 0.2, 50, 100, 100, 199.6)
	trial := span.Try(float, s, span.Ends{Lower: 0, Upper: 200})
	if got := float64(trial.Rows[2].Shown) * 100; math.Abs(got-99.8) > 1e-9 {
		t.Errorf("199.6 of 200 is shown as %g, want 99.8", got)
	}
	best, err := span.BestEnds(float, s, span.Readout{Step: 1}, span.UsualMargin())
	if err != nil {
		t.Fatal(err)
	}
	if got := best.Setting.(span.Ends); got != (span.Ends{Lower: 0, Upper: 200}) {
		t.Errorf("best ends for a float of up to 199.6 Ω are %v, want 0 and 200", got)
	}
}

func TestBestEndsOnScales(t *testing.T) {
	c := dial(t, 0, 0.6, 20, 20.4, 40, 40.3, 60, 60.2, 80, 80)
	mark, err := span.BestEnds(c, onScale(t, scale.Mark, 1), span.Readout{Step: 1}, span.UsualMargin())
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("mark: %v worst %.3f bound %.3f searched %d", mark.Setting, mark.Worst*100, mark.LowerBound*100, mark.Searched)
	fill, err := span.BestEnds(c, onScale(t, scale.Fill, 0.8), span.Readout{Step: 1}, span.UsualMargin())
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("fill: %v worst %.3f bound %.3f searched %d", fill.Setting, fill.Worst*100, fill.LowerBound*100, fill.Searched)
	if mark.Setting != (span.Ends{Lower: 1, Upper: 100}) && mark.Setting != (span.Ends{Lower: 0, Upper: 100}) {
		t.Errorf("on the mark scale: %v", mark.Setting)
	}
	if got := fill.Setting.(span.Ends); got.Upper != 81 {
		t.Errorf("on the fill scale: %v, want 81 Ω at 100 %%", got)
	}
}

// A sender with y = x² between three readings: along the curve drawn there the
// display errs where no reading was taken.
func TestTrialBetweenTheMarks(t *testing.T) {
	c := dial(t, 0, 0, 50, 25, 100, 100)
	trial := span.Try(c, onScale(t, scale.Mark, 1), span.Ends{Lower: 0, Upper: 100})
	// At the readings: 25 points at mark 50. Between them the most is found by
	// asking the curve itself, finely.
	most := 0.0
	for i := range 10001 {
		mark := float64(i) / 10000
		most = max(most, math.Abs(float64(c.Ohm(mark, curve.Refuse).Ohm)/100-mark))
	}
	if float64(trial.Between) > most+1e-9 || float64(trial.Between) < most-0.002 || most < 0.25 {
		t.Errorf("between the marks up to %v, finely sampled %v", trial.Between, most)
	}
	if math.Abs(float64(trial.Worst)-0.25) > 1e-12 {
		t.Errorf("at the marks %v, want 25 points", trial.Worst)
	}
}

// Where the permitted fill stands between two readings, the ohms there count
// for the margin.
func TestMarginAtTheEndOfTheScale(t *testing.T) {
	c := dial(t, 0, 0, 40, 40, 70, 70, 100, 100)
	best, err := span.BestEnds(c, onScale(t, scale.Fill, 0.8), span.Readout{Step: 1}, span.Margin{Ohm: 2})
	if err != nil {
		t.Fatal(err)
	}
	if got := best.Setting.(span.Ends); got.Upper != 82 {
		t.Errorf("%v: the sender gives 80 Ω at mark 80, so with a margin of 2 Ω want 82", got)
	}
}
