package main

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"

	"gaugewright/internal/golden"
)

// command runs one command line and gives its status, output and messages.
func command(in string, args ...string) (status int, out, err string) {
	var o, e bytes.Buffer
	status = run(args, streams{strings.NewReader(in), &o, &e})
	return status, o.String(), e.String()
}

func TestGoldenOutput(t *testing.T) {
	tests := []struct {
		name   string
		status int
		args   []string
	}{
		{"six.span.txt", 0, []string{"span", "testdata/six.csv"}},
		{"six.span.json", 0, []string{"span", "testdata/six.csv", "--json"}},
		{"gas.curve.txt", 0, []string{"curve", "sample/gas.csv", "--claimed", "0:90", "--claimed", "0:95", "--at-ohm", "42.5", "--at-ohm", "95", "--at-mark", "50"}},
		{"gas.curve.json", 0, []string{"curve", "sample/gas.csv", "--claimed", "0:90", "--at-ohm", "42.5", "--at-ohm", "95", "--at-mark", "50", "--json"}},
		{"gas.fill.txt", 0, []string{"span", "sample/gas.csv", "--scale", "fill", "--permitted-fill", "80", "--try", "0:90", "--try", "0:95"}},
		{"diesel.table.txt", 0, []string{"span", "sample/diesel.csv", "--readout", "table", "--points", "6"}},
		{"diesel.table.json", 0, []string{"span", "sample/diesel.csv", "--readout", "table", "--points", "4", "--step", "1", "--percent-step", "1", "--json"}},
		{"gas.dockets.txt", 1, []string{"docket", "testdata/gas.dockets.csv", "--lower", "10", "--upper", "180", "--capacity", "54L", "--contents", "lpg"}},
		{"water.curve.txt", 0, []string{"curve", "sample/water.csv", "--claimed", "0:190"}},
		{"updown.curve.txt", 1, []string{"curve", "testdata/updown.csv"}},
		{"gas.check.txt", 0, []string{"check", "sample/gas.shown.csv", "--scale", "fill", "--permitted-fill", "80"}},
		{"gas.check.json", 1, []string{"check", "sample/gas.shown.csv", "--json"}},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			status, out, messages := command("", test.args...)
			if status != test.status || messages != "" {
				t.Errorf("exit status %d, want %d; messages %q", status, test.status, messages)
			}
			golden.Check(t, test.name, []byte(out))
		})
	}
}

// The names that other programs may rely on, as docs/json.md has them.
func TestJSONContract(t *testing.T) {
	object := func(in string, args ...string) map[string]any {
		t.Helper()
		_, out, messages := command(in, args...)
		var v map[string]any
		if err := json.Unmarshal([]byte(out), &v); err != nil {
			t.Fatalf("%v: %v; messages %q", args, err, messages)
		}
		return v
	}
	has := func(v any, names ...string) {
		t.Helper()
		m, ok := v.(map[string]any)
		if !ok {
			t.Fatalf("%v isn't an object", v)
		}
		for _, n := range names {
			if _, ok := m[n]; !ok {
				t.Errorf("%q is missing in %v", n, m)
			}
		}
	}
	first := func(v any) any {
		t.Helper()
		list, ok := v.([]any)
		if !ok || len(list) == 0 {
			t.Fatalf("%v isn't a list with something in it", v)
		}
		return list[0]
	}
	c := object("", "curve", "testdata/six.csv", "--json", "--at-ohm", "42.5", "--at-mark", "50")
	has(c, "direction", "points", "hysteresis_ohm", "repeatability_ohm", "linearity_pct", "findings", "at")
	has(first(c["points"]), "mark_pct", "ohm", "u_ohm", "n")
	has(c["linearity_pct"], "independent", "terminal", "zero")
	has(first(c["findings"]), "kind", "text")
	has(first(c["at"]), "ohm", "mark_pct", "u_mark_pct", "outside")

	s := object("", "span", "testdata/six.csv", "--json", "--try", "0:90")
	has(s, "readout", "scale", "lower_ohm", "upper_ohm", "worst_error_pct", "worst_at_pct", "lower_bound_pct", "shown", "tried")
	has(first(s["shown"]), "mark_pct", "ohm", "target_pct", "shown_pct", "error_pct")
	has(first(s["tried"]), "lower_ohm", "upper_ohm", "worst_error_pct", "shown")
	table := object("", "span", "testdata/six.csv", "--json", "--readout", "table", "--points", "3")
	has(first(table["points"]), "ohm", "pct")

	k := object("mark_pct,shown_pct\n20,21\n", "check", "-", "--json")
	has(k, "pass", "tolerance_pct", "checks")
	has(first(k["checks"]), "mark_pct", "shown_pct", "error_pct", "pass")

	mm := object("mark_mm,ohm\n0,1\n100,50\n200,99\n", "span", "-", "--json")
	has(mm, "worst_at_mm")
	has(first(mm["shown"]), "mark_mm")
}

// What can't be used: exit status 2 with the place, what was found, what was
// expected; a sender that is broken: 1.
func TestBadInput(t *testing.T) {
	const head = "mark_pct,ohm\n"
	tests := []struct {
		name, in string
		args     []string
		status   int
		says     string
	}{
		{"nothing", "", []string{"span", "-"}, 2, "standard input: "},
		{"header only", head, []string{"span", "-"}, 2, "standard input"},
		{"one reading", head + "50,40\n", []string{"span", "-"}, 2, "standard input:2: one reading only; a curve needs at least two, at different marks"},
		{"one mark", head + "50,40\n50,41\n", []string{"curve", "-"}, 2, "standard input:2: all 2 readings are at the mark 50 %"},
		{"one resistance", head + "0,40\n50,40\n", []string{"curve", "-"}, 1, "the sender doesn't move"},
		{"not a number", head + "0,NaN\n50,40\n", []string{"curve", "-"}, 2, "standard input:2:3: "},
		{"below zero", head + "0,-3\n50,40\n", []string{"curve", "-"}, 2, "standard input:2:3: "},
		{"absurd", head + "0,1e308\n50,40\n", []string{"curve", "-"}, 2, "standard input:2:3: "},
		{"a mark of 140 %", head + "0,1\n140,40\n", []string{"curve", "-"}, 2, "standard input:3:1: "},
		{"header twice", "ohm,ohm,mark_pct\n1,1,1\n", []string{"curve", "-"}, 2, "standard input:1:5: "},
		{"no ohms", "mark_pct,note\n1,x\n", []string{"curve", "-"}, 2, "ohm"},
		{"text in a number", head + "0,4o.2\n50,40\n", []string{"curve", "-"}, 2, `standard input:2:3: ohm "4o.2"`},
		{"binary", "\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", []string{"curve", "-"}, 2, "standard input:2:1: "},
		{"up and down and up", head + "0,10\n25,90\n50,20\n75,80\n100,12\n", []string{"span", "-"}, 1, "The ohms don't keep one direction"},
		{"no such file", "", []string{"curve", "testdata/none.csv"}, 2, "none.csv"},
		{"a folder", "", []string{"curve", "testdata"}, 2, "testdata"},
		{"unknown verb", "", []string{"dance"}, 2, "dance"},
		{"unknown flag", head, []string{"span", "-", "--tolerence", "2"}, 2, "--tolerence"},
		{"claim without a colon", head + "0,1\n50,40\n", []string{"curve", "-", "--claimed", "90"}, 2, `--claimed "90" isn't a span`},
		{"ends that are one", head + "0,1\n50,40\n", []string{"span", "-", "--try", "5:5"}, 2, "both are the same"},
		{"margin in millimetres", head + "0,1\n50,40\n", []string{"span", "-", "--margin", "1mm"}, 2, `--margin "1mm" isn't a margin`},
		{"margin that can't be kept", head + "0,1\n100,90\n", []string{"span", "-", "--highest", "90", "--margin", "1ohm"}, 2, "a margin of 0 Ω is the most that fits"},
		{"step below zero", head + "0,1\n100,90\n", []string{"span", "-", "--step=-1"}, 2, "a step of -1 ohm isn't a step"},
		{"an absurd step", head + "0,1\n100,90\n", []string{"span", "-", "--step", "1e9"}, 2, "expected 0 (any value) to 1000"},
		{"a step that is no number", head + "0,1\n100,90\n", []string{"span", "-", "--step", "NaN"}, 2, `"NaN" is not a number`},
		{"asked at no number", head + "0,1\n100,90\n", []string{"curve", "-", "--at-ohm", "inf"}, 2, `"inf" is not a number`},
		{"half of all in a step", head + "0,1\n100,90\n", []string{"span", "-", "--readout", "table", "--percent-step", "90"}, 2, "expected 0 % (any value) to 25 %"},
		{"a table of one", head + "0,1\n100,90\n", []string{"span", "-", "--readout", "table", "--points", "1"}, 2, "expected 2 to 1000"},
		{"fill without how much", head + "0,1\n100,90\n", []string{"span", "-", "--scale", "fill"}, 2, "--permitted-fill"},
		{"more than full", head + "0,1\n100,90\n", []string{"span", "-", "--scale", "fill", "--permitted-fill", "120"}, 2, "120 %"},
		{"full below empty", head + "0,1\n100,90\n", []string{"curve", "-", "--empty-mark", "100", "--full-mark", "0"}, 2, "--full-mark must lie above --empty-mark"},
		{"tolerance of nothing", "mark_pct,shown_pct\n1,1\n", []string{"check", "-", "--tolerance", "0"}, 2, "a tolerance lies above 0"},
		{"a check without ends", "mark_mm,shown_pct\n1,1\n", []string{"check", "-"}, 2, "--empty-mark and --full-mark"},
		{"no job file", "", []string{"record", "testdata/none.json"}, 2, "none.json"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			status, out, messages := command(test.in, test.args...)
			if status != test.status || !strings.Contains(messages, test.says) {
				t.Errorf("exit status %d, want %d; messages %q, want %q", status, test.status, messages, test.says)
			}
			if status == 2 && (messages == "" || out != "" && !strings.Contains(out, "Usage")) {
				t.Errorf("messages %q, output %q", messages, out)
			}
		})
	}
}
