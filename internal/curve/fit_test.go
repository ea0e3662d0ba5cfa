package curve_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/internal/curve"
	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
)

// dial makes a sheet from pairs of mark in percent and ohms.
func dial(pairs ...float64) curve.Sheet {
	var sheet curve.Sheet
	for i := 0; i < len(pairs); i += 2 {
		sheet.Readings = append(sheet.Readings, curve.Reading{Mark: pairs[i] / 100, Ohm: quantity.Ohm(pairs[i+1]), Line: i/2 + 2})
	}
	return sheet
}

func fit(t *testing.T, sheet curve.Sheet) *curve.Curve {
	t.Helper()
	c, err := curve.Fit(sheet, curve.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// said gives the texts of the findings of a kind.
func said(c *curve.Curve, kind string) string {
	var texts []string
	for _, f := range c.Findings() {
		if f.Kind == kind {
			texts = append(texts, f.Text)
		}
	}
	return strings.Join(texts, " / ")
}

func TestFitFindings(t *testing.T) {
	tests := []struct {
		name  string
		sheet curve.Sheet
		kind  string
		text  string // a part of what is said; "" for nothing of that kind
		worst finding.Weight
	}{
		{"rising", dial(0, 0.6, 25, 23, 50, 45, 75, 68, 100, 90), "direction", "Rising: 0.6 Ω at 0 %, 90.0 Ω at 100 %", finding.Note},
		{"falling", dial(0, 240, 25, 190, 50, 138, 75, 84, 100, 33), "direction", "Falling: 240.0 Ω at 0 %, 33.0 Ω at 100 %", finding.Note},
		{"top not reached", dial(0, 0.6, 20, 20, 40, 41, 60, 60, 80, 80), "not-reached", "from 0 % to 80 %", finding.Note},
		{"few marks", dial(0, 1, 50, 40, 100, 90), "few-marks", "Only 3 marks", finding.Doubt},
		{"noise in the order", dial(0, 10, 20, 30, 40, 51, 60, 50, 80, 90, 100, 110), "order", "by up to 0.5 Ω", finding.Note},
		{"one wild mark", dial(0, 0, 10, 10, 20, 20, 30, 2, 40, 40, 50, 50, 60, 60, 100, 100), "outlier", "2.0 Ω at 30 %", finding.Doubt},
		{"a dead spot in the track", dial(0, 0, 10, 10, 20, 20, 30, 2, 30, 2.1, 40, 40, 50, 50, 60, 60, 100, 100), "dropout", "2 times", finding.Bad},
		{"up and down again", dial(0, 10, 20, 40, 40, 80, 60, 60, 80, 30, 100, 12), "not-monotone", "10.0 Ω at 0 %, then 80.0 Ω at 40 %, then 12.0 Ω at 100 %", finding.Bad},
		{"dead at the bottom", dial(0, 5, 5, 5, 10, 5, 30, 30, 50, 55, 75, 80, 100, 105), "dead-travel", "at the bottom: from 0 % to 10 %", finding.Doubt},
		{"dead at the top", dial(0, 5, 25, 30, 50, 55, 75, 80, 85, 90, 90, 90, 100, 90), "dead-travel", "at the top: from 85 % to 100 %", finding.Doubt},
		{"a chain of resistors", dial(0, 0, 5, 0, 10, 0, 15, 18, 20, 18, 25, 18, 30, 36, 35, 36, 40, 36, 45, 54, 50, 54, 55, 54, 60, 72, 65, 72, 70, 72, 75, 90, 80, 90, 90, 108, 100, 108), "steps", "steps of about 18.0 Ω (16.7 % of span), one every 15 %", finding.Note},
		{"a smooth sender has no steps", dial(0, 0, 5, 4, 10, 9, 15, 14, 20, 18, 25, 23, 30, 27, 50, 45, 100, 90), "steps", "", finding.Note},
		{"a smooth sender has no dead travel", dial(0, 0, 1, 1, 2, 1.9, 3, 3, 50, 50, 100, 100), "dead-travel", "", finding.Note},
		{"repeats that scatter more than the sender moves", dial(0, 50, 0, 52, 50, 51, 50, 53, 100, 52, 100, 54), "stuck", "hardly more", finding.Bad},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			c := fit(t, test.sheet)
			got := said(c, test.kind)
			if test.text == "" && got != "" || !strings.Contains(got, test.text) {
				t.Errorf("%s says %q, want %q; all findings: %v", test.kind, got, test.text, c.Findings())
			}
			if worst := finding.Worst(c.Findings()); worst != test.worst {
				t.Errorf("the worst finding is of weight %v, want %v: %v", worst, test.worst, c.Findings())
			}
		})
	}
}

// Hysteresis, repeatability and linearity of a bench made so that the figures
// of IEC 61298-2 can be worked by hand: a straight sender of 1 Ω per percent,
// 2 Ω higher going down at 50, repeats ±0.3 Ω at 20.
func TestErrorsByHand(t *testing.T) {
	sheet := curve.Sheet{}
	add := func(mark, ohm float64, sweep curve.Sweep) {
		sheet.Readings = append(sheet.Readings, curve.Reading{Mark: mark / 100, Ohm: quantity.Ohm(ohm), Sweep: sweep})
	}
	for _, m := range []float64{0, 20, 50, 80, 100} {
		up, down := m, m
		if m == 50 {
			up, down = 49, 51
		}
		if m == 20 {
			add(m, up+0.3, curve.Up)
			up -= 0.3
		}
		add(m, up, curve.Up)
		add(m, down, curve.Down)
	}
	c := fit(t, sheet)
	if h := c.Hysteresis(); !h.Known || math.Abs(float64(h.Ohm)-2) > 1e-12 || h.Mark != 0.5 || h.UpHigher {
		t.Errorf("hysteresis %+v", h)
	}
	// One pair 0.6 apart: s = 0.6/√2, one degree of freedom.
	if r := c.Repeatability(); r.DF != 1 || math.Abs(r.SD-0.6/math.Sqrt2) > 1e-12 {
		t.Errorf("repeatability %+v", r)
	}
	if l := c.Linearity(); l.Independent > 1e-12 || l.Terminal > 1e-12 || l.Zero > 1e-12 {
		t.Errorf("a straight sender is off a straight line by %+v", l)
	}
	// u at 50: s/√2 ⊕ half the hysteresis/√3 ⊕ 0.1/√12 (resolution), where what
	// the largest of five differences would come to by scatter alone, 1.18 s√2
	// (Blom: the quantile of 4.625/5.25), is taken off the hysteresis.
	s2 := 0.36 / 2
	h := 2 - 1.179761118*math.Sqrt(2*s2)
	want := math.Sqrt(s2/2 + h*h/4/3 + 0.01/12)
	if got := float64(c.Ohm(0.5, curve.Refuse).UOhm); math.Abs(got-want) > 1e-8 {
		t.Errorf("u at 50 is %v, want %v", got, want)
	}
	// One point of mark is one ohm here, and the reading in service scatters too.
	if got := 100 * c.Mark(50, curve.Refuse).UMark; math.Abs(got-math.Hypot(want, math.Sqrt(s2))) > 1e-8 {
		t.Errorf("u of the mark at 50 Ω is %v points, want %v", got, math.Hypot(want, math.Sqrt(s2)))
	}
	b, ok := c.BudgetOfMark(50, curve.Refuse)
	if !ok || math.Abs(b.Combined()-math.Hypot(want, math.Sqrt(s2))) > 1e-8 || b.Unit != "%" {
		t.Errorf("budget of the mark at 50 Ω: %+v", b)
	}
}

// Three readings going up and one going down count half each way.
func TestPooledSweepsCountHalfEach(t *testing.T) {
	sheet := dial(0, 0, 50, 49, 50, 49, 50, 49, 50, 51, 100, 100)
	for i := range sheet.Readings {
		sheet.Readings[i].Sweep = curve.Up
	}
	sheet.Readings[4].Sweep = curve.Down
	if got := fit(t, sheet).Points()[1]; got.Ohm != 50 || got.N != 4 {
		t.Errorf("pooled to %v of %d, want 50 of 4", got.Ohm, got.N)
	}
}

func TestLinearityByHand(t *testing.T) {
	// y = x² at 0, ¼, ½, ¾, 1 of 100 Ω: end to end 25 % off at ½; best line
	// half of that; from zero: the slope m with m·½ − ¼ = 1 − m, m = 5/6,
	// so 1/6 off.
	for _, by := range []float64{1, 1e-307} { // also where ohms over marks are no number
		l := fit(t, dial(0, 0, 25*by, 6.25, 50*by, 25, 75*by, 56.25, 100*by, 100)).Linearity()
		for what, pair := range map[string][2]float64{
			"independent": {l.Independent, 0.125}, "terminal": {l.Terminal, 0.25}, "zero": {l.Zero, 1.0 / 6},
		} {
			if !(math.Abs(pair[0]-pair[1]) < 1e-12) {
				t.Errorf("marks times %g: %s %v, want %v", by, what, pair[0], pair[1])
			}
		}
	}
}

func TestSweepsFromOrder(t *testing.T) {
	c := fit(t, dial(0, 0, 25, 24, 50, 49, 75, 74, 100, 100, 75, 76, 50, 51, 25, 26, 0, 0))
	if h := c.Hysteresis(); !h.Known || h.Ohm != 2 || h.UpHigher {
		t.Errorf("hysteresis %+v", h)
	}
	if !strings.Contains(said(c, "hysteresis"), "from the order of the readings") {
		t.Errorf("says %q", said(c, "hysteresis"))
	}
	if c := fit(t, dial(50, 50, 0, 0, 100, 100, 25, 24, 75, 76, 50, 51)); c.Hysteresis().Known {
		t.Errorf("a jumbled order was taken for sweeps: %+v", c.Hysteresis())
	}
}

func TestOutsideTheReadings(t *testing.T) {
	c := fit(t, dial(10, 10, 30, 30, 50, 50, 70, 70))
	for _, ohm := range []quantity.Ohm{5, 9.99, 70.01, 500} {
		if a := c.Mark(ohm, curve.Refuse); !a.Outside || a.Known {
			t.Errorf("%v: %+v, want no answer", ohm, a)
		}
	}
	near, far := c.Mark(80, curve.Continue), c.Mark(95, curve.Continue)
	if !near.Outside || !near.Known || math.Abs(near.Mark-0.8) > 1e-12 {
		t.Errorf("80 Ω continued: %+v", near)
	}
	if !(far.UMark > near.UMark && near.UMark > c.Mark(70, curve.Refuse).UMark) {
		t.Errorf("the doubt doesn't grow outward: %v, then %v, then %v", c.Mark(70, curve.Refuse).UMark, near.UMark, far.UMark)
	}
	if a := c.Ohm(0.95, curve.Continue); !a.Outside || math.Abs(float64(a.Ohm)-95) > 1e-9 {
		t.Errorf("mark 95 continued: %+v", a)
	}
	if a := c.Ohm(0.95, curve.Refuse); a.Known || !a.Outside {
		t.Errorf("mark 95: %+v, want no answer", a)
	}
	// Below zero ohms there is no sender to continue.
	if a := fit(t, dial(20, 2, 40, 40, 60, 80)).Ohm(0, curve.Continue); a.Known {
		t.Errorf("continued to %v", a.Ohm)
	}
	// Nor from a dead end.
	if a := fit(t, dial(0, 0, 50, 50, 80, 90, 90, 90, 100, 90)).Mark(95, curve.Continue); a.Known {
		t.Errorf("continued from a dead end: %+v", a)
	}
}

func TestDeadStretchWidensTheDoubt(t *testing.T) {
	c := fit(t, dial(0, 5, 20, 5, 40, 30, 70, 60, 100, 90))
	a := c.Mark(5, curve.Refuse)
	if a.Lowest != 0 || a.Highest != 0.2 || a.Mark != 0.1 || a.UMark < 0.1/math.Sqrt(3) {
		t.Errorf("5 Ω is given from 0 to 20 %%: %+v", a)
	}
}

func TestUnusableSheets(t *testing.T) {
	var sheet *curve.SheetError
	var sender *curve.SenderError
	tests := []struct {
		name   string
		sheet  curve.Sheet
		target any
		text   string
	}{
		{"none", curve.Sheet{}, &sheet, "no readings; a curve needs at least two, at different marks"},
		{"one", dial(50, 40), &sheet, "one reading only; a curve needs at least two, at different marks"},
		{"one mark", dial(50, 40, 50, 41, 50, 42), &sheet, "all 3 readings are at the mark 50 %; a curve needs at least two different marks"},
		{"one resistance", dial(0, 40, 50, 40, 100, 40), &sender, "all 3 readings are 40.0 Ω: the sender doesn't move, or the meter isn't on its two wires; check the float or dial and the leads"},
		{"not a number", dial(0, math.NaN(), 50, 40), &sheet, "NaN ohm can't come from a level sender; expected 0 to 100000"},
		{"below zero", dial(0, -1, 50, 40), &sheet, "-1 ohm can't come from a level sender; expected 0 to 100000"},
		{"absurd", dial(0, 1e308, 50, 40), &sheet, "1e+308 ohm can't come from a level sender; expected 0 to 100000"},
		{"no position", dial(math.Inf(1), 1, 50, 40), &sheet, "the mark +Inf is not a position"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			_, err := curve.Fit(test.sheet, curve.Options{})
			if err == nil || !errors.As(err, test.target) || err.Error() != test.text {
				t.Errorf("error %q (%T), want %q", err, err, test.text)
			}
		})
	}
}

// Laws of every curve: it never turns, passes near its points, gives a mark
// back for every resistance it gives, and a reversed sender mirrors it.
func TestCurveLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 25).Draw(t, "readings")
		var sheet, mirrored curve.Sheet
		for range n {
			mark := float64(rapid.IntRange(0, 20).Draw(t, "mark")) / 20
			ohm := math.Round(10*max(0, 100*mark+rapid.Float64Range(-15, 15).Draw(t, "noise"))) / 10
			sheet.Readings = append(sheet.Readings, curve.Reading{Mark: mark, Ohm: quantity.Ohm(ohm)})
			mirrored.Readings = append(mirrored.Readings, curve.Reading{Mark: mark, Ohm: quantity.Ohm(math.Round(10*(200-ohm)) / 10)})
		}
		c, err := curve.Fit(sheet, curve.Options{})
		if err != nil {
			return
		}
		d := float64(c.Direction())
		points := c.Points()
		first, last := points[0].Mark, points[len(points)-1].Mark
		previous := math.Inf(-1)
		for k := range 101 {
			mark := first + float64(k)/100*(last-first)
			a := c.Ohm(mark, curve.Refuse)
			if !a.Known || d*float64(a.Ohm) < previous-1e-12 {
				t.Fatalf("turns at %v: %v after %v", mark, a.Ohm, previous)
			}
			previous = d * float64(a.Ohm)
			back := c.Mark(a.Ohm, curve.Refuse)
			// Where a curve leaves a dead stretch it starts level, so there a place
			// is only known to the cube root of the arithmetic's precision.
			if !back.Known || mark < back.Lowest-1e-5 || mark > back.Highest+1e-5 || math.Abs(float64(c.Ohm(back.Mark, curve.Refuse).Ohm-a.Ohm)) > 1e-9 {
				t.Fatalf("%v gives %v, which gives %v to %v back", mark, a.Ohm, back.Lowest, back.Highest)
			}
			if !(back.UMark >= 0) || math.IsInf(back.UMark, 0) {
				t.Fatalf("doubt of %v at %v", back.UMark, a.Ohm)
			}
		}
		m, err := curve.Fit(mirrored, curve.Options{})
		if err != nil || m.Direction() == c.Direction() {
			return // a tie of directions is settled as rising in both
		}
		for k := range 21 {
			mark := first + float64(k)/20*(last-first)
			a, b := c.Ohm(mark, curve.Refuse), m.Ohm(mark, curve.Refuse)
			if math.Abs(float64(a.Ohm+b.Ohm-200)) > 1e-6 {
				t.Fatalf("mirror at %v: %.9f and %.9f; %v; %v", mark, float64(a.Ohm), float64(b.Ohm), c.Points(), m.Points())
			}
		}
	})
}

func BenchmarkFit40(b *testing.B) {
	var pairs []float64
	for i := range 40 {
		mark := float64(i) * 100 / 39
		pairs = append(pairs, mark, math.Round(10*(1+0.9*mark+3*math.Sin(mark/20)))/10)
	}
	sheet := dial(pairs...)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := curve.Fit(sheet, curve.Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
