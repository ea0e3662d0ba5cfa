package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gaugewright/internal/golden"
)

// Senders that give volts, a current or a share of their supply.
func TestSignalGoldens(t *testing.T) {
	for _, test := range []struct {
		name string
		args []string
	}{
		{"volts.curve.txt", []string{"curve", "testdata/volts.csv", "--claimed", "0.5:4.5", "--claimed", "0:5", "--claimed", "4.5:0.5", "--at-value", "2.9", "--at-mark", "30", "--budget", "--meter", "0.5%+2@0.01V", "--plan", "2"}},
		{"volts.span.txt", []string{"span", "testdata/volts.csv", "--try", "0:5", "--try", "0.5:4.5", "--at-mark", "30"}},
		{"volts.span.json", []string{"span", "testdata/volts.csv", "--try", "0.5:4.5", "--at-mark", "30", "--json"}},
		{"loop.curve.json", []string{"curve", "testdata/loop.csv", "--claimed", "4:20", "--at-value", "12", "--at-mark", "30", "--json"}},
		{"loop.table.txt", []string{"span", "testdata/loop.csv", "--readout", "table", "--points", "3", "--step", "0.1", "--percent-step", "1"}},
	} {
		t.Run(test.name, func(t *testing.T) {
			status, out, messages := command("", test.args...)
			if status != 0 || messages != "" {
				t.Errorf("exit status %d, messages %q", status, messages)
			}
			if strings.Contains(out, "Ω") || strings.Contains(strings.ToLower(out), "ohm") {
				t.Errorf("it speaks of ohms: %s", out)
			}
			golden.Check(t, test.name, []byte(out))
		})
	}
}

// A straight 0.5 to 4.5 V sender by hand (common practice, no source): level =
// (V − 0.5)/4. With 0.5 and 4.5 keyed in every mark is shown as it is.
func TestRatiometricVerb(t *testing.T) {
	_, out, messages := command("", "span", "testdata/volts.csv", "--margin", "0V", "--json")
	var r struct {
		Lower float64 `json:"lower_volt"`
		Upper float64 `json:"upper_volt"`
		Worst float64 `json:"worst_error_pct"`
	}
	if err := json.Unmarshal([]byte(out), &r); err != nil {
		t.Fatalf("%v; messages %q", err, messages)
	}
	if r.Lower != 0.5 || r.Upper != 4.5 || r.Worst != 0 {
		t.Errorf("key in %g and %g, worst %g; want 0.5 and 4.5, 0", r.Lower, r.Upper, r.Worst)
	}
	_, out, _ = command("mark_pct,of_supply_pct\n0,10\n50,50\n100,90\n", "curve", "-", "--at-value", "58")
	for _, says := range []string{"10.00 % of supply at 0 %", "Looks like the usual 10 to 90 % of supply", "58.00 % of supply → 60.0 %"} {
		if !strings.Contains(out, says) {
			t.Errorf("%q isn't in %s", says, out)
		}
	}
}

func TestSignalRefusals(t *testing.T) {
	const volts = "testdata/volts.csv"
	dir := t.TempDir()
	file := filepath.Join(dir, "stall.job.json")
	if status, _, messages := command("", "job", "init", file, "--number", "TK-2", "--date", "2026-11-03"); status != 0 {
		t.Fatal(messages)
	}
	for _, test := range []struct {
		args []string
		says string
	}{
		{[]string{"job", "tank", file, "Diesel", "--contents", "diesel", "--readings", volts, "--claimed", "0:240"}, "/tanks/0/sender/claimed/0/full_value: found 240, expected 0 to 100"},
		{[]string{"curve", volts, "--leads", "0.3ohm"}, "--leads is taken off ohms, and the readings are in V"},
		{[]string{"curve", volts, "--meter", "pocket"}, "is a class of meters by their ohms range"},
		{[]string{"span", volts, "--margin", "1ohm"}, "isn't a margin of a sender that gives volts"},
		{[]string{"span", volts, "--step", "20"}, "a step of 20 V isn't a step"},
		{[]string{"span", volts, "--highest", "4"}, "the sender gives up to 4.500 V"},
		{[]string{"curve", volts, "--claimed", "0:500"}, "has an end of 500 V; expected 0 to 100"},
	} {
		if status, _, messages := command("", test.args...); status != 2 || !strings.Contains(messages, test.says) {
			t.Errorf("%v: exit status %d, messages %q; want %q", test.args, status, messages, test.says)
		}
	}
}

func TestBenchOfALoop(t *testing.T) {
	file := filepath.Join(t.TempDir(), "loop.csv")
	status, out, messages := command("0 4.01\n50 12.02mA\n75 26\n100 20.0 full\n\n", "bench", file, "--gives", "milliamp")
	if status != 0 || messages != "" {
		t.Fatalf("exit status %d, messages %q", status, messages)
	}
	for _, says := range []string{"Type a mark in % and the milliamps, like: 20 7.18", "taken: 50 %, 12.020 mA", "not taken: 26 milliamp can't come from a level sender; expected 0 to 25", "Rising: 4.010 mA at 0 %, 20.000 mA at 100 %."} {
		if !strings.Contains(out, says) {
			t.Errorf("%q isn't in %s", says, out)
		}
	}
	text, err := os.ReadFile(file)
	if err != nil || !strings.HasPrefix(string(text), "mark_pct,milliamp,sweep,time,note\n0,4.01,") {
		t.Errorf("the file holds %q, %v", text, err)
	}
	if status, _, messages := command("\n", "bench", file); status != 2 || !strings.Contains(messages, "the readings are in milliamp, expected ohm") {
		t.Errorf("opened for ohms: exit status %d, messages %q", status, messages)
	}
}
