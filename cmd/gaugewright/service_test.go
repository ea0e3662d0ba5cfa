package main

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// served is what a service check says, as JSON.
type served struct {
	Drift struct {
		Changed   bool
		P         float64
		ErrorRate float64 `json:"error_rate"`
		Rows      []struct {
			Mark, Found, Expected, Change, U float64
			Beyond                           bool `json:"beyond_doubt"`
		}
		Causes []struct {
			Cause     string
			Parameter float64
			Unit      string
		}
		Power    []struct{ Cause string }
		Findings []struct{ Kind, Text, Weight string }
	}
	Advice *struct {
		Do       string
		Mend     bool     `json:"mend_first"`
		Lower    *float64 `json:"lower_value"`
		Upper    *float64 `json:"upper_value"`
		Interval struct {
			Months, Visits int
		}
	}
	Cautions []string
}

// serviceJob is a job with a bent water sender, read on 3 November 2025.
func serviceJob(t *testing.T, contents string) string {
	t.Helper()
	dir := t.TempDir()
	file := filepath.Join(dir, "job.json")
	bench := filepath.Join(dir, "bench.csv")
	text := "mark_pct,ohm\n"
	for _, row := range []string{"0,10.1", "0,10.2", "20,31.8", "20,31.7", "40,57.8", "40,58.0", "60,89.7", "60,89.8", "80,127.6", "80,127.4", "100,171.3", "100,171.2"} {
		text += row + "\n"
	}
	if err := os.WriteFile(bench, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	args := []string{"job", "tank", file, "Tank", "--contents", contents, "--readings", bench}
	if contents == "lpg" {
		args = append(args, "--permitted-fill", "80")
	}
	for _, args := range [][]string{
		{"job", "init", file, "--number", "7"},
		args,
		{"job", "set", file, "--readout", "table", "--points", "5"},
	} {
		if status, _, messages := command("", args...); status != 0 {
			t.Fatalf("%v: %d, %s", args, status, messages)
		}
	}
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	var all map[string]any
	if err := json.Unmarshal(data, &all); err != nil {
		t.Fatal(err)
	}
	all["tanks"].([]any)[0].(map[string]any)["bench"].(map[string]any)["date"] = "2025-11-03"
	if data, err = json.Marshal(all); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file, data, 0o644); err != nil {
		t.Fatal(err)
	}
	return file
}

const (
	asBefore = "mark_pct,ohm\n10,20.4\n30,44.2\n50,73.1\n70,107.9\n90,148.6\n"
	inSeries = "mark_pct,ohm\n10,28.4\n30,52.2\n50,81.1\n70,115.9\n90,156.6\n"
)

func service(t *testing.T, in string, args ...string) (int, served) {
	t.Helper()
	status, out, messages := command(in, append([]string{"check", "-", "--meter", "0.2%+2", "--json"}, args...)...)
	var v served
	if err := json.Unmarshal([]byte(out), &v); err != nil {
		t.Fatalf("%v: %v; %s", args, err, messages)
	}
	return status, v
}

// A service that finds nothing exits 0, one that finds a change beyond the
// tolerance 1; the cause is told and what to do.
func TestServiceCheck(t *testing.T) {
	file := serviceJob(t, "water")
	status, v := service(t, asBefore, "--against", file, "--date", "2026-11-03")
	if status != 0 || v.Drift.Changed || v.Advice.Do != "leave" || v.Advice.Interval.Visits != 1 || len(v.Drift.Power) == 0 || v.Drift.ErrorRate != 0.01 {
		t.Errorf("as before: exit status %d, %+v", status, v)
	}
	status, v = service(t, inSeries, "--against", file, "--date", "2026-11-03")
	if status != 1 || !v.Drift.Changed || v.Advice.Do == "leave" || !v.Advice.Mend || v.Drift.Causes[0].Cause != "series" || v.Drift.Causes[0].Unit != "ohm" {
		t.Errorf("in series: exit status %d, %+v", status, v)
	}
	if r := v.Drift.Rows[2]; r.Mark != 50 || r.Found != 81.1 || math.Abs(r.Change-(r.Found-r.Expected)) > 1e-8 || !r.Beyond {
		t.Errorf("%+v", r)
	}
	if f := v.Drift.Findings[0]; !strings.Contains(f.Text, "than in the record of 3 November 2025; the odds of seeing this from noise alone are under 1 in 1000") {
		t.Errorf("%q", f.Text)
	}
	_, out, _ := command(inSeries, "check", "-", "--against", file, "--date", "2026-11-03", "--meter", "0.2%+2")
	if text := strings.Join(strings.Fields(out), " "); !strings.Contains(text, "BAD: Find and mend the joint first, then check again.") || !strings.Contains(text, "beyond doubt") {
		t.Errorf("in words:\n%s", out)
	}
}

// With --into the readings are kept, in their order, and count in the next check;
// with --against the file stays as it is.
func TestServiceIsKept(t *testing.T) {
	file := serviceJob(t, "water")
	before, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	service(t, asBefore, "--against", file, "--date", "2026-11-03")
	if after, _ := os.ReadFile(file); string(after) != string(before) {
		t.Error("--against changed the job")
	}
	if status, _ := service(t, asBefore, "--into", file, "--date", "2026-11-03", "--by", "A. Fitter", "--leads", "0ohm"); status != 0 {
		t.Errorf("exit status %d", status)
	}
	var j struct {
		Tanks []struct {
			Services []struct {
				By, Date string
				Doubts   struct {
					MeterPct float64 `json:"meter_pct"`
				}
				Readings []struct {
					MarkPct float64 `json:"mark_pct"`
					Ohm     float64
				}
			}
		}
		History []struct{ Words string }
	}
	data, err := os.ReadFile(file)
	if err == nil {
		err = json.Unmarshal(data, &j)
	}
	if err != nil {
		t.Fatal(err)
	}
	if s := j.Tanks[0].Services; len(s) != 1 || s[0].By != "A. Fitter" || s[0].Date != "2026-11-03" || s[0].Doubts.MeterPct != 0.2 || len(s[0].Readings) != 5 || s[0].Readings[1].Ohm != 44.2 {
		t.Errorf("kept: %+v", s)
	}
	if n := len(j.History); n == 0 || !strings.Contains(j.History[n-1].Words, "Tank: checked later, with 5 readings") {
		t.Errorf("history: %+v", j.History)
	}
	if _, v := service(t, asBefore, "--against", file, "--date", "2027-11-03"); v.Advice.Interval.Visits != 2 {
		t.Errorf("the next check knows of %d services", v.Advice.Interval.Visits)
	}
}

// Gas keeps its cautions.
func TestServiceOfGasHasCautions(t *testing.T) {
	file := serviceJob(t, "lpg")
	_, v := service(t, asBefore, "--against", file, "--date", "2026-11-03")
	if len(v.Cautions) == 0 {
		t.Error("no cautions")
	}
	_, out, _ := command(asBefore, "check", "-", "--against", file, "--date", "2026-11-03")
	if !strings.Contains(out, "Never fill beyond the permitted fill") {
		t.Errorf("no caution in\n%s", out)
	}
}

// A check of the display against the one made as left.
func TestDisplayAgainstAsLeft(t *testing.T) {
	file := serviceJob(t, "water")
	const left = "mark_pct,shown_pct\n20,20\n50,50\n80,80\n"
	if status, _, messages := command(left, "check", "-", "--into", file, "--date", "2025-11-03"); status != 0 {
		t.Fatal(messages)
	}
	before, _ := os.ReadFile(file)
	_, out, _ := command(left, "check", "-", "--against", file)
	if !strings.Contains(strings.Join(strings.Fields(out), " "), "No change of the display is seen against the check as left of 3 November 2025") {
		t.Errorf("unchanged:\n%s", out)
	}
	status, out, _ := command("mark_pct,shown_pct\n20,26\n50,57\n80,86\n", "check", "-", "--against", file)
	if status != 1 || !strings.Contains(strings.Join(strings.Fields(out), " "), "The display has changed: at 50 % it shows 7.0 points more than in the check as left of 3 November 2025") {
		t.Errorf("changed: exit status %d\n%s", status, out)
	}
	_, out, _ = command(left, "check", "-", "--against", file, "--json")
	if !strings.Contains(out, `"since_as_left"`) {
		t.Errorf("JSON:\n%s", out)
	}
	if after, _ := os.ReadFile(file); string(after) != string(before) {
		t.Error("--against changed the job")
	}
}

func TestServiceRefuses(t *testing.T) {
	file := serviceJob(t, "water")
	for _, c := range []struct {
		in   string
		args []string
		want string
	}{
		{asBefore, nil, "name the job with --into JOB"},
		{asBefore, []string{"--into", file, "--against", file}, "give one"},
		{asBefore, []string{"--against", file, "--date", "3 Nov"}, `--date "3 Nov" isn't a date`},
		{asBefore, []string{"--against", file, "--date", "2025-01-01"}, "can't come before its record"},
		{asBefore, []string{"--against", file, "--set", "0:90"}, "leave out"},
		{asBefore, []string{"--against", file, "--error-rate", "50"}, "--error-rate 50"},
		{asBefore, []string{"--against", file, "--meter", "good"}, "isn't a meter's specification"},
		{"mark_mm,ohm\n10,20\n", []string{"--against", file}, "marks in mm and the record has them in %"},
		{"mark_pct,volt\n10,2\n", []string{"--against", file}, "in volts and the record is in ohms"},
		{"mark_pct,ohm\n10,abc\n", []string{"--against", file}, "abc"},
		{"mark_pct,shown_pct\n10,10\n", []string{"--against", file, "--meter", "0.5%+2"}, "about the sender's own values"},
		{"mark_pct,shown_pct\n10,abc\n", []string{"--against", file}, "abc"},
		{"mark_pct,shown_pct\n10,10\n", []string{"--into", file, "--against", file}, "give one"},
	} {
		status, _, messages := command(c.in, append([]string{"check", "-"}, c.args...)...)
		if status != 2 || !strings.Contains(strings.Join(strings.Fields(messages), " "), c.want) {
			t.Errorf("%v: exit status %d, %q, expected %q", c.args, status, messages, c.want)
		}
	}
}
