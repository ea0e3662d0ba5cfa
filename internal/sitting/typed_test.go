package sitting

import (
	"math"
	"strings"
	"testing"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
)

func TestParseValue(t *testing.T) {
	for _, c := range []struct {
		signal curve.Signal
		text   string
		want   quantity.Ohm
	}{
		{curve.Ohms, "12.4", 12.4}, {curve.Ohms, "12,4", 12.4}, {curve.Ohms, " 12.4 Ω ", 12.4}, {curve.Ohms, "12.4Ω", 12.4},
		{curve.Ohms, "12.4ohm", 12.4}, {curve.Ohms, "12.4 OHMS", 12.4}, {curve.Ohms, "12.4\u00a0ohm", 12.4},
		{curve.Ohms, "0", 0}, {curve.Ohms, "-0", 0}, {curve.Ohms, "1e2", 100}, {curve.Ohms, "100000", 100000},
		{curve.Ohms, "1.2k", 1200}, {curve.Ohms, "1,2 kΩ", 1200}, {curve.Ohms, "1.2K", 1200}, {curve.Ohms, "1.2 kohm", 1200}, {curve.Ohms, "500 mΩ", 0.5},
		// IEC 60062, from memory: R, K stand in the place of the decimal point.
		{curve.Ohms, "1k2", 1200}, {curve.Ohms, "4R7", 4.7}, {curve.Ohms, "118R", 118}, {curve.Ohms, "R47", 0.47}, {curve.Ohms, "0r1", 0.1}, {curve.Ohms, "2K21", 2210}, {curve.Ohms, "33k", 33000},
		{curve.Volts, "0.5 V", 0.5}, {curve.Volts, "0,5", 0.5}, {curve.Volts, "500mV", 0.5}, {curve.Volts, "4.5volt", 4.5},
		{curve.Milliamps, "7.18", 7.18}, {curve.Milliamps, "7.18 mA", 7.18}, {curve.Milliamps, "0.02A", 20}, {curve.Milliamps, "4000 µA", 4}, {curve.Milliamps, "4000 μA", 4},
		{curve.Ratio, "45", 45}, {curve.Ratio, "45 %", 45}, {curve.Ratio, "45 % of supply", 45},
	} {
		if v, err := ParseValue(c.signal, c.text); err != nil || v != c.want || math.Signbit(float64(v)) {
			t.Errorf("%q in %s: found %v, %v; expected %v", c.text, c.signal.Figures(), v, err, c.want)
		}
	}
	for _, c := range []struct {
		signal     curve.Signal
		text, says string
	}{
		{curve.Ohms, "", "nothing was typed; type the ohms like 12.4"},
		{curve.Ohms, " \t", "nothing was typed"},
		{curve.Ohms, "0.5 V", "found volts, and the bench reads ohms; set the meter to that; type the ohms like 12.4"},
		{curve.Ohms, "7 mA", "found milliamps, and the bench reads ohms"},
		{curve.Ohms, "45 %", "found percentages of the supply, and the bench reads ohms"},
		{curve.Volts, "12 Ω", "found ohms, and the bench reads volts"},
		{curve.Volts, "1k2", "is not a number"},
		{curve.Ohms, "OL", `"OL" is an overload: an open circuit, and no reading; look at the leads and at the sender's wires`},
		{curve.Ohms, "0.L", "is an overload"}, {curve.Ohms, "O L", "is an overload"}, {curve.Ohms, "open", "is an overload"}, {curve.Ohms, "---", "is an overload"}, {curve.Ohms, "∞", "is an overload"},
		{curve.Volts, "OL", "is an overload of the meter, and no reading; choose a larger range"},
		{curve.Ohms, "1,234.5", "more than one separator; write the number without grouping its thousands; type the ohms like 12.4"},
		{curve.Ohms, "1.234,5", "more than one separator"},
		{curve.Ohms, "1M", "is not a number"}, {curve.Ohms, "abc", "is not a number"}, {curve.Ohms, "NaN", "is not a number"}, {curve.Ohms, "0x10", "is not a number"}, {curve.Ohms, "1k2k", "is not a number"}, {curve.Ohms, "Ω", "nothing where a number was expected"},
		{curve.Ohms, "-1", `"-1" can't come from a level sender; expected 0 to 100000 Ω`},
		{curve.Ohms, "100.1k", "can't come from a level sender"}, {curve.Milliamps, "0.026A", "expected 0 to 25 mA"},
		{curve.Ohms, "1" + strings.Repeat("0", 5000), "is not a number"},
	} {
		if v, err := ParseValue(c.signal, c.text); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%q in %s: found %v, %v; expected %q", c.text, c.signal.Figures(), v, err, c.says)
		} else if len(err.Error()) > 400 {
			t.Errorf("a message of %d bytes", len(err.Error()))
		}
	}
}

func TestParseMark(t *testing.T) {
	for _, c := range []struct {
		unit curve.MarkUnit
		text string
		want float64 // as shown
	}{
		{curve.Dial, "40", 40}, {curve.Dial, "40 %", 40}, {curve.Dial, "40%", 40}, {curve.Dial, "40 pct", 40}, {curve.Dial, "7", 7}, {curve.Dial, "1/2", 50}, {curve.Dial, "3/4", 75}, {curve.Dial, "0", 0}, {curve.Dial, "100", 100},
		{curve.Height, "120", 120}, {curve.Height, "120 mm", 120}, {curve.Height, "120MM", 120}, {curve.Height, "12 cm", 120}, {curve.Height, "0.12m", 120}, {curve.Height, "5in", 127}, // 25.4 mm, exact
		{curve.Volume, "12,5", 12.5}, {curve.Volume, "12,5 L", 12.5}, {curve.Volume, "12.5l", 12.5}, {curve.Volume, "500 mL", 0.5}, {curve.Volume, "2 USgal", 7.570823568}, {curve.Volume, "2 imp gal", 9.09218}, // exact, see quantity
		{curve.Mass, "3", 3}, {curve.Mass, "3 kg", 3}, {curve.Mass, "3 KG", 3}, {curve.Mass, "2lb", 0.90718474},
	} {
		v, err := ParseMark(c.unit, c.text)
		if err != nil || v != c.unit.FromShown(c.want) {
			t.Errorf("%q in %s: found %v, %v; expected %v", c.text, c.unit.Symbol(), v, err, c.unit.FromShown(c.want))
		}
	}
	for _, c := range []struct {
		unit       curve.MarkUnit
		text, says string
	}{
		{curve.Dial, " ", "no mark was typed; type it like 40 or 40 %"},
		{curve.Dial, "101", `the mark "101" lies outside 0 to 100 %`}, {curve.Dial, "-1", "lies outside"}, {curve.Dial, "3/2", "no part of a whole"}, {curve.Dial, "0/0", "no part of a whole"},
		{curve.Dial, "120 mm", `the mark "120 mm" isn't in %, as the marks of this bench are; type it like 40 or 40 %`},
		{curve.Height, "40 %", "isn't in mm"}, {curve.Volume, "3 kg", "isn't in L"}, {curve.Mass, "3 L", "isn't in kg"},
		{curve.Height, "1/2", "can't be read"}, {curve.Height, "1,200.5", "more than one separator"},
		{curve.Volume, "2 gal", "doesn't say which gallon it is"}, {curve.Height, "200 m", "lies outside 0 to 100000 mm"}, {curve.Height, "abc", "can't be read"},
	} {
		if v, err := ParseMark(c.unit, c.text); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%q in %s: found %v, %v; expected %q", c.text, c.unit.Symbol(), v, err, c.says)
		}
	}
}

// FuzzParseValue: whatever is typed is a believable value or an error of one
// line, and a value printed with its unit is read back.
func FuzzParseValue(f *testing.F) {
	for _, text := range []string{"", "12.4", "12,4 Ω", "1k2", "R47", "0.5 V", "OL", "1,234.5", "-0", "1e309", "k", "%", "\xff", "4000 µA", "1.2\u00a0kΩ", "0.02A"} {
		f.Add(0, text)
		f.Add(2, text)
	}
	f.Fuzz(func(t *testing.T, which int, text string) {
		signal := curve.Signals[uint(which)%uint(len(curve.Signals))]
		v, err := ParseValue(signal, text)
		if err != nil {
			shortLine(t, err)
			return
		}
		if !(v >= 0 && v <= signal.Limit()) || math.Signbit(float64(v)) {
			t.Fatalf("%q gave %v", text, v)
		}
		again, err := ParseValue(signal, signal.Text(v))
		if err != nil || math.Abs(float64(again-v)) > 0.51*math.Pow10(-signal.Decimals()) {
			t.Fatalf("%s read back is %v, %v", signal.Text(v), again, err)
		}
	})
}

// FuzzParseMark: likewise for marks.
func FuzzParseMark(f *testing.F) {
	for _, text := range []string{"", "40", "40 %", "1/2", "12 cm", "12,5 L", "2 US gal", "3 kg", "1,200.5", "5in", "-0", "1e309", "\xff", "/", "m3", "0" + strings.Repeat("\x0f", 60), "0" + strings.Repeat("\u00a0", 40)} {
		f.Add(0, text)
		f.Add(1, text)
		f.Add(2, text)
	}
	f.Fuzz(func(t *testing.T, which int, text string) {
		unit := curve.MarkUnits[uint(which)%uint(len(curve.MarkUnits))]
		mark, err := ParseMark(unit, text)
		if err != nil {
			shortLine(t, err)
			return
		}
		if !(mark >= 0 && mark <= unit.FromShown(unit.Limit())) || math.Signbit(mark) {
			t.Fatalf("%q gave %v", text, mark)
		}
		again, err := ParseMark(unit, unit.Text(mark))
		if err != nil || math.Abs(unit.ToShown(again)-unit.ToShown(mark)) > 0.051 {
			t.Fatalf("%s read back is %v, %v", unit.Text(mark), again, err)
		}
	})
}

func shortLine(t *testing.T, err error) {
	t.Helper()
	if text := err.Error(); text == "" || strings.ContainsAny(text, "\n\r\x00") || len(text) > 500 {
		t.Errorf("not one short line: %q", text)
	}
}
