package readings_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"gaugewright/internal/curve"
	"gaugewright/internal/readings"
)

// Every signal is read from its column, and what is written of it reads back.
func TestReadSignals(t *testing.T) {
	for header, want := range map[string]curve.Signal{
		"mark_pct,ohm": curve.Ohms, "mark_pct,volt": curve.Volts,
		"mark_pct, Milliamp ": curve.Milliamps, "mark_pct,of_supply_pct": curve.Ratio,
	} {
		sheet, err := readings.Read(strings.NewReader(header+"\n0,4\n50,12.25\n"), "tank.csv")
		if err != nil {
			t.Errorf("%s: %v", header, err)
			continue
		}
		if sheet.Signal != want || len(sheet.Readings) != 2 || sheet.Readings[1].Ohm != 12.25 {
			t.Errorf("%s: signal %d, readings %v", header, sheet.Signal, sheet.Readings)
		}
		var b strings.Builder
		if err := readings.Write(&b, sheet); err != nil {
			t.Fatal(err)
		}
		if first, _, _ := strings.Cut(b.String(), "\n"); first != "mark_pct,"+want.Column() {
			t.Errorf("written with the header %q", first)
		}
		back, err := readings.Read(strings.NewReader(b.String()), "tank.csv")
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(sheet, back); diff != "" {
			t.Errorf("%s doesn't read back: %s", header, diff)
		}
	}
}

func TestReadRefusesSignals(t *testing.T) {
	for _, test := range []struct{ in, says string }{
		{"mark_pct,ohm,volt\n0,1,2\n", "tank.csv:1:14: column volt stands beside ohm, and a bench is read in one of the two"},
		{"mark_pct,milliamp,of_supply_pct\n0,1,2\n", "column of_supply_pct stands beside milliamp"},
		{"mark_pct,volt,volt\n0,1,2\n", "column volt stands twice"},
		{"mark_pct,note\n0,x\n", "the header row has no ohm column; add it, such as mark_pct,ohm (or volt, milliamp or of_supply_pct"},
		{"mark_pct,volts\n0,1\n", `column "volts" is not known; rename it to volt`},
		{"mark_pct,mA\n0,4\n", `column "ma" is not known; rename it to milliamp`},
		{"mark_pct,ratio\n0,10\n", "rename it to of_supply_pct"},
		{"mark_pct,millivolt\n0,400\n", "turn the figures into volts and name the column volt"},
		{"mark_pct,mvolt\n0,400\n", "turn the figures into volts and name the column volt"},
		{"mark_pct,mV\n0,400\n", "turn the figures into volts and name the column volt"},
		{"mark_pct,volt\n0,101\n", "tank.csv:2:3: volt 101 is outside 0 to 100"},
		{"mark_pct,volt\n0,-0.1\n", "volt -0.1 is outside 0 to 100"},
		{"mark_pct,milliamp\n0,25.1\n", "milliamp 25.1 is outside 0 to 25"},
		{"mark_pct,of_supply_pct\n0,100.1\n", "of_supply_pct 100.1 is outside 0 to 100"},
		{"mark_pct,volt\n0,OL\n", `volt "OL" is the meter's overload`},
		{"mark_pct,volt\n0,4.5 V\n", "has its unit with it"},
		{"mark_pct,milliamp\n0,4 mA\n", "has its unit with it"},
	} {
		_, err := readings.Read(strings.NewReader(test.in), "tank.csv")
		if err == nil || !strings.Contains(err.Error(), test.says) {
			t.Errorf("%q: %v; want %q", test.in, err, test.says)
		}
	}
	// A check of a display has no such column.
	if _, err := readings.ReadShown(strings.NewReader("mark_pct,volt\n0,1\n"), "tank.csv"); err == nil {
		t.Error("a check takes volts")
	}
	over := curve.Sheet{Signal: curve.Milliamps, Readings: []curve.Reading{{Mark: 0, Ohm: 26}}}
	if err := readings.Write(&strings.Builder{}, over); err == nil || !strings.Contains(err.Error(), "26 milliamps is outside 0 to 25") {
		t.Errorf("26 mA is written: %v", err)
	}
	if err := readings.Write(&strings.Builder{}, curve.Sheet{Signal: 9, Readings: over.Readings}); err == nil {
		t.Error("an unknown signal is written")
	}
}

func TestAppendSignals(t *testing.T) {
	path := filepath.Join(t.TempDir(), "loop.csv")
	a, sheet, err := readings.OpenAppenderFor(path, curve.Dial, curve.Milliamps)
	if err != nil {
		t.Fatal(err)
	}
	if sheet.Signal != curve.Milliamps {
		t.Errorf("a new file has the signal %d", sheet.Signal)
	}
	if err := a.Add(curve.Reading{Mark: 0.5, Ohm: 12}); err != nil {
		t.Fatal(err)
	}
	if err := a.Add(curve.Reading{Mark: 0.5, Ohm: 26}); err == nil {
		t.Error("26 mA is stored")
	}
	if err := a.Close(); err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if want := "mark_pct,milliamp,sweep,time,note\n50,12,,,\n"; string(text) != want {
		t.Errorf("the file holds %q, want %q", text, want)
	}
	if _, _, err := readings.OpenAppender(path, curve.Dial); err == nil || !strings.Contains(err.Error(), "the readings are in milliamp, expected ohm") {
		t.Errorf("opened for ohms: %v", err)
	}
	a, sheet, err = readings.OpenAppenderFor(path, curve.Dial, curve.Milliamps)
	if err != nil {
		t.Fatal(err)
	}
	if len(sheet.Readings) != 1 || sheet.Readings[0].Ohm != 12 || sheet.Signal != curve.Milliamps {
		t.Errorf("read back %v", sheet)
	}
	if err := a.Close(); err != nil {
		t.Fatal(err)
	}
}
