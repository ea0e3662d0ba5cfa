package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gaugewright/internal/job"
)

// wants runs a command and fails unless it ends as said and says all the words.
func wants(t *testing.T, in string, status int, words []string, args ...string) (out, messages string) {
	t.Helper()
	got, out, messages := command(in, args...)
	if got != status {
		t.Fatalf("%v: exit status %d, want %d; messages %q, output %q", args, got, status, messages, out)
	}
	for _, w := range words {
		if !strings.Contains(out+messages, w) {
			t.Errorf("%v: %q isn't in\n%s%s", args, w, out, messages)
		}
	}
	return out, messages
}

// A job from its beginning, with nothing lost on the way.
func TestJobHistory(t *testing.T) {
	file := filepath.Join(t.TempDir(), "stall.job.json")
	wants(t, "", 0, nil, "job", "init", file, "--number", "TK-9", "--customer", "Tidewater Kitchen", "--date", "2026-11-03", "--fitter", "A. Example")
	wants(t, "", 2, []string{"there is no revision before 1"}, "job", "diff", file)
	wants(t, "", 0, nil, "job", "tank", file, "Gas", "--contents", "lpg", "--capacity", "54L", "--permitted-fill", "80", "--readings", "sample/gas.csv", "--by", "A. Example",
		"--meter-accuracy", "0.8%+2", "--leads", "0.2ohm", "--mark-doubt", "0.5", "--temperature-drift", "0.4%", "--serial", "0042", "--date", "2026-11-03")
	wants(t, "", 0, nil, "job", "set", file, "Gas", "--scale", "fill", "--date", "2026-11-03")
	wants(t, "mark_pct,shown_pct\n20,25\n40,50\n80,99.5\n", 0, []string{"within"}, "check", "-", "--into", file, "--tolerance", "4", "--display-step", "0.5", "--mark-doubt", "0.4")
	wants(t, "", 0, []string{"stays in the job's history", "--from 4 --to 5"}, "job", "tank", file, "Gas", "--contents", "lpg", "--readings", "sample/gas.csv", "--date", "2026-11-04")
	wants(t, "", 0, []string{"1  ", "A. Example: job begun", "tank Gas put in, ", "Gas: key in ", "Gas: checked as left, 3 of 3 within 4 points", "tank Gas replaced, "}, "job", "log", file)
	wants(t, "", 0, []string{"From revision 4 to 5", "Gas: nothing is keyed in any more, was keyed in ", "Gas: water capacity is no longer stated, was 54 L.", "Gas: serial number of the sender is no longer stated, was 0042."}, "job", "diff", file)
	wants(t, "", 0, []string{"From revision 1 to 2", "Tank Gas was put in: lpg, "}, "job", "diff", file, "--to", "2")
	wants(t, "", 0, []string{"From revision 1 to 4:", "Tank Gas was put in: lpg, "}, "job", "diff", file, "--from", "1", "--to", "4")
	for _, args := range [][]string{{"--from", "3", "--to", "3"}, {"--to", "9"}, {"--from", "0"}} {
		wants(t, "", 2, []string{"gaugewright: "}, append([]string{"job", "diff", file}, args...)...)
	}

	j, err := job.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	as, err := j.At(4)
	if err != nil {
		t.Fatal(err)
	}
	gas := as.Tanks[0]
	if d := gas.Bench.Doubts; d == nil || *d != (job.Doubts{MeterPct: 0.8, MeterDigits: 2, LeadsOhm: 0.2, Mark: 0.5, TemperaturePct: 0.4}) {
		t.Errorf("the doubts are %+v", d)
	}
	if c := gas.Checks[0]; *c.DisplayStepPct != 0.5 || *c.MarkDoubt != 0.4 {
		t.Errorf("the check is %+v", c)
	}
	proofs, err := gas.Proofs()
	if err != nil || float64(proofs[0].Proof.Doubt.Step) != 0.005 {
		t.Errorf("%v, its doubt is %+v", err, proofs[0].Proof.Doubt)
	}
	with, err := gas.Curve()
	if err != nil {
		t.Fatal(err)
	}
	gas.Bench.Doubts = nil
	bare, err := gas.Curve()
	if err != nil {
		t.Fatal(err)
	}
	if a, b := with.Points()[3], bare.Points()[3]; !(a.U > b.U) || !(a.Ohm < b.Ohm) {
		t.Errorf("with doubts %v ± %v, without %v ± %v", a.Ohm, a.U, b.Ohm, b.U)
	}

	old := filepath.Join(t.TempDir(), "old.job.json")
	if err := as.WriteFile(old); err != nil {
		t.Fatal(err)
	}
	out, _ := wants(t, "", 0, nil, "job", "diff", old, file, "--json")
	var told struct {
		Between     string
		Differences []job.Difference
	}
	if err := json.Unmarshal([]byte(out), &told); err != nil || len(told.Differences) < 4 || !strings.HasPrefix(told.Between, "From ") {
		t.Errorf("%v: %s", err, out)
	}
	out, _ = wants(t, "", 0, nil, "job", "log", file, "--json")
	var log struct {
		Number    string
		First     int
		Revisions []struct {
			Revision        int
			Time, By, Words string
		}
		Findings []any
	}
	if err := json.Unmarshal([]byte(out), &log); err != nil || log.Number != "TK-9" || log.First != 1 || len(log.Revisions) != 5 || log.Revisions[4].Revision != 5 {
		t.Errorf("%v: %s", err, out)
	}
}

func TestJobSignature(t *testing.T) {
	folder := t.TempDir()
	file, key, other := filepath.Join(folder, "stall.job.json"), filepath.Join(folder, "a.key"), filepath.Join(folder, "b.key")
	wants(t, "", 0, nil, "job", "init", file, "--number", "TK-9", "--fitter", "A. Example")
	wants(t, "", 0, []string{"keep it to yourself"}, "job", "key", key)
	wants(t, "", 0, nil, "job", "key", other)
	wants(t, "", 2, []string{"is there already"}, "job", "key", key)
	if info, err := os.Stat(key); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("the private key has the permissions %v, %v", info.Mode(), err)
	}
	wants(t, "", 1, []string{"not signed"}, "job", "verify", file)
	wants(t, "", 2, []string{"no private key in it"}, "job", "sign", file, "--key", key+".pub")
	wants(t, "", 0, []string{"Signed by A. Example on "}, "job", "sign", file, "--key", key)
	wants(t, "", 0, []string{"as it was signed. Signed by A. Example on ", "the signer's own word"}, "job", "verify", file, "--trust", key+".pub")
	wants(t, "", 1, []string{"not with the key in"}, "job", "verify", file, "--trust", other+".pub")
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	out, _ := wants(t, string(text), 0, nil, "job", "verify", "-", "--json")
	if !strings.Contains(out, `"good": true`) || !strings.Contains(out, `"by": "A. Example"`) {
		t.Error(out)
	}

	forged := filepath.Join(folder, "forged.job.json")
	if err := os.WriteFile(forged, []byte(strings.Replace(string(text), "TK-9", "TK-8", 1)), 0o600); err != nil {
		t.Fatal(err)
	}
	wants(t, "", 1, []string{"changed after it was signed"}, "job", "verify", forged)
	wants(t, "", 0, []string{"changed after it was signed"}, "job", "show", forged)
	wants(t, "{", 2, []string{"standard input"}, "job", "verify", "-")

	wants(t, "", 0, []string{"was signed; it is no longer"}, "job", "tank", file, "Water", "--contents", "water", "--readings", "sample/water.csv")
	wants(t, "", 1, []string{"not signed"}, "job", "verify", file)
}
