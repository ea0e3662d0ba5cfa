package main

import (
	"encoding/json"
	"math"
	"path/filepath"
	"strings"
	"testing"
)

// What the span verb says in words of its further flags.
func TestSpanWords(t *testing.T) {
	const common = "mark_pct,ohm\n0,0.6\n80,80\n"
	const six = "testdata/six.csv"
	tests := []struct {
		name, in string
		args     []string
		status   int
		says     []string
	}{
		{"why", common, []string{"--try", "0:90", "--try", "0:100"}, 0, []string{
			"With 0:90: shows 89 at mark 80, 9 points high: the upper value lies",
			"With 0:100: shows 80 at mark 80 because 100 % was set to the dial's own end.",
			"One ohm more on the upper value lowers the figure at mark 80 by 1.0 points."}},
		{"why on the fill scale", common, []string{"--scale", "fill", "--permitted-fill", "80", "--try", "0:82"}, 0, []string{
			"shows 98 at mark 80, 2 points low, because 100 % was set to the ohms at the permitted fill."}},
		{"at a mark", common, []string{"--at-mark", "40", "--at-mark", "95"}, 0, []string{"at mark", "40 %", "95 % *", "beyond the readings"}},
		{"near empty", "", []string{six, "--objective", "near-empty"}, 0, []string{"counts four times"}},
		{"never high", "", []string{six, "--objective", "never-high"}, 0, []string{"no reading is shown as more than there is"}},
		{"squares", "", []string{six, "--objective", "rms"}, 0, []string{"Root-mean-square error"}},
		{"auto", "", []string{"sample/gas.csv", "--margin", "auto"}, 0, []string{"is 1 % at the most", "degrees of freedom"}},
		{"ends, then a table", "", []string{"sample/diesel.csv", "--readout", "ends-then-table", "--points", "5", "--percent-step", "1"}, 0, []string{
			"and then this table of 5 points", "from %", "all searched"}},
		{"a table on steps", "", []string{"sample/diesel.csv", "--readout", "table", "--points", "4", "--step", "1", "--percent-step", "1"}, 0, []string{
			"No other table of as many points on these steps does better (all searched)"}},
		{"unknown objective", "", []string{six, "--objective", "best"}, 2, []string{"--objective"}},
		{"lowest below zero", "", []string{six, "--lowest=-1"}, 2, []string{"can't be below zero"}},
		{"lowest too high", "", []string{six, "--lowest", "150"}, 2, []string{"a lowest value below 99.6 Ω would do"}},
		{"squares behind ends", "", []string{six, "--readout", "ends-then-table", "--objective", "rms"}, 2, []string{"choose worst, near-empty or never-high"}},
		{"at no number", "", []string{six, "--at-mark", "half"}, 2, []string{`"half" is not a number`}},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			args := append([]string{"span"}, test.args...)
			if test.in != "" {
				args = append([]string{"span", "-"}, test.args...)
			}
			status, out, messages := command(test.in, args...)
			text := strings.Join(strings.Fields(out+messages), " ")
			if status != test.status {
				t.Errorf("exit status %d, want %d; messages %q", status, test.status, messages)
			}
			for _, part := range test.says {
				if !strings.Contains(text, part) {
					t.Errorf("%q isn't in %s", part, text)
				}
			}
		})
	}
}

// A job keeps end values with a table behind them.
func TestJobKeepsEndsThenTable(t *testing.T) {
	file := filepath.Join(t.TempDir(), "stall.job.json")
	for _, args := range [][]string{
		{"job", "init", file, "--number", "TK-2", "--date", "2026-11-03"},
		{"job", "tank", file, "Diesel", "--contents", "diesel", "--readings", "sample/diesel.csv", "--date", "2026-11-03"},
	} {
		if status, _, messages := command("", args...); status != 0 {
			t.Fatal(messages)
		}
	}
	if status, out, messages := command("", "job", "set", file, "--readout", "ends-then-table", "--date", "2026-11-03"); status != 0 || !strings.Contains(out, "Next for Diesel: Prove") {
		t.Errorf("exit status %d, messages %q, output %q", status, messages, out)
	}
	if _, out, _ := command("", "job", "show", file, "--json"); !strings.Contains(out, `"readout": "ends-then-table"`) || !strings.Contains(out, `"objective": "worst"`) || !strings.Contains(out, `"then_table": [`) {
		t.Error(out)
	}
	if status, out, messages := command("", "job", "set", file, "--objective", "rms", "--date", "2026-11-03"); status != 0 || !strings.Contains(out, "root-mean-square") {
		t.Errorf("exit status %d, messages %q, output %q", status, messages, out)
	}
}

// The figures of the JSON fit one another.
func TestSpanJSON(t *testing.T) {
	type row struct {
		Shown float64 `json:"shown_pct"`
		U     float64 `json:"u_pct"`
		Low   float64 `json:"low_pct"`
		High  float64 `json:"high_pct"`
	}
	type result struct {
		Objective  string
		Score      float64 `json:"objective_pct"`
		Worst      float64 `json:"worst_error_pct"`
		Bound      float64 `json:"lower_bound_pct"`
		Gap        float64 `json:"gap_pct"`
		Unproven   float64 `json:"unproven_pct"`
		Proven     bool    `json:"proven_best_on_steps"`
		Searched   int
		SenseUpper *float64 `json:"sensitivity_upper_pct_per_ohm"`
		Shown      []row
		AtMark     []struct {
			row
			Outside bool
			Ohm     *float64
		} `json:"at_mark"`
		Tried []struct {
			Why        string
			SenseUpper *float64 `json:"sensitivity_upper_pct_per_ohm"`
			SenseLower *float64 `json:"sensitivity_lower_pct_per_ohm"`
			AtMark     []row    `json:"at_mark"`
			Shown      []row
		}
	}
	for _, args := range [][]string{
		{"testdata/six.csv", "--objective", "near-empty"},
		{"testdata/six.csv", "--objective", "never-high", "--step", "0.1"},
		{"testdata/six.csv", "--objective", "rms"},
		{"sample/diesel.csv", "--readout", "table", "--points", "5", "--objective", "rms"},
		{"sample/diesel.csv", "--readout", "table", "--points", "5", "--step", "1", "--percent-step", "1"},
		{"sample/diesel.csv", "--readout", "ends-then-table", "--points", "5", "--percent-step", "1"},
	} {
		status, out, messages := command("", append([]string{"span", "--json", "--at-mark", "30", "--at-mark", "99", "--try", "0:90"}, args...)...)
		if status != 0 {
			t.Fatalf("%v: %s", args, messages)
		}
		var r result
		if err := json.Unmarshal([]byte(out), &r); err != nil {
			t.Fatalf("%v: %v", args, err)
		}
		if math.Abs(r.Score-r.Bound-r.Gap) > 1e-8 || r.Unproven > r.Gap+1e-8 || r.Proven != (r.Unproven == 0) || r.Bound < 0 {
			t.Errorf("%v: %+v", args, r)
		}
		if len(r.Shown) == 0 || len(r.AtMark) != 2 || len(r.Tried) != 1 || len(r.Tried[0].AtMark) != 2 || r.Tried[0].Why == "" || r.Tried[0].SenseUpper == nil || r.Tried[0].SenseLower == nil {
			t.Fatalf("%v: %+v", args, r)
		}
		for _, s := range append(append(r.Shown, r.Tried[0].Shown...), r.AtMark[0].row) {
			if !(s.Low <= s.Shown && s.Shown <= s.High && s.U >= 0 && s.Low >= 0 && s.High <= 100) {
				t.Errorf("%v: %+v", args, s)
			}
		}
	}
}
