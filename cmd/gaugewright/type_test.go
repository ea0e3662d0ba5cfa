package main

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// inventedUnit writes readings of an invented dial sender, up and down, whose unit is
// off by an offset and a gain in ohms. Nothing here was ever measured.
func inventedUnit(t *testing.T, path string, offset, gain, bow float64, marks ...float64) string {
	t.Helper()
	var b strings.Builder
	b.WriteString("mark_pct,ohm,sweep\n")
	line := func(i int, mark float64, sweep string) {
		s := mark / 100
		wobble := 0.15 * math.Sin(float64(7*i)+10*offset+mark)
		fmt.Fprintf(&b, "%g,%.1f,%s\n", mark, 10+170*(s+(0.1+bow)*math.Sin(math.Pi*s))+offset+gain*s+wobble, sweep)
	}
	for i, m := range marks {
		line(i, m, "up")
	}
	if len(marks) > 4 {
		for i := len(marks) - 1; i >= 0; i-- {
			line(i+20, marks[i], "down")
		}
	}
	if err := os.WriteFile(path, []byte(b.String()), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

// A workshop gathers a type from jobs and readings, and fits the next unit by it.
func TestTypeFlow(t *testing.T) {
	dir := t.TempDir()
	at := func(name string) string { return filepath.Join(dir, name) }
	full := []float64{0, 10, 25, 40, 55, 70, 85, 100}
	kind, jobs := at("dial.type.json"), []string{}
	for i := range 5 {
		file := at(fmt.Sprintf("j%d.job.json", i))
		csv := inventedUnit(t, at(fmt.Sprintf("j%d.csv", i)), 1.5*math.Sin(float64(3*i)), 2*math.Cos(float64(5*i)), 0, full...)
		for _, args := range [][]string{
			{"job", "init", file, "--number", fmt.Sprint("TK-", i), "--customer", "Tidewater Kitchen (invented)", "--date", "2026-11-03"},
			{"job", "tank", file, "Water", "--contents", "water", "--capacity", "100L", "--readings", csv, "--of-type", "dial", "--serial", fmt.Sprint("S", i), "--batch", fmt.Sprint("B", i/3), "--date", "2026-11-03"},
		} {
			if status, out, messages := command("", args...); status != 0 {
				t.Fatalf("%v: %s%s", args, out, messages)
			}
		}
		jobs = append(jobs, file)
	}
	lone := inventedUnit(t, at("lone.csv"), -0.7, 1.1, 0, full...)
	more := inventedUnit(t, at("more.csv"), 0.9, -1.4, 0, full...)
	same := inventedUnit(t, at("same.csv"), 0.4, -0.8, 0, 0, 50, 100)
	stranger := inventedUnit(t, at("stranger.csv"), 0.4, -0.8, 0.15, 0, 50, 100)
	next := at("next.job.json")
	other := at("other.type.json")
	steps := []struct {
		args   []string
		status int
		says   string
	}{
		{append([]string{"type", "gather", "--name", "dial", "--out", kind}, jobs[:4]...), 0, "dial: 4 units put in; 4 units in all"},
		{append([]string{"type", "gather", "--name", "dial", "--out", kind}, jobs...), 2, "is there already"},
		{append([]string{"type", "gather", "--name", "none", "--out", at("none.json")}, jobs...), 2, `no sender of the type "none" was found`},
		{[]string{"type", "add", kind, jobs[4]}, 0, "dial: 1 unit put in; 5 units in all"},
		{[]string{"type", "add", kind, jobs[4]}, 0, "1 unit read again and put in the old one's place; 5 units in all"},
		{[]string{"type", "add", kind, lone}, 2, "doesn't say of which unit"},
		{[]string{"type", "add", kind, lone, more, "--unit", "S8:B2", "--unit", "S9:B2", "--meter", "0.5%+2"}, 0, "7 units in all"},
		{[]string{"type", "add", kind, same, "--unit", "S10"}, 2, "only 3 marks were read"},
		{[]string{"type", "show", kind}, 0, "Batches differ no more than units of one batch do."},
		{[]string{"type", "try", kind, same}, 0, "Accepted as of this type"},
		{[]string{"type", "try", kind, stranger}, 1, "Refused as not of this type"},
		{[]string{"type", "try", kind, "sample/water.csv"}, 2, "the marks are in mm"},
		{[]string{"type", "gather", "--all", "--without", "S0", "--name", "dial", "--out", other, jobs[0], jobs[1], jobs[2]}, 0, "2 units in all"},
		{[]string{"type", "try", kind, same, "--or", other}, 0, "None of these"},
		{[]string{"type", "merge", kind, other, "--out", at("merged.json")}, 0, "7 units and 2 units make 7 units in " + at("merged.json") + "; 2 units were in both, counted once."},
		{[]string{"job", "init", next, "--number", "TK-9", "--date", "2026-11-04"}, 0, "started"},
		{[]string{"job", "tank", next, "Water", "--contents", "water", "--readings", same, "--type", kind, "--serial", "S11", "--batch", "B2"}, 0, "Next for Water: Set"},
		{[]string{"job", "set", next, "--date", "2026-11-04"}, 0, "100 %"},
		{[]string{"job", "show", next}, 0, "Curve: good to ±"},
		{[]string{"record", next, "--out", "-"}, 0, "sender type dial, 7 units of 3 batches"},
		{[]string{"job", "tank", next, "Water", "--contents", "water", "--readings", stranger, "--type", kind}, 0, "Refused as not of this type"},
		{[]string{"job", "tank", next, "Water", "--contents", "water", "--readings", same, "--type", kind, "--of-type", "float"}, 2, "is of the type"},
		{append([]string{"type", "gather", "--name", "dial", "--out", at("again.json"), next}, jobs...), 0, "left out: " + next + ": the unit of job TK-9"},
	}
	for _, step := range steps {
		status, out, messages := command("", step.args...)
		all := strings.Join(strings.Fields(out+messages), " ")
		if want := strings.Join(strings.Fields(step.says), " "); status != step.status || !strings.Contains(strings.ReplaceAll(all, "\u00a0", " "), want) {
			t.Fatalf("%v: exit status %d, want %d; output %q, messages %q, want %q", step.args, status, step.status, out, messages, step.says)
		}
	}
}

func TestTypeJSON(t *testing.T) {
	const kind = "../../internal/kin/testdata/invented-v1.type.json"
	var shown struct {
		Name  string  `json:"name"`
		Units int     `json:"units"`
		DF    float64 `json:"df"`
		Knots []struct {
			Mark  float64   `json:"mark_pct"`
			Ohm   float64   `json:"ohm"`
			Modes []float64 `json:"modes_ohm"`
		} `json:"knots"`
		Next struct {
			Readings []struct {
				Mark  float64 `json:"mark_pct"`
				Worst float64 `json:"u_worst_pct"`
			} `json:"readings"`
		} `json:"next"`
	}
	_, out, _ := command("", "type", "show", kind, "--json")
	if err := json.Unmarshal([]byte(out), &shown); err != nil {
		t.Fatal(err)
	}
	if shown.Units != 6 || len(shown.Knots) != 11 || len(shown.Knots[3].Modes) != 3 || len(shown.Next.Readings) != 4 || shown.Next.Readings[3].Worst >= shown.Next.Readings[0].Worst {
		t.Errorf("%+v", shown)
	}
	var tried struct {
		Verdict string  `json:"verdict"`
		P       float64 `json:"p"`
		None    float64 `json:"none"`
		Odds    []struct {
			Probability float64 `json:"probability"`
		} `json:"odds"`
	}
	status, out, _ := command("mark_pct,ohm\n0,12.5\n50,116\n100,178\n", "type", "try", kind, "-", "--json")
	if err := json.Unmarshal([]byte(out), &tried); err != nil || status != 0 {
		t.Fatal(status, err)
	}
	if tried.Verdict != "accepted" || tried.P < 0.05 || len(tried.Odds) != 1 || math.Abs(tried.None+tried.Odds[0].Probability-1) > 1e-9 {
		t.Errorf("%+v", tried)
	}
}

// What the handbook shows is what the program prints.
func TestTypeDocs(t *testing.T) {
	const kind = "../../internal/kin/testdata/invented-v1.type.json"
	page, err := os.ReadFile("../../docs/sender-types.md")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ in, args string }{
		{"", "type show " + kind},
		{"mark_pct,ohm\n10,34.1\n70,144.2\n100,177.0\n", "type try " + kind + " -"},
	} {
		status, out, messages := command(c.in, strings.Fields(c.args)...)
		if status != 0 || messages != "" || !strings.Contains(string(page), "```text\n"+out+"```") {
			t.Errorf("%s: exit status %d, messages %q; docs/sender-types.md doesn't show\n%s", c.args, status, messages, out)
		}
	}
}
