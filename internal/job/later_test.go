package job

import (
	"math"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/drift"
	"gaugewright/internal/quantity"
)

// servedTank has a straight sender of 10 to 110 Ω, and services at which it gave so
// many ohms more.
func servedTank(more ...float64) Tank {
	bench := func(date string, more float64, marks ...float64) Bench {
		b := Bench{Date: date, Doubts: &Doubts{MeterPct: 0.5, MeterDigits: 2, MeterStep: 0.1, Mark: 0.5}}
		for _, mark := range marks {
			b.Readings = append(b.Readings, Reading{MarkPct: &mark, Ohm: quantity.Round(10+mark+more, 1)})
		}
		return b
	}
	lower, upper := 10.0, 110.0
	t := Tank{Name: "A", Contents: Water, WaterCapacityL: 100,
		Bench:   bench("2025-03-01", 0, 0, 0, 20, 20, 40, 40, 60, 60, 80, 80, 100, 100),
		Setting: &Setting{Readout: TwoPoint, Scale: "mark", LowerOhm: &lower, UpperOhm: &upper, Date: "2025-03-01"}}
	for i, m := range more {
		t.Services = append(t.Services, Service{Bench: bench(time.Date(2026+i, 3, 1, 0, 0, 0, 0, time.UTC).Format(time.DateOnly), m, 0, 25, 50, 75, 100)})
	}
	return t
}

func TestLater(t *testing.T) {
	k := servedTank(0, 7)
	first, err := k.Later(0, nil, 0.03, drift.Options{})
	if err != nil || first.Drift.Changed || first.Advice == nil || first.Advice.Do != drift.Leave {
		t.Fatalf("nothing changed: %+v, %v", first.Advice, err)
	}
	second, err := k.Later(1, nil, 0.03, drift.Options{})
	if err != nil || !second.Drift.Changed || second.Advice == nil || second.Advice.Do == drift.Leave {
		t.Fatalf("7 Ω more: %+v, %v", second.Advice, err)
	}
	// 7 Ω of a span of 100 Ω are 7 points of a display whose ends lie 100 Ω apart.
	if math.Abs(math.Abs(second.Advice.Worst)-7) > 0.5 {
		t.Errorf("the display is off by %g points", second.Advice.Worst)
	}
	if n := second.Advice.Interval.Visits; n != 2 {
		t.Errorf("the interval rests on %d visits", n)
	}
	// A curve that was made already gives the same, and the same again.
	c, err := k.Curve()
	if err != nil {
		t.Fatal(err)
	}
	if again, err := k.Later(1, c, 0.03, drift.Options{}); err != nil || again.Drift.P != second.Drift.P || again.Advice.Worst != second.Advice.Worst {
		t.Errorf("not the same: %+v, %v", again.Advice, err)
	}
	if _, err := k.Later(2, nil, 0, drift.Options{}); err == nil {
		t.Error("there is no third service")
	}
	// Nothing keyed in: judged, and nothing advised.
	k.Setting = nil
	if l, err := k.Later(1, nil, 0, drift.Options{}); err != nil || !l.Drift.Changed || l.Advice != nil {
		t.Errorf("%+v, %v", l.Advice, err)
	}
}

// One service without readings doesn't spoil those beside it.
func TestLaterBesideOneWithoutReadings(t *testing.T) {
	k := servedTank(0, 7)
	k.Services[0].Readings = nil
	l, err := k.Later(1, nil, 0.03, drift.Options{})
	if err != nil || l.Advice == nil || l.Advice.Interval.Visits != 1 {
		t.Errorf("%+v, %v", l.Advice, err)
	}
}

func TestLaterBeforeItsRecord(t *testing.T) {
	k := servedTank(0)
	k.Services[0].Date = "2024-01-01"
	if _, err := k.Later(0, nil, 0.03, drift.Options{}); err == nil || !strings.Contains(err.Error(), "a service can't come before its record") {
		t.Errorf("got %v", err)
	}
}

// The visit found without judging is that of the whole comparison.
func TestVisitsAreThoseOfTheComparison(t *testing.T) {
	k := servedTank(0, 3, 5)
	c, err := k.Curve()
	if err != nil {
		t.Fatal(err)
	}
	in, err := k.readout(0.03)
	if err != nil {
		t.Fatal(err)
	}
	in.RecordDay, in.Day = dateOf(k.Bench.Date), dateOf("2030-01-01")
	visits, err := k.visits(c, in)
	if err != nil || len(visits) != 3 {
		t.Fatalf("%v, %v", visits, err)
	}
	for i, v := range visits {
		l, err := k.Later(i, c, 0.03, drift.Options{})
		if err != nil {
			t.Fatal(err)
		}
		in.Day = dateOf(k.Services[i].Date)
		if want, ok := l.Drift.Visit(in); !ok || want != v {
			t.Errorf("service %d: %+v, expected %+v", i+1, v, want)
		}
	}
}

func TestSinceLeft(t *testing.T) {
	k := servedTank()
	point := func(mark, shown float64) CheckPoint { return CheckPoint{MarkPct: &mark, ShownPct: shown} }
	k.Checks = []Check{
		{When: AsLeft, Date: "2025-03-01", TolerancePct: 3, Readings: []CheckPoint{point(20, 20), point(50, 50), point(80, 80)}},
		{When: AsFound, Date: "2027-03-01", TolerancePct: 3, Readings: []CheckPoint{point(20, 27), point(50, 57), point(80, 87)}},
	}
	proofs, err := k.Proofs()
	if err != nil {
		t.Fatal(err)
	}
	if r, err := k.SinceLeft(proofs, 0, drift.Options{}); r != nil || err != nil {
		t.Errorf("nothing before the first: %+v, %v", r, err)
	}
	if r, err := k.SinceLeft(proofs, 1, drift.Options{}); err != nil || r == nil || !r.Changed || r.Rows[1].Change != 7 {
		t.Errorf("%+v, %v", r, err)
	}
	if k.Tolerance() != 0.03 {
		t.Errorf("tolerance %v", k.Tolerance())
	}
}
