package main

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

type checked struct {
	Pass           bool
	Verdict        string
	Sentence       string
	TolerancePct   float64 `json:"tolerance_pct"`
	DisplayStepPct float64 `json:"display_step_pct"`
	MarkDoubtPct   float64 `json:"mark_doubt_pct"`
	Checks         []struct {
		ShownPct     float64 `json:"shown_pct"`
		Pass         bool
		Verdict      string
		Probability  float64
		UPct         float64 `json:"u_pct"`
		GuardBandPct float64 `json:"guard_band_pct"`
	}
	Findings []struct{ Kind, Text, Weight string }
}

func checkJSON(t *testing.T, in string, args ...string) (int, checked) {
	t.Helper()
	status, out, messages := command(in, append([]string{"check"}, append(args, "--json")...)...)
	var v checked
	if err := json.Unmarshal([]byte(out), &v); err != nil {
		t.Fatalf("%v: %v; messages %q", args, err, messages)
	}
	return status, v
}

// Each verdict with its exit status: 1 only where an error is beyond the
// tolerance. On the dial's own scale u is √(1/12 + 0.5²/3) = 0.408 points.
func TestCheckVerdicts(t *testing.T) {
	for _, c := range []struct {
		shown   string
		status  int
		verdict string
	}{
		{"51", 0, "pass"}, {"48", 0, "conditional pass"}, {"52.5", 1, "conditional fail"}, {"47", 1, "fail"},
	} {
		status, v := checkJSON(t, "mark_pct,shown_pct\n20,20\n50,"+c.shown+"\n", "-", "--display-step", "1")
		if status != c.status || v.Verdict != c.verdict || v.Pass != (c.status == 0) || v.Checks[1].Verdict != c.verdict ||
			v.Checks[1].Pass != v.Pass || v.Checks[0].Verdict != "pass" || !strings.HasPrefix(strings.ToLower(v.Sentence), c.verdict+": ") {
			t.Errorf("%s shown at 50: exit status %d, %+v", c.shown, status, v)
		}
		if row := v.Checks[1]; math.Abs(row.UPct-0.408248290) > 1e-9 || math.Abs(row.GuardBandPct-2*row.UPct) > 1e-8 {
			t.Errorf("u %v, guard band %v", row.UPct, row.GuardBandPct)
		}
		_, out, _ := command("mark_pct,shown_pct\n20,20\n50,"+c.shown+"\n", "check", "-", "--display-step", "1")
		if !strings.Contains(out, "\n"+strings.ToUpper(c.verdict)+": ") || !strings.Contains(out, "% sure") {
			t.Errorf("%s shown at 50 prints\n%s", c.shown, out)
		}
	}
}

// The doubt as it is stated: the step from the figures or the flag, the mark in
// the unit of the file, the sender from its readings.
func TestCheckDoubt(t *testing.T) {
	const display = "mark_mm,shown_pct\n100,50\n150,75\n"
	ends := []string{"-", "--empty-mark", "0", "--full-mark", "200"}
	for _, c := range []struct {
		args     []string
		step, mm float64
	}{
		{nil, 1, 1}, // half a point of 200 mm
		{[]string{"--mark-doubt", "3"}, 1, 3},
		{[]string{"--mark-doubt", "0", "--display-step", "0,1"}, 0.1, 0},
	} {
		_, v := checkJSON(t, display, append(ends, c.args...)...)
		want := math.Sqrt(c.step*c.step/12 + c.mm/2*c.mm/2/3) // 1 mm is half a point
		if got := v.Checks[0].UPct; math.Abs(got-want) > 1e-8 || v.DisplayStepPct != c.step || v.MarkDoubtPct != c.mm/2 {
			t.Errorf("%v: u %v, want %v; step %v, mark %v", c.args, got, want, v.DisplayStepPct, v.MarkDoubtPct)
		}
	}
	// A sender with a hysteresis of 2 Ω on 100 Ω: half of it, rectangular, is
	// 1/√3 points. The readings tell the ends of the scale too.
	bench := filepath.Join(t.TempDir(), "bench.csv")
	if err := os.WriteFile(bench, []byte("mark_mm,ohm,sweep\n0,10,up\n100,60,up\n200,110,up\n200,112,down\n100,62,down\n0,12,down\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	_, v := checkJSON(t, display, "-", "--readings", bench, "--set", "11:111")
	if want := math.Sqrt(1.0/12 + 0.25/3 + 1.0/3); math.Abs(v.Checks[0].UPct-want) > 1e-8 || !v.Pass {
		t.Errorf("with the sender: u %v, want %v", v.Checks[0].UPct, want)
	}
}

// A check kept in a job says the same as one beside it.
func TestCheckIntoJobSaysTheSame(t *testing.T) {
	file := filepath.Join(t.TempDir(), "job.json")
	for _, args := range [][]string{
		{"job", "init", file, "--number", "1"},
		{"job", "tank", file, "Gas", "--contents", "lpg", "--permitted-fill", "80", "--readings", "sample/gas.csv"},
		{"job", "set", file, "--scale", "fill", "--keyed", "0:75"},
	} {
		if status, _, messages := command("", args...); status != 0 {
			t.Fatalf("%v: %d, %s", args, status, messages)
		}
	}
	_, alone, _ := command("", "check", "sample/gas.shown.csv", "--scale", "fill", "--permitted-fill", "80", "--readings", "sample/gas.csv", "--set", "0:75")
	_, into, _ := command("", "check", "sample/gas.shown.csv", "--into", file)
	if alone != into || !strings.Contains(into, "scatter and hysteresis") {
		t.Errorf("alone\n%s\ninto the job\n%s", alone, into)
	}
	_, show, _ := command("", "job", "show", file)
	if !strings.Contains(strings.Join(strings.Fields(show), " "), "within 2 points, but by less than the doubt") {
		t.Errorf("the job says\n%s", show)
	}
}

func TestCheckTooCoarse(t *testing.T) {
	status, v := checkJSON(t, "mark_pct,shown_pct\n50,50\n", "-", "--mark-doubt", "4")
	if status != 0 || v.Verdict != "conditional pass" || len(v.Findings) != 1 || v.Findings[0].Kind != "coarse-check" || v.Findings[0].Weight != "doubt" {
		t.Errorf("exit status %d, %+v", status, v)
	}
	_, out, _ := command("mark_pct,shown_pct\n50,50\n", "check", "-", "--mark-doubt", "4")
	if !strings.Contains(strings.Join(strings.Fields(out), " "), "Look: This check is too coarse: its guard band is 4.66 points and the tolerance 2") {
		t.Errorf("says\n%s", out)
	}
	if _, v := checkJSON(t, "mark_pct,shown_pct\n50,50\n", "-"); len(v.Findings) != 0 || v.Findings == nil {
		t.Errorf("a check that isn't coarse has findings %v", v.Findings)
	}
}

func TestCheckRefuses(t *testing.T) {
	const dial = "mark_pct,shown_pct\n50,50\n"
	for _, c := range []struct {
		in   string
		args []string
		says string
	}{
		{dial, []string{"--mark-doubt", "60"}, "a mark can't be in doubt by 60 points; expected 0 (exact) to 25"},
		{dial, []string{"--mark-doubt=-1"}, "a mark can't be in doubt by -1 points"},
		{dial, []string{"--mark-doubt", "NaN"}, `"NaN" is not a number`},
		{dial, []string{"--display-step", "0"}, "--display-step 0 isn't a step"},
		{dial, []string{"--display-step", "80"}, "a display can't show in steps of 80 points; expected above 0, up to 50"},
		{dial, []string{"--tolerance", "NaN"}, `"NaN" is not a number`},
		{dial, []string{"--tolerance=-2"}, "a tolerance lies above 0"},
		{dial, []string{"--set", "0:75"}, "--readings and --set go together"},
		{dial, []string{"--readings", "sample/gas.csv"}, "--readings and --set go together"},
		{dial, []string{"--readings", "sample/gas.csv", "--set", "75"}, `--set "75" isn't a pair of end values`},
		{dial, []string{"--readings", "-", "--set", "0:75"}, "can't both come from standard input"},
		{dial, []string{"--readings", "sample/none.csv", "--set", "0:75"}, "none.csv"},
		{dial, []string{"--readings", "sample/water.csv", "--set", "0:75"}, "sample/water.csv has them in mm"},
	} {
		status, out, messages := command(c.in, append([]string{"check", "-"}, c.args...)...)
		if status != 2 || out != "" || !strings.Contains(messages, c.says) {
			t.Errorf("%v: exit status %d, messages %q, want %q", c.args, status, messages, c.says)
		}
	}
	file := filepath.Join(t.TempDir(), "job.json")
	command("", "job", "init", file, "--number", "1")
	command("", "job", "tank", file, "Gas", "--contents", "lpg", "--readings", "sample/gas.csv")
	if status, _, messages := command(dial, "check", "-", "--into", file, "--set", "0:75"); status != 2 || !strings.Contains(messages, "leave out --readings and --set") {
		t.Errorf("end values for a job: exit status %d, messages %q", status, messages)
	}
	if status, _, messages := command(dial, "check", "-", "--into", file, "--display-step", "0"); status != 2 || !strings.Contains(messages, "--display-step 0 isn't a step") {
		t.Errorf("no step for a job: exit status %d, messages %q", status, messages)
	}
}
