package job

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"gaugewright/internal/curve"
)

// A bench that was begun, and struck readings, in the file as people write them.
const begun = `"bench":{"marks":"mark_mm","gives":"volt","empty_mark":10,"full_mark":300,"readings":[%]}`

func TestBenchBeforeItsFirstReading(t *testing.T) {
	j, err := Read(strings.NewReader(tankOf(strings.Replace(begun, "%", "", 1)+`,"sender":{"claimed":[{"empty_value":0.5,"full_value":4.5}]}`)), "f")
	if err != nil {
		t.Fatal(err)
	}
	k := j.Tanks[0]
	if k.Unit() != curve.Height || k.Signal() != curve.Volts {
		t.Errorf("marks in %s, gives %s", k.Unit().Symbol(), k.Signal().Figures())
	}
	if empty, full, err := k.Ends(); err != nil || empty != 10 || full != 300 {
		t.Errorf("ends %g and %g, %v", empty, full, err)
	}
	// Once there are readings, the scale goes by them, as it always did.
	k.Bench.Readings = []Reading{{MarkMM: ptr(20.0), Signal: curve.Volts}, {MarkMM: ptr(200.0), Signal: curve.Volts}}
	if empty, full, err := k.Ends(); err != nil || empty != 20 || full != 200 {
		t.Errorf("ends of readings %g and %g, %v", empty, full, err)
	}
	// On a dial what is printed isn't the scale.
	dial := Tank{Bench: Bench{EmptyMark: ptr(5.0), FullMark: ptr(95.0)}}
	if empty, full, err := dial.Ends(); err != nil || empty != 0 || full != 100 {
		t.Errorf("ends of a dial %g and %g, %v", empty, full, err)
	}
	if _, known := (Tank{}).KnownUnit(); known {
		t.Error("the unit of nothing is known")
	}
	if _, known := (Tank{}).KnownSignal(); known {
		t.Error("the signal of nothing is known")
	}
	only := Tank{Bench: Bench{Struck: []Struck{{Reading: Reading{MarkL: ptr(1.0), Signal: curve.Milliamps}}}}}
	if only.Unit() != curve.Volume || only.Signal() != curve.Milliamps {
		t.Errorf("of struck readings alone: marks in %s, gives %s", only.Unit().Symbol(), only.Signal().Figures())
	}
}

func TestBenchRefused(t *testing.T) {
	struck := func(text string) string {
		return tankOf(`"bench":{"readings":[{"mark_pct":1,"ohm":5}],"struck":[` + text + `]}`)
	}
	for _, c := range []struct{ name, text, want string }{
		{"other marks", tankOf(strings.Replace(begun, "%", `{"mark_pct":1,"volt":1}`, 1)), "/bench/marks: the marks are said to be in mm, and those of the readings are in %; correct marks, or delete it"},
		{"other signal", tankOf(strings.Replace(begun, "%", `{"mark_mm":1,"ohm":1}`, 1)), `/bench/gives: the sender is said to give "volt", and the readings are in ohms; correct gives, or delete it`},
		{"no such marks", tankOf(`"bench":{"marks":"mark_cm","readings":[]}`), `/bench/marks: found text "mark_cm", expected "mark_pct", "mark_mm", "mark_l" or "mark_kg"`},
		{"ends the wrong way", tankOf(`"bench":{"empty_mark":50,"full_mark":50,"readings":[]}`), `/bench/full_mark: found 50; the full mark lies above the empty mark, which is 50`},
		{"beyond the dial", tankOf(`"bench":{"full_mark":150,"readings":[]}`), "/bench/full_mark: found 150, expected up to 100, as the tank's marks are in %"},
		{"claim in ohms", tankOf(strings.Replace(begun, "%", "", 1) + `,"sender":{"claimed":[{"empty_ohm":0,"full_ohm":5}]}`), "/sender/claimed: numbers in ohms, and the bench reads volts"},
		{"struck marks", struck(`{"mark_mm":1,"ohm":5,"reason":""}`), "/bench/struck/0/mark_mm: a mark in mm, and the tank's first mark is in %; all marks of a tank are in one unit"},
		{"struck signal", struck(`{"mark_pct":1,"volt":5,"reason":""}`), "/bench/struck/0/volt: a struck reading in volts, and the bench reads ohms; all readings of a bench are in the same"},
		{"struck mark missing", struck(`{"ohm":5}`), `/bench/struck/0: no mark; expected one of "mark_pct"`},
		{"struck value missing", struck(`{"mark_pct":5}`), `/bench/struck/0: missing field "ohm", or in its place "volt", "milliamp" or "of_supply_pct"`},
		{"struck value beyond", struck(`{"mark_pct":5,"ohm":1e6}`), `/bench/struck/0/ohm: found 1000000, expected 0 to 100000`},
		{"struck at no time", struck(`{"mark_pct":5,"ohm":1,"struck":"today"}`), `/bench/struck/0/struck: `},
		{"struck unknown", struck(`{"mark_pct":5,"ohm":1,"why":"x"}`), `/bench/struck/0: unknown field "why"`},
	} {
		if _, err := Read(strings.NewReader(c.text), "f"); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: found %v, expected %q", c.name, err, c.want)
		}
	}
}

func TestStruckInTheFile(t *testing.T) {
	b := Bench{Readings: []Reading{{MarkPct: ptr(0.0), Ohm: 1}, {MarkPct: ptr(20.0), Ohm: 20}},
		Struck: []Struck{{Reading: Reading{MarkPct: ptr(10.0), Ohm: 99, Sweep: "up"}, When: "2025-11-03T10:43:00Z", At: ptr(1)}}}
	j := &Job{Number: "7", Tanks: []Tank{{Name: "A", Contents: Water, Bench: b}}}
	text, err := j.Encode()
	if err != nil {
		t.Fatal(err)
	}
	const want = `        "struck": [
          {
            "mark_pct": 10,
            "ohm": 99,
            "sweep": "up",
            "reason": "",
            "struck": "2025-11-03T10:43:00Z",
            "at": 1
          }
        ]
`
	if !strings.Contains(string(text), want) {
		t.Errorf("found\n%s\nexpected in it\n%s", text, want)
	}
	sheet, err := j.Tanks[0].Sheet()
	if err != nil || len(sheet.Readings) != 2 {
		t.Errorf("a sheet of %d readings, %v; the struck one is no part of it", len(sheet.Readings), err)
	}
}

func TestStrip(t *testing.T) {
	struck := func(ohm float64, at *int) Struck { return Struck{Reading: Reading{Ohm: ohm}, At: at} }
	for _, c := range []struct {
		name     string
		readings int
		struck   []Struck
		want     []float64 // ohms: readings are 0, 1, 2; struck ones 10 and more
	}{
		{"nothing", 0, nil, []float64{}},
		{"none struck", 2, nil, []float64{0, 1}},
		{"in between", 3, []Struck{struck(10, ptr(1))}, []float64{0, 10, 1, 2}},
		{"two beside each other", 2, []Struck{struck(11, ptr(2)), struck(10, ptr(1))}, []float64{0, 10, 11, 1}},
		{"first and last", 1, []Struck{struck(10, ptr(0)), struck(11, ptr(2))}, []float64{10, 0, 11}},
		{"no place", 2, []Struck{struck(10, nil), struck(11, ptr(0))}, []float64{11, 0, 1, 10}},
		{"too far", 1, []Struck{struck(10, ptr(99)), struck(11, ptr(50))}, []float64{0, 11, 10}},
		{"same place", 1, []Struck{struck(10, ptr(0)), struck(11, ptr(0))}, []float64{10, 11, 0}},
		{"all struck", 0, []Struck{struck(10, ptr(1)), struck(11, ptr(0))}, []float64{11, 10}},
	} {
		b := Bench{Struck: c.struck}
		for i := range c.readings {
			b.Readings = append(b.Readings, Reading{Ohm: float64(i)})
		}
		found := []float64{}
		for _, line := range b.Strip() {
			found = append(found, line.Ohm)
			own := line.Reading
			if line.Struck {
				own = b.Struck[line.Index].Reading
			} else {
				own = b.Readings[line.Index]
			}
			if own.Ohm != line.Ohm {
				t.Errorf("%s: the line of %g ohm points to one of %g", c.name, line.Ohm, own.Ohm)
			}
		}
		if diff := cmp.Diff(c.want, found); diff != "" {
			t.Errorf("%s (- expected, + found):\n%s", c.name, diff)
		}
	}
}
