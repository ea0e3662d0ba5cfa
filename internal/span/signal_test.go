package span_test

import (
	"math"
	"strings"
	"testing"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
	"gaugewright/internal/span"
)

// giving makes a curve of a signal from pairs of mark in percent and its value.
func giving(t testing.TB, signal curve.Signal, pairs ...float64) *curve.Curve {
	t.Helper()
	sheet := curve.Sheet{Signal: signal}
	for i := 0; i < len(pairs); i += 2 {
		sheet.Readings = append(sheet.Readings, curve.Reading{Mark: pairs[i] / 100, Ohm: quantity.Ohm(pairs[i+1])})
	}
	c, err := curve.Fit(sheet, curve.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// By hand, common practice, no source: a straight sender of 0.5 to 4.5 V is set
// to its own ends where there is no margin. The usual one is 0.2 % of 4 V, so
// the greater end is 4.508 V or more, on steps of 0.01 V 4.51.
func TestRatiometricEndsByHand(t *testing.T) {
	c := giving(t, curve.Volts, 0, 0.5, 25, 1.5, 50, 2.5, 75, 3.5, 100, 4.5)
	s := onScale(t, scale.Mark, 1)
	choice, err := span.BestEnds(c, s, span.Readout{Step: 0.01}, span.Margin{})
	if err != nil {
		t.Fatal(err)
	}
	ends := choice.Setting.(span.Ends)
	if math.Abs(float64(ends.Lower)-0.5) > 1e-9 || math.Abs(float64(ends.Upper)-4.5) > 1e-9 || choice.Worst > 1e-9 {
		t.Errorf("ends %v, worst %g; want 0.5 and 4.5, 0", ends, float64(choice.Worst))
	}
	margin, why := span.UsualMargin().Over(c, s)
	if math.Abs(float64(margin)-0.008) > 1e-12 || !strings.Contains(why, "0.008 V") {
		t.Errorf("usual margin %g, %q; want 0.008 V", float64(margin), why)
	}
	choice, err = span.BestEnds(c, s, span.Readout{Step: 0.01}, span.UsualMargin())
	if err != nil {
		t.Fatal(err)
	}
	if ends := choice.Setting.(span.Ends); math.Abs(float64(ends.Upper)-4.51) > 1e-9 {
		t.Errorf("upper value %g, want 4.51", float64(ends.Upper))
	}
}

// A 4 to 20 mA loop set to 4 and 20 shows (I − 4)/16. Source: IEC 60381-1, from
// memory.
func TestLoopEndsByStandard(t *testing.T) {
	ends := span.Ends{Lower: 4, Upper: 20}
	for _, current := range []float64{4, 7.2, 12, 19.2, 20} {
		if got, want := float64(ends.Show(quantity.Ohm(current))), (current-4)/16; math.Abs(got-want) > 1e-12 {
			t.Errorf("%g mA is shown as %g, want %g", current, got, want)
		}
	}
	c := giving(t, curve.Milliamps, 0, 4, 50, 12, 100, 20)
	for _, one := range span.Sensitivities(c, onScale(t, scale.Mark, 1), ends) {
		// 0.01 mA of 16 mA is a sixteenth of a point; at the top the lower value
		// does nothing.
		want := 0.01 / 16
		if one.Top && one.Value == "lower value" {
			want = 0
		}
		if math.Abs(-float64(one.Change)-want) > 2e-6 {
			t.Errorf("%s: %g, want %g", one.Value, float64(one.Change), -want)
		}
		if text := one.Sentence(curve.Dial); !strings.HasPrefix(text, "0.01 mA more on the ") {
			t.Error(text)
		}
	}
}

// The choice doesn't hang on the unit: a sender in milliamps, and one that gives
// a hundred times as many ohms, with steps and a margin a hundred times as
// large, show the same.
func TestChoiceKeepsWithTheUnit(t *testing.T) {
	pairs := []float64{0, 4, 10, 4.6, 20, 5.9, 40, 10.4, 60, 15.6, 80, 18.8, 100, 19.8}
	ohms := append([]float64(nil), pairs...)
	for i := 1; i < len(ohms); i += 2 {
		ohms[i] = math.Round(ohms[i] * 100)
	}
	a, b := giving(t, curve.Milliamps, pairs...), giving(t, curve.Ohms, ohms...)
	s := onScale(t, scale.Mark, 1)
	for _, objective := range []span.Objective{span.Worst, span.NearEmpty, span.NeverHigh, span.RMS} {
		one, err := span.BestEndsFor(a, s, span.Readout{Step: 0.01}, span.Margin{Ohm: 0.03}, objective)
		if err != nil {
			t.Fatal(err)
		}
		other, err := span.BestEndsFor(b, s, span.Readout{Step: 1}, span.Margin{Ohm: 3}, objective)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(float64(one.Score-other.Score)) > 1e-9 || math.Abs(float64(one.LowerBound-other.LowerBound)) > 1e-6 {
			t.Errorf("%s, ends: score %g of at least %g in milliamps, %g of %g in ohms", objective,
				float64(one.Score), float64(one.LowerBound), float64(other.Score), float64(other.LowerBound))
		}
		table := span.TableReadout{Readout: span.Readout{Step: 0.1}, Points: 4, ShareStep: 0.01}
		inA, err := span.BestTableFor(a, s, table, span.Margin{Ohm: 0.03}, objective)
		if err != nil {
			t.Fatal(err)
		}
		table.Step = 10
		inB, err := span.BestTableFor(b, s, table, span.Margin{Ohm: 3}, objective)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(float64(inA.Score-inB.Score)) > 1e-9 {
			t.Errorf("%s, table: score %g in milliamps, %g in ohms", objective, float64(inA.Score), float64(inB.Score))
		}
	}
}

// What is said of a sender that gives volts doesn't speak of ohms or of a broken
// wire, which gives no volts at all.
func TestSpanSpeaksOfTheSignal(t *testing.T) {
	c := giving(t, curve.Volts, 0, 0.5, 20, 0.9, 50, 2.9, 80, 3.4, 100, 4.5)
	s := onScale(t, scale.Fill, 0.8)
	check := func(text string) {
		t.Helper()
		for _, bad := range []string{"Ω", "ohm", "broken wire"} {
			if strings.Contains(strings.ToLower(text), strings.ToLower(bad)) {
				t.Errorf("%q in %q", bad, text)
			}
		}
	}
	for _, margin := range []span.Margin{span.UsualMargin(), span.AutoMargin(), {}, {Ohm: 0.1}} {
		choice, err := span.BestEnds(c, s, span.Readout{Step: 0.01}, margin)
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range append(choice.Findings, span.Remedy(c, s, choice)...) {
			check(f.Text)
		}
	}
	for _, ends := range []span.Ends{{Lower: 0, Upper: 5}, {Lower: 0.5, Upper: 4.5}, {Lower: 0.5, Upper: 3.4}, {Lower: 1, Upper: 3.4}, {Lower: 5, Upper: 0}} {
		check(span.Why(c, s, ends))
		for _, one := range span.Sensitivities(c, s, ends) {
			check(one.Sentence(c.Unit()))
		}
	}
	for _, test := range []struct {
		readout   span.Readout
		objective span.Objective
		says      string
	}{
		{span.Readout{Step: 0.01, Highest: 3}, span.Worst, "a highest value of 3.41"},
		{span.Readout{Step: 0.01, Lowest: 4}, span.Worst, "no less than 4 V"},
		{span.Readout{Step: 60}, span.Worst, "a step of 60 V isn't a step"},
		{span.Readout{Step: 10, Highest: 10, Lowest: 1}, span.Worst, "10 V"},
		{span.Readout{Highest: -1}, span.Worst, "lowest and the highest volts"},
	} {
		_, err := span.BestEndsFor(c, s, test.readout, span.UsualMargin(), test.objective)
		if err == nil {
			t.Errorf("%v has a choice", test.readout)
			continue
		}
		check(err.Error())
		if !strings.Contains(err.Error(), test.says) {
			t.Errorf("%v: %v; want %q", test.readout, err, test.says)
		}
	}
}

func TestParseMarginForSignals(t *testing.T) {
	c := giving(t, curve.Volts, 0, 0.5, 100, 4.5)
	s := onScale(t, scale.Mark, 1)
	for text, want := range map[string]float64{"0.05V": 0.05, " 0.05 V": 0.05, "0V": 0, "2%": 0.08, "usual": 0.008} {
		m, err := span.ParseMarginFor(curve.Volts, text)
		if err != nil {
			t.Errorf("%q: %v", text, err)
			continue
		}
		if got, _ := m.Over(c, s); math.Abs(float64(got)-want) > 1e-12 {
			t.Errorf("%q is %g V, want %g", text, float64(got), want)
		}
	}
	for _, text := range []string{"1ohm", "0.05", "-0.1V", "0.1mA", "V", "", "150%"} {
		if m, err := span.ParseMarginFor(curve.Volts, text); err == nil {
			t.Errorf("%q is read as %v", text, m)
		}
	}
	if m, err := span.ParseMarginFor(curve.Ratio, "1%supply"); err != nil || m.Ohm != 1 {
		t.Errorf("1 %% of the supply is read as %v, %v", m, err)
	}
}
