package curve_test

import (
	"math"
	"strings"
	"testing"

	"gaugewright/internal/curve"
)

func TestParseMeter(t *testing.T) {
	for text, want := range map[string]curve.Meter{
		"0.5%+2":            {OfReading: 0.005, Digits: 2},
		"±0,9 % + 2 digits": {OfReading: 0.009, Digits: 2},
		"0.9%+2@0.1ohm":     {OfReading: 0.009, Digits: 2, Step: 0.1},
		"1%":                {OfReading: 0.01},
		"3digits":           {Digits: 3},
		"handheld":          curve.MeterClasses["handheld"],
	} {
		if got, err := curve.ParseMeter(text); err != nil || math.Abs(float64(got.OfReading-want.OfReading)) > 1e-12 || got.Digits != want.Digits || got.Step != want.Step {
			t.Errorf("%q: %+v, %v; want %+v", text, got, err, want)
		}
	}
	for _, text := range []string{"", "good", "0.5%+", "0.5+2", "-1%+2", "80%+2", "0.5%+2@1mm", "0.5%+2@", "NaN%+2", "0.5%+-2", "1e9digits"} {
		if m, err := curve.ParseMeter(text); err == nil || !strings.Contains(err.Error(), "write it like 0.5%+2") {
			t.Errorf("%q: %+v, %v", text, m, err)
		}
	}
	// ±(0.9 % + 2 digits of 0.1 Ω) of 118.4 Ω is 1.2656 Ω either way (arithmetic
	// of the usual specification, recomputed independently).
	m, err := curve.ParseMeter("0.9%+2")
	if err != nil {
		t.Fatal(err)
	}
	if got := m.HalfWidth(118.4, 0.1); math.Abs(float64(got)-1.2656) > 1e-12 {
		t.Errorf("half-width %v", got)
	}
}

func FuzzParseMeter(f *testing.F) {
	for _, seed := range []string{"0.5%+2", "±0,9 % + 2 digits", "1%@0.1ohm", "handheld", "+", "@", "%+", "5d"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		m, err := curve.ParseMeter(text)
		if err != nil {
			return
		}
		if w := m.HalfWidth(100, 0.1); !(w >= 0 && w < 2000) {
			t.Fatalf("%q was read as %+v, good to %v", text, m, w)
		}
		if again, err := curve.ParseMeter(m.String()); err != nil || math.Abs(float64(again.HalfWidth(100, 0.1)-m.HalfWidth(100, 0.1))) > 0.01 {
			t.Fatalf("%q, written as %q, was read as %+v, %v", text, m, again, err)
		}
	})
}

func TestLeadsAreTakenOff(t *testing.T) {
	sheet := dial(0, 1.3, 50, 50.3, 100, 100.3)
	c, err := curve.Fit(sheet, curve.Options{Doubts: curve.Doubts{Leads: 0.3, LeadsU: 0.1}})
	if err != nil {
		t.Fatal(err)
	}
	if got := c.Points()[1]; got.Ohm != 50 || math.Abs(float64(got.U)-math.Hypot(0.1, 0.1/math.Sqrt(12))) > 1e-9 {
		t.Errorf("%+v, want 50 Ω and the leads in the doubt", got)
	}
	if sheet.Readings[0].Ohm != 1.3 {
		t.Error("the caller's readings were changed")
	}
	_, err = curve.Fit(dial(0, 0.1, 100, 90), curve.Options{Doubts: curve.Doubts{Leads: 0.3}})
	if err == nil || !strings.Contains(err.Error(), "less than the shorted test leads alone") {
		t.Errorf("error %v", err)
	}
}

// JCGM 100:2008, 5.1: each line's contribution is its sensitivity times its
// uncertainty, and all lines together give UOhm and UMark.
func TestBudgetsAddUp(t *testing.T) {
	c, err := curve.Fit(elevenPoints(), curve.Options{Doubts: curve.Doubts{
		Meter: curve.Meter{OfReading: 0.005, Digits: 2}, LeadsU: 0.1, MarkHalfWidth: 0.01, Temperature: 0.003,
	}})
	if err != nil {
		t.Fatal(err)
	}
	b, ok := c.BudgetOfOhm(0.5)
	if !ok || len(b.Lines) != 7 {
		t.Fatalf("%+v", b)
	}
	if got, want := b.Combined(), float64(c.Ohm(0.5, curve.Refuse).UOhm); math.Abs(got-want) > 1e-12 {
		t.Errorf("the lines come to %v, UOhm is %v", got, want)
	}
	for _, l := range b.Lines {
		switch l.Quantity {
		case "reading of the mark": // ±1 % misread, at the slope of about 1.8 Ω per percent
			if math.Abs(l.U-1/math.Sqrt(3)) > 1e-9 || l.Unit != "%" || l.Sensitivity < 1.5 || l.Sensitivity > 2.2 {
				t.Errorf("%+v", l)
			}
		case "the meter":
			ohm := float64(c.Ohm(0.5, curve.Refuse).Ohm)
			if math.Abs(l.U-(0.005*ohm+0.2)/math.Sqrt(3)) > 1e-9 {
				t.Errorf("%+v", l)
			}
		}
	}
	ohm := c.Ohm(0.45, curve.Refuse).Ohm
	m, ok := c.BudgetOfMark(ohm, curve.Refuse)
	if u := 100 * c.Mark(ohm, curve.Refuse).UMark; !ok || math.Abs(m.Combined()-u) > 0.02*u {
		t.Errorf("the lines come to %v points, UMark is %v", m.Combined(), u)
	}
	beyond, ok := c.BudgetOfMark(c.Points()[10].Ohm+5, curve.Continue)
	if !ok || beyond.Lines[0].Quantity != "the end that wasn't reached" {
		t.Errorf("%+v", beyond)
	}
}
