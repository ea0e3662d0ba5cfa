package curve_test

import (
	"math"
	"strings"
	"testing"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
)

// sheetOf makes a sheet of a signal from pairs of mark in percent and its value.
func sheetOf(signal curve.Signal, pairs ...float64) curve.Sheet {
	sheet := dial(pairs...)
	sheet.Signal = signal
	return sheet
}

func TestSignalNames(t *testing.T) {
	tests := []struct {
		signal                        curve.Signal
		column, symbol, word, printed string
	}{
		{curve.Ohms, "ohm", "Ω", "resistance", quantity.Ohm(2.5).String()},
		{curve.Volts, "volt", "V", "voltage", "2.500 V"},
		{curve.Milliamps, "milliamp", "mA", "current", "2.500 mA"},
		{curve.Ratio, "of_supply_pct", "%", "share of the supply", "2.50 % of supply"},
	}
	for _, test := range tests {
		s := test.signal
		if s.Column() != test.column || s.Symbol() != test.symbol || s.Word() != test.word || s.Text(2.5) != test.printed {
			t.Errorf("%q, %q, %q, %q; want %v", s.Column(), s.Symbol(), s.Word(), s.Text(2.5), test)
		}
	}
	if len(tests) != len(curve.Signals) {
		t.Errorf("%d signals, %d looked at", len(curve.Signals), len(tests))
	}
	if (curve.Sheet{}).Signal != curve.Ohms {
		t.Error("a sheet that says nothing isn't in ohms")
	}
}

// A straight ratiometric sender worked by hand, common practice, no source:
// 0.5 V at empty and 4.5 V at full on a supply of 5 V, so V = 0.5 + 4·level and
// level = (V − 0.5)/4; in percent of the supply 10 + 80·level.
func TestRatiometricByHand(t *testing.T) {
	for _, test := range []struct {
		sheet     curve.Sheet
		at, level map[float64]float64
		family    string
	}{
		{sheetOf(curve.Volts, 0, 0.5, 50, 2.5, 100, 4.5), map[float64]float64{0.25: 1.5, 0.8: 3.7}, map[float64]float64{1.7: 0.3, 2.9: 0.6}, "0.5:4.5"},
		{sheetOf(curve.Ratio, 0, 10, 50, 50, 100, 90), map[float64]float64{0.25: 30, 0.8: 74}, map[float64]float64{34: 0.3, 58: 0.6}, "10:90"},
	} {
		c := fit(t, test.sheet)
		for mark, want := range test.at {
			if got := c.Ohm(mark, curve.Refuse); math.Abs(float64(got.Ohm)-want) > 1e-9 {
				t.Errorf("at %g it gives %g, want %g", mark, float64(got.Ohm), want)
			}
		}
		for value, want := range test.level {
			if got := c.Mark(quantity.Ohm(value), curve.Refuse); math.Abs(got.Mark-want) > 1e-9 {
				t.Errorf("%g means %g, want %g", value, got.Mark, want)
			}
		}
		if l := c.Linearity(); l.Independent > 1e-9 || l.Terminal > 1e-9 {
			t.Errorf("a straight sender is off a straight line by %v", l)
		}
		odds, err := c.Families(0, 1)
		if err != nil {
			t.Fatal(err)
		}
		if first := odds.List[0]; first.Claim.String() != test.family || first.Probability < 0.95 {
			t.Errorf("taken for %s (%g), want %s", first.Claim, first.Probability, test.family)
		}
	}
}

// A current loop: level = (I − 4 mA)/16 mA. Source: IEC 60381-1, from memory.
func TestLoopByStandard(t *testing.T) {
	c := fit(t, sheetOf(curve.Milliamps, 0, 4, 25, 8, 50, 12, 75, 16, 100, 20))
	for _, current := range []float64{4, 5.6, 9.92, 12, 18.4, 20} {
		want := (current - 4) / 16
		if got := c.Mark(quantity.Ohm(current), curve.Refuse); math.Abs(got.Mark-want) > 1e-9 {
			t.Errorf("%g mA means %g, want %g", current, got.Mark, want)
		}
	}
	odds, err := c.Odds(curve.AsStated([]curve.Claim{{Empty: 4, Full: 20}, {Empty: 0, Full: 20}}), 0, 1)
	if err != nil {
		t.Fatal(err)
	}
	if first := odds.List[0]; first.Claim != (curve.Claim{Empty: 4, Full: 20}) || first.Verdict != curve.Agrees {
		t.Errorf("most probable %s, %s; want 4:20, agrees", first.Claim, first.Verdict)
	}
	if second := odds.List[1]; second.Verdict != curve.RulesOut {
		t.Errorf("0 to 20 mA: %s, want ruled out", second.Verdict)
	}
}

// Currents that are no levels. Source: NAMUR NE 43, from memory: 3.6 mA and
// less, 21 mA and more say that the transmitter has failed; it measures from
// 3.8 to 20.5 mA.
func TestFailureCurrents(t *testing.T) {
	for _, test := range []struct {
		low, high float64
		kind      string
	}{
		{3.5, 20, "failure-current"}, {3.6, 20, "failure-current"}, {4, 21, "failure-current"}, {4, 22.5, "failure-current"},
		{3.7, 20, "beyond-measuring"}, {4, 20.6, "beyond-measuring"}, {3.8, 20.5, ""}, {4, 20, ""},
	} {
		c := fit(t, sheetOf(curve.Milliamps, 0, test.low, 50, 12, 100, test.high))
		for _, kind := range []string{"failure-current", "beyond-measuring"} {
			if text := said(c, kind); (text != "") != (kind == test.kind) {
				t.Errorf("%g to %g mA: %s says %q", test.low, test.high, kind, text)
			}
		}
	}
	if text := said(fit(t, sheetOf(curve.Volts, 0, 3.5, 50, 12, 100, 22)), "failure-current"); text != "" {
		t.Errorf("volts are taken for a current loop: %s", text)
	}
}

func TestSignalLimits(t *testing.T) {
	for signal, most := range map[curve.Signal]float64{curve.Ohms: 100_000, curve.Volts: 100, curve.Milliamps: 25, curve.Ratio: 100} {
		if _, err := curve.Fit(sheetOf(signal, 0, 0, 100, most), curve.Options{}); err != nil {
			t.Errorf("%g %s: %v", most, signal.Symbol(), err)
		}
		if _, err := curve.Fit(sheetOf(signal, 0, 0, 100, most*1.001), curve.Options{}); err == nil || !strings.Contains(err.Error(), "can't come from a level sender") {
			t.Errorf("%g %s: %v", most*1.001, signal.Symbol(), err)
		}
	}
	_, err := curve.Fit(sheetOf(curve.Volts, 0, 1, 100, 4), curve.Options{Doubts: curve.Doubts{Leads: 0.3}})
	if err == nil || !strings.Contains(err.Error(), "test leads are taken off ohms") {
		t.Errorf("leads taken off volts: %v", err)
	}
}

// Nothing that is said of another signal speaks of ohms, whatever is found.
func TestOtherSignalsAreNotOhms(t *testing.T) {
	sheets := [][]float64{
		{0, 4, 0, 4.1, 20, 8, 40, 11, 60, 13, 80, 17, 100, 20, 80, 17.2, 20, 8.1, 0, 4.05},
		{0, 4, 10, 4, 20, 4, 40, 9, 60, 9, 80, 20, 90, 20, 100, 20},
		{0, 4, 20, 8, 20, 8, 20, 24, 40, 11, 60, 4, 60, 4, 80, 17, 100, 20},
		{0, 4, 20, 20, 40, 5, 60, 19, 80, 6, 100, 20},
		{0, 20, 50, 15, 100, 4},
		{0, 4, 10, 4, 20, 4, 30, 8, 40, 8, 50, 8, 60, 12, 70, 12, 80, 12, 90, 16, 100, 16},
	}
	claims := curve.AsStated([]curve.Claim{{Empty: 4, Full: 20}, {Empty: 20, Full: 4}, {Empty: 0, Full: 10}, {Empty: 0, Full: 10}})
	for _, signal := range curve.Signals[1:] {
		for _, pairs := range sheets {
			c := fit(t, sheetOf(signal, pairs...))
			findings := c.Findings()
			if c.Ordered() {
				odds, err := c.Odds(claims, 0, 1)
				if err != nil {
					t.Fatal(err)
				}
				families, err := c.Families(0, 1)
				if err != nil {
					t.Fatal(err)
				}
				findings = append(append(findings, c.OddsFindings(odds)...), c.OddsFindings(families)...)
				findings = append(findings, c.Plan(3, 0, 1).Findings()...)
				budget, _ := c.BudgetOfMark(10, curve.Refuse)
				for _, l := range budget.Lines {
					if l.Unit != signal.Symbol() {
						t.Errorf("%s in %q, want %q", l.Quantity, l.Unit, signal.Symbol())
					}
				}
			}
			for _, f := range findings {
				if strings.Contains(f.Text, "Ω") || strings.Contains(strings.ToLower(f.Text), "ohm") {
					t.Errorf("%s: %s", signal.Column(), f.Text)
				}
			}
		}
	}
	if _, err := curve.Fit(sheetOf(curve.Volts, 0, 2, 100, 2), curve.Options{}); err == nil || !strings.Contains(err.Error(), "2.000 V") {
		t.Errorf("a sender that doesn't move: %v", err)
	}
}

func TestParseMeterForSignals(t *testing.T) {
	for _, test := range []struct {
		signal curve.Signal
		text   string
		want   curve.Meter
	}{
		{curve.Volts, "0.5%+2", curve.Meter{OfReading: 0.005, Digits: 2}},
		{curve.Volts, "0.5%+2@0.01V", curve.Meter{OfReading: 0.005, Digits: 2, Step: 0.01}},
		{curve.Milliamps, "1%+3 @ 0.001 mA", curve.Meter{OfReading: 0.01, Digits: 3, Step: 0.001}},
		{curve.Ratio, "1%+3@0.1%", curve.Meter{OfReading: 0.01, Digits: 3, Step: 0.1}},
		{curve.Ohms, "0.5%+2@0.1ohm", curve.Meter{OfReading: 0.005, Digits: 2, Step: 0.1}},
	} {
		got, err := curve.ParseMeterFor(test.signal, test.text)
		if err != nil || math.Abs(float64(got.OfReading-test.want.OfReading)) > 1e-12 || got.Digits != test.want.Digits || got.Step != test.want.Step {
			t.Errorf("%q: %v, %v; want %v", test.text, got, err, test.want)
		}
	}
	for _, text := range []string{"pocket", "0.5%+2@0.1ohm", "0.5%+2@0V", "0.5%+2@50V", "0.5%+2@V", ""} {
		if got, err := curve.ParseMeterFor(curve.Volts, text); err == nil {
			t.Errorf("%q is read as %v", text, got)
		}
	}
	// By hand: 0.5 % of 4 V and two digits of 0.01 V.
	if got := (curve.Meter{OfReading: 0.005, Digits: 2}).HalfWidth(4, 0.01); math.Abs(float64(got)-0.04) > 1e-12 {
		t.Errorf("half-width %g V, want 0.04", float64(got))
	}
}
