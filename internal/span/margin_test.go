package span_test

import (
	"math"
	"strings"
	"testing"

	"gaugewright/internal/curve"
	"gaugewright/internal/doubt"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
	"gaugewright/internal/span"
)

// Twelve readings at the top, standard deviation 0.5 Ω with 11 degrees of
// freedom: one reading exceeds the mean by t·s·√(1 + 1/12) with a chance of 1 %,
// t = 2.718 (the one-sided 99 % point for 11 degrees of freedom in any table of
// Student's t). The last digit and nothing else adds to that.
func TestAutoMargin(t *testing.T) {
	sheet := curve.Sheet{}
	add := func(mark, ohm float64) {
		sheet.Readings = append(sheet.Readings, curve.Reading{Mark: mark, Ohm: quantity.Ohm(ohm)})
	}
	add(0, 1)
	add(0.5, 50)
	var top []float64
	for i := range 12 {
		v := 100 + 0.5*math.Sqrt(11.0/12)*float64(1-2*(i%2))
		top = append(top, v)
		add(1, math.Round(1e4*v)/1e4)
	}
	if sd := doubt.Pool([][]float64{top}).SD; math.Abs(sd-0.5) > 1e-9 {
		t.Fatalf("standard deviation %g", sd)
	}
	c, err := curve.Fit(sheet, curve.Options{})
	if err != nil {
		t.Fatal(err)
	}
	margin, why := span.AutoMargin().Over(c, onScale(t, scale.Mark, 1))
	greatest := 100 + 0.5*math.Sqrt(11.0/12)
	want := 100 + 2.718*0.5*math.Sqrt(1+1.0/12) - greatest
	if math.Abs(float64(margin)-want) > 0.003 {
		t.Errorf("margin %g, want %g (%s)", float64(margin), want, why)
	}
	for _, part := range []string{"1 %", "11 degrees of freedom", "at 100 %"} {
		if !strings.Contains(why, part) {
			t.Errorf("%q isn't in %q", part, why)
		}
	}
	best, err := span.BestEnds(c, onScale(t, scale.Mark, 1), span.Readout{}, span.AutoMargin())
	if err != nil {
		t.Fatal(err)
	}
	if got := best.Setting.(span.Ends).Upper; float64(got) < greatest+float64(margin)-1e-4 {
		t.Errorf("upper value %v with a margin of %v", got, margin)
	}
	parsed, err := span.ParseMargin("auto")
	if err != nil || parsed != span.AutoMargin() {
		t.Errorf("auto was read as %+v, %v", parsed, err)
	}
	// Nothing read twice: the last digit alone, u = 0.1/√12, and the normal
	// distribution's 2.326.
	once := dial(t, 0, 0.6, 50, 50.2, 100, 99.6)
	margin, why = span.AutoMargin().Over(once, onScale(t, scale.Mark, 1))
	if want := 2.326 * 0.1 / math.Sqrt(12); math.Abs(float64(margin)-want) > 0.001 || !strings.Contains(why, "No mark was read twice") {
		t.Errorf("margin %g, want %g (%s)", float64(margin), want, why)
	}
}
