package job

import (
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
	"gaugewright/internal/span"
)

// What is wrong with numbers that aren't ohms, and what is said of it.
func TestNumbersRefused(t *testing.T) {
	volts := `"bench":{"readings":[{"mark_pct":1,"volt":0.5},{"mark_pct":99,"volt":4.5}]},`
	loop := `"bench":{"readings":[{"mark_pct":1,"milliamp":4},{"mark_pct":99,"milliamp":20}]},`
	ohms := `"bench":{"readings":[{"mark_pct":1,"ohm":0.5},{"mark_pct":99,"ohm":4.5}]},`
	two := func(fields string) string { return `"setting":{"readout":"two-point","scale":"mark",` + fields + `}` }
	table := func(entries string) string {
		return `"setting":{"readout":"table","scale":"mark","table":[` + entries + `]}`
	}
	for _, c := range []struct{ name, text, says string }{
		{"nothing read", reading(`{"mark_pct":1}`), `readings/0: missing field "ohm", or in its place "volt", "milliamp" or "of_supply_pct"`},
		{"two read", reading(`{"mark_pct":1,"ohm":1,"volt":5}`), `readings/0: more than one value: "ohm" and "volt"; keep the one that was read and delete the others`},
		{"volts", reading(`{"mark_pct":1,"volts":5}`), `unknown field "volts"; write "volt" (volts)`},
		{"mA", reading(`{"mark_pct":1,"mA":5}`), `unknown field "mA"; write "milliamp" (milliamperes)`},
		{"value", reading(`{"mark_pct":1,"value":5}`), `unknown field "value"; write "volt" (volts) or "milliamp" (milliamperes)`},
		{"two kinds", reading(`{"mark_pct":1,"volt":5},` + "\n" + `{"mark_pct":2,"ohm":5}`), `f:3:21: /tanks/0/bench/readings/1/ohm: a reading in ohms, and the first reading is in volts; all readings of a bench are in the same`},
		{"too many volts", reading(`{"mark_pct":1,"volt":101}`), `found 101, expected 0 to 100`},
		{"too much current", reading(`{"mark_pct":1,"milliamp":26}`), `found 26, expected 0 to 25`},
		{"lower_volt", tankOf(volts + two(`"lower_volt":1,"upper_value":2`)), `unknown field "lower_volt"; write "lower_value" (in what the bench reads)`},
		{"ohms set", tankOf(volts + two(`"lower_ohm":1,"upper_ohm":2`)), `/tanks/0/setting: numbers in ohms, and the bench reads volts; write "lower_value", "upper_value", "step_value", "margin_value" and "value" alone`},
		{"values set", tankOf(ohms + two(`"lower_value":1,"upper_value":2`)), `/tanks/0/setting: values, which are for senders that give no ohms, and the bench reads ohms; write "lower_ohm"`},
		{"values of nothing", tankOf(two(`"lower_value":1,"upper_value":2`)), `and the bench has no readings that say in what other unit they are; write "lower_ohm"`},
		{"step in ohms", tankOf(volts + two(`"step_ohm":1,"lower_value":1,"upper_value":2`)), `/tanks/0/setting: numbers in ohms and values mixed, and the bench reads volts; write "lower_value"`},
		{"half a pair", tankOf(volts + two(`"lower_value":1`)), `missing field "upper_value", which a two-point readout has`},
		{"both pairs", tankOf(volts + two(`"lower_value":1,"upper_value":2,"lower_ohm":1,"upper_ohm":2`)), `/tanks/0/setting: both "lower_ohm" and "upper_ohm" and "lower_value" and "upper_value"; keep those in what the bench reads`},
		{"same ends", tankOf(volts + two(`"lower_value":2,"upper_value":2`)), `upper_value: both end values are 2 V, so nothing could be shown between them`},
		{"table mixed", tankOf(volts + table(`{"value":1,"pct":0},{"ohm":2,"pct":9}`)), `numbers in ohms and values mixed`},
		{"table falls", tankOf(loop + table(`{"value":8,"pct":0},{"value":5,"pct":9}`)), `table/1/value: 5 mA after 8 mA; the milliamps of a table rise from each entry to the next`},
		{"table beyond", tankOf(loop + table(`{"value":8,"pct":0},{"value":30,"pct":9}`)), `table/1/value: found 30, expected 0 to 25, as the bench reads milliamps`},
		{"entry of both", tankOf(loop + table(`{"value":8,"ohm":8,"pct":0},{"value":20,"pct":9}`)), `table/0: both "ohm" and "value"; keep those in what the bench reads`},
		{"ends of a table", tankOf(loop + `"setting":{"readout":"table","scale":"mark","lower_value":1,"table":[{"value":8,"pct":0},{"value":9,"pct":1}]}`), `a table readout has no lower_value; delete it, or correct readout`},
		{"claim in ohms", tankOf(volts + `"sender":{"claimed":[{"empty_ohm":0,"full_ohm":5}]}`), `/tanks/0/sender/claimed: numbers in ohms, and the bench reads volts; write "empty_value" and "full_value" alone`},
		{"claim of one end", tankOf(volts + `"sender":{"claimed":[{"empty_value":0}]}`), `missing field "full_value"`},
		{"claims mixed", tankOf(volts + `"sender":{"claimed":[{"empty_value":0,"full_value":5},{"empty_ohm":0,"full_ohm":5}]}`), `numbers in ohms and values mixed`},
		{"claim beyond", tankOf(loop + `"sender":{"claimed":[{"empty_value":0,"full_value":50}]}`), `full_value: found 50, expected 0 to 25, as the bench reads milliamps`},
	} {
		if _, err := Read(strings.NewReader(c.text), "f"); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: found %v, expected %q", c.name, err, c.says)
		}
	}
}

// A job of any sender is written and read back the same, and its file names the
// sender's own unit alone.
func TestNumbersReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		signal := rapid.SampledFrom(curve.Signals).Draw(t, "signal")
		v := rapid.Map(rapid.IntRange(0, 2400), func(n int) float64 { return float64(n) / 100 })
		k := Tank{Name: "A <&>", Contents: Water}
		sheet := curve.Sheet{Signal: signal}
		for i := range rapid.IntRange(1, 4).Draw(t, "readings") {
			sheet.Readings = append(sheet.Readings, curve.Reading{Mark: float64(i) / 4, Ohm: quantity.Ohm(v.Draw(t, "read")), Note: "a < b & c"})
		}
		k.SetSheet(sheet)
		if rapid.Bool().Draw(t, "claimed") {
			low := v.Draw(t, "empty")
			k.Sender = Sender{Claimed: []Claim{{low, low + 1}}, Numbers: NumbersOf(signal)}
		}
		low := quantity.Ohm(v.Draw(t, "lower"))
		var chosen span.Setting = span.Ends{Lower: low, Upper: low + 1}
		if rapid.Bool().Draw(t, "table") {
			chosen = span.Table{{Ohm: low}, {Ohm: low + 1, Share: 1}}
		}
		if err := k.Key(chosen, Setting{StepOhm: v.Draw(t, "step"), MarginOhm: v.Draw(t, "margin")}); err != nil {
			t.Fatal(err)
		}
		j := &Job{Version: Version, Number: "1", Tanks: []Tank{k}}
		text, err := j.Encode()
		if err != nil {
			t.Fatal(err)
		}
		back, err := Read(strings.NewReader(string(text)), "f")
		if err != nil {
			t.Fatalf("%v in\n%s", err, text)
		}
		if !reflect.DeepEqual(j, back) {
			t.Fatalf("%s\nreads back as %+v, was %+v", text, back, j)
		}
		if ohm := strings.Contains(string(text), `ohm"`); ohm != (signal == curve.Ohms) {
			t.Fatalf("%v is written as\n%s", signal, text)
		}
		got, err := back.Tanks[0].Sheet()
		if err != nil || got.Signal != signal || got.Readings[0].Ohm != sheet.Readings[0].Ohm {
			t.Fatalf("the sheet reads back as %+v, %v", got, err)
		}
	})
}

func TestSummaryInVolts(t *testing.T) {
	k := Tank{Name: "A", Contents: Water}
	k.SetSheet(curve.Sheet{Signal: curve.Volts, Readings: []curve.Reading{{Mark: 0, Ohm: 0.5}, {Mark: 0.5, Ohm: 2.5}, {Mark: 1, Ohm: 4.5}}})
	if err := k.Key(span.Ends{Lower: 0.5, Upper: 4.51}, Setting{}); err != nil {
		t.Fatal(err)
	}
	if got := k.Summary()[2].String(); got != "Set: key in 0.5 and 4.51 V" {
		t.Errorf("found %q", got)
	}
	if err := k.Key(span.Ends{Lower: 2, Upper: 2}, Setting{}); err == nil || strings.Contains(err.Error(), "ohm") {
		t.Errorf("found %v", err)
	}
}
