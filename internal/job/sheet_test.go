package job

import (
	"reflect"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
)

func TestTank(t *testing.T) {
	j, _ := sample(t)
	k, err := j.Tank(" fresh WATER")
	if err != nil || k != &j.Tanks[1] {
		t.Errorf("found %v, %v", k, err)
	}
	if _, err := j.Tank("beer"); err == nil || err.Error() != `no tank "beer"; this job has "Gas", "Fresh water" or "Heater diesel"` {
		t.Errorf("found %v", err)
	}
	if _, err := new(Job).Tank("Gas"); err == nil || err.Error() != `no tank "Gas"; this job has no tanks yet` {
		t.Errorf("found %v", err)
	}
}

func TestSheetOfTheSample(t *testing.T) {
	j, _ := sample(t)
	sheet, err := j.Tanks[0].Sheet()
	if err != nil {
		t.Fatal(err)
	}
	if sheet.Unit != curve.Dial || len(sheet.Readings) != 18 {
		t.Fatalf("found %v, %d readings", sheet.Unit, len(sheet.Readings))
	}
	want := curve.Reading{Mark: 0.4, Ohm: 40.4, Sweep: curve.Up, Note: "repeated after tapping the dial", Time: time.Date(2025, 11, 3, 9, 42, 0, 0, time.UTC)}
	if diff := cmp.Diff(want, sheet.Readings[17]); diff != "" {
		t.Error(diff)
	}
	// Litres are thousandths of a cubic metre.
	if sheet, err = j.Tanks[2].Sheet(); err != nil || sheet.Unit != curve.Volume || sheet.Readings[6].Mark != 0.06 {
		t.Errorf("found %+v, %v", sheet, err)
	}
}

func TestSheetRefuses(t *testing.T) {
	for _, c := range []struct {
		reading Reading
		want    string
	}{
		{Reading{Ohm: 1}, `reading 2 of tank "A" has no mark, or more than one`},
		{Reading{MarkL: ptr(1.0), MarkKg: ptr(1.0)}, `reading 2 of tank "A" has no mark, or more than one`},
		{Reading{MarkKg: ptr(1.0)}, `reading 2 of tank "A" has its mark in kg and the first has it in L; all marks of a tank are in one unit`},
		{Reading{MarkL: ptr(1.0), Sweep: "left"}, `reading 2 of tank "A": sweep "left" is not known; expected up, down or nothing`},
		{Reading{MarkL: ptr(1.0), Time: "noon"}, `reading 2 of tank "A": time "noon" is not as in RFC 3339`},
	} {
		k := Tank{Name: "A", Bench: Bench{Readings: []Reading{{MarkL: ptr(0.0)}, c.reading}}}
		if _, err := k.Sheet(); err == nil || err.Error() != c.want {
			t.Errorf("found %v, expected %s", err, c.want)
		}
		if _, err := k.Curve(); err == nil || err.Error() != c.want {
			t.Errorf("Curve: found %v, expected %s", err, c.want)
		}
	}
}

// What goes in by SetSheet comes out by Sheet, and stands in the file as it was
// typed.
func TestSetSheetGivesTheSheetBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		unit := rapid.SampledFrom(curve.MarkUnits).Draw(t, "unit")
		sheet := curve.Sheet{Unit: unit}
		var typed []float64
		for range rapid.IntRange(1, 20).Draw(t, "readings") {
			mark := float64(rapid.IntRange(0, 100_000).Draw(t, "mark")) / 1000
			typed = append(typed, mark)
			sheet.Readings = append(sheet.Readings, curve.Reading{
				Mark: unit.FromShown(mark), Ohm: quantity.Ohm(float64(rapid.IntRange(0, 250_000).Draw(t, "ohm")) / 1000),
				Sweep: rapid.SampledFrom([]curve.Sweep{curve.Unstated, curve.Up, curve.Down}).Draw(t, "sweep"),
				Time:  rapid.SampledFrom([]time.Time{{}, time.Date(2025, 11, 3, 9, 42, 0, 1000, time.UTC)}).Draw(t, "time"),
			})
		}
		before := append([]curve.Reading(nil), sheet.Readings...)
		var k Tank
		k.SetSheet(sheet)
		for i, r := range k.Bench.Readings {
			if mark, own, ok := r.Mark(); !ok || own != unit || mark != typed[i] {
				t.Fatalf("reading %d is stored as %v in %v, expected %v in %v", i, mark, own, typed[i], unit)
			}
		}
		back, err := k.Sheet()
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(sheet, back); diff != "" {
			t.Fatal(diff)
		}
		if diff := cmp.Diff(before, sheet.Readings); diff != "" {
			t.Fatalf("SetSheet changed the caller's readings: %s", diff)
		}
	})
}

func TestSetSheetTakesOffTheNoiseOfConversion(t *testing.T) {
	var k Tank
	k.SetSheet(curve.Sheet{Unit: curve.Dial, Readings: []curve.Reading{{Mark: 0.07, Ohm: 0.1 + 0.2}}}) // 0.07 × 100 is 7.000000000000001
	if r := k.Bench.Readings[0]; *r.MarkPct != 7 || r.Ohm != 0.3 {
		t.Errorf("found %v, %v", *r.MarkPct, r.Ohm)
	}
}

func TestClaims(t *testing.T) {
	j, _ := sample(t)
	want := []curve.Claim{{Empty: 0, Full: 90}, {Empty: 0, Full: 95}}
	if found := j.Tanks[0].Claims(); !reflect.DeepEqual(found, want) {
		t.Errorf("found %v", found)
	}
}

func TestMarks(t *testing.T) {
	for _, u := range curve.MarkUnits {
		var r Reading
		var p CheckPoint
		r.SetMark(1, curve.Dial)
		r.SetMark(12.5, u)
		p.SetMark(1, curve.Mass)
		p.SetMark(12.5, u)
		for _, mark := range []func() (float64, curve.MarkUnit, bool){r.Mark, p.Mark} {
			if v, own, ok := mark(); v != 12.5 || own != u || !ok {
				t.Errorf("%v: found %v in %v, %t", u, v, own, ok)
			}
		}
	}
}
