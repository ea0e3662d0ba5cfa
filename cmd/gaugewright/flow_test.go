package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gaugewright/internal/golden"
)

// A whole job as a new user does it from the command line.
func TestJobFlow(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "stall.job.json")
	record := filepath.Join(dir, "stall.record.html")
	steps := []struct {
		args   []string
		status int
		says   string
	}{
		{[]string{"job", "init", file, "--number", "TK-1", "--customer", "Tidewater Kitchen <script>", "--vehicle", "trailer", "--date", "2026-11-03"}, 0, "Job TK-1 started"},
		{[]string{"job", "init", file, "--number", "TK-1"}, 2, "is there already"},
		{[]string{"job", "tank", file, "Gas", "--contents", "lpg", "--capacity", "54L", "--permitted-fill", "80", "--readings", "sample/gas.csv", "--claimed", "0:90", "--date", "2026-11-03", "--wire-area", "20awg", "--wire-length", "6m", "--wire-joints", "2"}, 0, "Next for Gas: Set"},
		{[]string{"job", "tank", file, "Gas", "--contents", "lpg", "--wire-area", "0.5"}, 2, "--wire-area"},
		{[]string{"job", "tank", file, "Gas", "--contents", "lpg", "--permitted-fill", "95"}, 2, "permitted_fill_pct"},
		{[]string{"job", "set", file, "--scale", "fill", "--date", "2026-11-03"}, 0, "100 % = as full as this tank may be filled"},
		{[]string{"check", "sample/gas.shown.csv", "--into", file, "--by", "R. Fitter"}, 0, "PASS: 3 of 3 within 2 points"},
		{[]string{"check", "sample/water.shown.csv", "--into", file}, 2, "has marks in mm"},
		{[]string{"job", "tank", file, "Diesel", "--contents", "diesel", "--readings", "sample/diesel.csv"}, 0, "Next for Diesel: Set"},
		{[]string{"job", "set", file}, 2, `say which: "Gas", "Diesel"`},
		{[]string{"job", "set", file, "Diesel", "--keyed", "240:33"}, 0, "Stored 240 and 33 as keyed in: worst error"},
		{[]string{"job", "show", file}, 0, "Prove: 3 of 3 within 2 points"},
		{[]string{"record", file, "--paper", "Letter"}, 0, "stall.record.html"},
		{[]string{"record", file, "--out", "-"}, 0, "Tidewater Kitchen &lt;script&gt;"},
	}
	for _, step := range steps {
		status, out, messages := command("", step.args...)
		if status != step.status || !strings.Contains(out+messages, step.says) {
			t.Fatalf("%v: exit status %d, want %d; output %q, messages %q, want %q", step.args, status, step.status, out, messages, step.says)
		}
	}
	page, err := os.ReadFile(record)
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(string(page), "0 and 75") {
		t.Error("the record doesn't tell what was keyed in")
	}
	// 12 m of AWG 20 at 33.31 Ω/km (ASTM B258) and two joints of 11 mΩ.
	if !strings.Contains(strings.ReplaceAll(string(page), "\u00a0", " "), "6 m of AWG 20, there and back, adds 0.42 Ω") {
		t.Error("the record doesn't tell what the wire does")
	}
}

func TestBenchVerb(t *testing.T) {
	file := filepath.Join(t.TempDir(), "bench.csv")
	status, out, messages := command("0 0.6\nup\n20% 20,4ohm dial tapped\n40 OL\n140 3\n40 4\nstrike slipped\n40 40.3\nlook\n", "bench", file)
	if status != 0 || messages != "" {
		t.Fatalf("exit status %d, messages %q", status, messages)
	}
	for _, want := range []string{
		"taken: 0 %, 0.6 Ω", "marks are approached going up", "taken: 20 %, 20.4 Ω",
		"an overload of the meter is an open circuit", "the mark 140 lies outside 0 to 100 %",
		"struck: 40 %, 4.0 Ω; the file keeps it as a comment", "3 readings in the file",
	} {
		if !strings.Contains(out, want) {
			t.Errorf("%q isn't in %s", want, out)
		}
	}
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"mark_pct,ohm,sweep,time,note\n0,0.6,,", "\n20,20.4,up,", ",dial tapped\n", "# struck: 40,4,up,", "slipped"} {
		if !strings.Contains(string(data), want) {
			t.Errorf("%q isn't in the file:\n%s", want, data)
		}
	}
	// Another sitting goes on where this one ended.
	if _, out, _ := command("60 60.1\n", "bench", file); !strings.Contains(out, "3 readings are in the file already") || !strings.Contains(out, "4 readings in the file.") {
		t.Errorf("second sitting: %s", out)
	}
	if status, _, messages := command("1 1\n", "bench", file, "--mark", "mm"); status != 2 || !strings.Contains(messages, "mark_pct") {
		t.Errorf("marks in another unit: exit status %d, messages %q", status, messages)
	}
}

func TestCurveDrawing(t *testing.T) {
	file := filepath.Join(t.TempDir(), "curve.svg")
	if status, _, messages := command("", "curve", "sample/diesel.csv", "--claimed", "240:33", "--svg", file); status != 0 {
		t.Fatalf("exit status %d, messages %q", status, messages)
	}
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"<svg", "240 to 33 Ω", "poured in, L", "</svg>"} {
		if !strings.Contains(string(data), want) {
			t.Errorf("%q isn't in the drawing", want)
		}
	}
}

func TestDemo(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "left here")
	status, out, messages := command("", "demo", "--out", dir)
	if status != 0 || messages != "" {
		t.Fatalf("exit status %d, messages %q", status, messages)
	}
	golden.Check(t, "demo.txt", []byte(strings.ReplaceAll(out, dir, "FOLDER")))
	for _, name := range []string{"record.html", "tidewater.job.json", "gas.csv", "gas.shown.csv"} {
		if info, err := os.Stat(filepath.Join(dir, name)); err != nil || info.Size() == 0 {
			t.Errorf("%s: %v", name, err)
		}
	}
}
