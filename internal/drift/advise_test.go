package drift_test

import (
	"math"
	"strings"
	"testing"

	"gaugewright/internal/curve"
	"gaugewright/internal/drift"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
	"gaugewright/internal/span"
)

// readout sets two end values for a sender on the mark scale.
func readout(t *testing.T, c *curve.Curve) drift.Readout {
	t.Helper()
	s, err := scale.New(scale.Mark, 0, 0, 1, true)
	if err != nil {
		t.Fatal(err)
	}
	takes := span.Readout{Step: 1}
	choice, err := span.BestEndsFor(c, s, takes, span.UsualMargin(), span.Worst)
	if err != nil {
		t.Fatal(err)
	}
	return drift.Readout{Setting: choice.Setting, Scale: s, Takes: takes, RecordDay: date("2025-11-03"), Day: date("2026-11-03")}
}

func TestAdvice(t *testing.T) {
	at := func(m float64) float64 { return 5 + 180*m*(1.05-0.05*m) }
	marks := []float64{0.05, 0.15, 0.25, 0.35, 0.45, 0.55, 0.65, 0.75, 0.85, 0.95}
	for _, c := range []struct {
		name  string
		is    func(m float64) float64
		do    drift.Do
		mend  bool
		words string
	}{
		{"as it was", at, drift.Leave, false, "Leave the setting as it is"},
		{"a little", func(m float64) float64 { return at(m) * 1.004 }, drift.Leave, false, "within the tolerance"},
		{"in proportion", func(m float64) float64 { return at(m) * 1.06 }, drift.ReKey, false, "Key in "},
		{"in series", func(m float64) float64 { return at(m) + 14 }, drift.ReKey, true, "Find and mend the joint first, then check again. Only if the change stays: key in "},
		{"shifted", func(m float64) float64 { return at(m + 0.06) }, drift.ReKey, true, ""},
		{"worn", func(m float64) float64 {
			if m > 0.4 && m < 0.7 {
				return at(m) + 14
			}
			return at(m)
		}, drift.Replace, false, "Replace the sender: the track is damaged"},
		{"open", func(m float64) float64 {
			if m > 0.4 && m < 0.7 {
				return 2000
			}
			return at(m)
		}, drift.Replace, false, "Replace the sender"},
		{"far", func(m float64) float64 { return 5 + 300*m }, drift.Replace, false, "moved by "},
		{"misread", func(m float64) float64 {
			if m == 0.45 {
				return at(m) + 30
			}
			return at(m)
		}, drift.Leave, true, "Read that mark again first."},
	} {
		rec := fitted(t, clean(at, recordMarks...), close1)
		r := compared(t, rec, clean(c.is, marks...), close1, drift.Options{})
		in := readout(t, rec)
		a, err := drift.Advise(r, in)
		if err != nil {
			t.Fatal(err)
		}
		text := a.Findings[0].Text
		if f, ok := r.Cause(); c.mend && c.do == drift.ReKey && !ok {
			// Which of two it is can't be told on so straight a sender; then
			// nothing is mended first.
			t.Logf("%s: %+v", c.name, f)
			c.mend, c.words = false, ""
		}
		if a.Do != c.do || a.Mend != c.mend || !strings.Contains(text, c.words) {
			t.Errorf("%s: %s, mend %v: %s", c.name, a.Do, a.Mend, text)
		}
		if (a.Do == drift.ReKey) != (a.Setting() != nil) || (a.Do == drift.ReKey) != (a.Lower != nil) {
			t.Errorf("%s: %s with the setting %v", c.name, a.Do, a.Setting())
		}
		if a.Do != drift.ReKey {
			continue
		}
		// What is advised is right on the sender as it is.
		for m := 0.0; m <= 1; m += 0.05 {
			if e := float64(a.Setting().Show(quantity.Ohm(c.is(m)))) - m; math.Abs(e) > 0.02 && c.name != "shifted" {
				t.Errorf("%s: %s is off by %.1f points at %.0f %%", c.name, a.Setting(), 100*e, 100*m)
			}
		}
	}
}

// Too fast for a year: two services saw five points a year, and the tolerance
// leaves less than two.
func TestTooFastToKeyInAgain(t *testing.T) {
	at := func(m float64) float64 { return 5 + 180*m }
	rec := fitted(t, clean(at, recordMarks...), close1)
	r := compared(t, rec, clean(func(m float64) float64 { return at(m) * 1.05 }, 0.1, 0.3, 0.5, 0.7, 0.9, 1), close1, drift.Options{})
	in := readout(t, rec)
	a, err := drift.Advise(r, in)
	if err != nil || a.Do != drift.ReKey {
		t.Fatalf("one service, which may have seen a step: %s, %v", a.Do, err)
	}
	in.Earlier = []drift.Visit{{Day: date("2026-05-03"), Change: 2.6, U: 0.3}}
	a, err = drift.Advise(r, in)
	if err != nil {
		t.Fatal(err)
	}
	if a.Do != drift.Replace || !strings.Contains(a.Reason, "points a year") {
		t.Errorf("%s: %s", a.Do, a.Reason)
	}
}

// Where reading low invites overfilling nothing is advised that does so near the
// permitted fill, whatever the change, the objective and the direction.
func TestNothingAdvisedReadsLowNearTheFill(t *testing.T) {
	fill, err := scale.New(scale.Fill, 0.8, 0, 1, true)
	if err != nil {
		t.Fatal(err)
	}
	advised := 0
	for _, s := range senders {
		rec := fitted(t, clean(s.at, recordMarks...), close1)
		for _, g := range []float64{0.9, 0.95, 0.97, 1.03, 1.08} {
			is := func(m float64) float64 { return s.at(m) * g }
			r := compared(t, rec, clean(is, 0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1), close1, drift.Options{})
			in := readout(t, rec)
			in.Scale, in.Overfills = fill, true
			in.Tolerance = 0.05
			a, err := drift.Advise(r, in)
			if err != nil {
				t.Fatal(err)
			}
			if a.Do != drift.ReKey {
				continue
			}
			advised++
			for m := 0.72; m <= 0.8; m += 0.01 {
				// Half a point, and what the margin and a whole ohm cost.
				cost := 0.005 + (math.Max(0.1, 0.002*spanOf(s))+1)/math.Abs(*a.Upper-*a.Lower)
				if low := float64(fill.Target(m)) - float64(a.Setting().Show(quantity.Ohm(is(m)))); low > cost+0.002 {
					t.Errorf("%s × %g: %s reads %.1f points low at %.0f %%", s.name, g, a.Setting(), 100*low, 100*m)
				}
			}
		}
	}
	if advised < 5 {
		t.Errorf("only %d settings were advised", advised)
	}
}

func TestAdviceRefuses(t *testing.T) {
	at := senders[0].at
	rec := fitted(t, clean(at, recordMarks...), close1)
	r := compared(t, rec, clean(at, 0.1, 0.5, 0.9), close1, drift.Options{})
	if _, err := drift.Advise(r, drift.Readout{}); err == nil {
		t.Error("advised without a setting")
	}
	in := readout(t, rec)
	in.Tolerance = 2
	if _, err := drift.Advise(r, in); err == nil {
		t.Error("took a tolerance of 200 points")
	}
}

// A table is keyed in again as a table.
func TestAdviceForATable(t *testing.T) {
	at := senders[2].at
	rec := fitted(t, clean(at, recordMarks...), close1)
	in := readout(t, rec)
	choice, err := span.BestTableFor(rec, in.Scale, span.TableReadout{Readout: span.Readout{Step: 1}, Points: 6}, span.UsualMargin(), span.Worst)
	if err != nil {
		t.Fatal(err)
	}
	in.Setting = choice.Setting
	r := compared(t, rec, clean(func(m float64) float64 { return at(m) * 0.93 }, recordMarks...), close1, drift.Options{})
	a, err := drift.Advise(r, in)
	if err != nil {
		t.Fatal(err)
	}
	if a.Do != drift.ReKey || len(a.Table) < 2 || len(a.Table) > 6 || a.Lower != nil {
		t.Errorf("%s: %+v", a.Do, a)
	}
}
