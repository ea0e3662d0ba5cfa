package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"gaugewright/internal/golden"
)

// The verbs say what was backed up and put in place, in words and as JSON; a copy of
// the jobs is one that can be worked with.
func TestBackupVerbs(t *testing.T) {
	folder := t.TempDir()
	data := filepath.Join(folder, "workshop.db")
	run := func(want int, args ...string) string {
		t.Helper()
		status, out, said := command("", args...)
		if status != want {
			t.Fatalf("%q: status %d: %s%s", args, status, out, said)
		}
		return out + said
	}
	run(0, "job", "import", "../../docs/samples/tidewater.job.json", "--data", data)
	backup := filepath.Join(folder, "out.zip")
	plain := func(text string) string {
		text = strings.ReplaceAll(text, folder, "FOLDER")
		text = regexp.MustCompile(`\d+ bytes|"bytes": \d+`).ReplaceAllString(text, "N bytes")
		text = regexp.MustCompile(`[0-9a-f]{64}`).ReplaceAllString(text, "SHA256")
		text = regexp.MustCompile(`\d+ \w+ \d{4} \d\d:\d\d:\d\d UTC|\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ`).ReplaceAllString(text, "TIME")
		return regexp.MustCompile(`before-\d{8}-\d{6}`).ReplaceAllString(text, "before-TIME")
	}
	var all strings.Builder
	for _, args := range [][]string{
		{"backup", backup, "--data", data},
		{"restore", backup, "--check"},
		{"restore", backup, "--into", filepath.Join(folder, "new")},
		{"restore", backup, "--into", filepath.Join(folder, "new"), "--over"},
		{"restore", backup, "--into", filepath.Join(folder, "json"), "--json"},
	} {
		all.WriteString("$ gaugewright " + strings.Join(args, " ") + "\n" + run(0, args...) + "\n")
	}
	for _, args := range [][]string{
		{"backup", backup, "--data", data},
		{"backup", filepath.Join(folder, "b.zip"), "--data", filepath.Join(folder, "none.db")},
		{"restore", backup},
		{"restore", backup, "--check", "--into", folder},
		{"restore", backup, "--into", filepath.Join(folder, "new")},
		{"restore", data, "--check"},
	} {
		all.WriteString("$ gaugewright " + strings.Join(args, " ") + "\n" + run(2, args...) + "\n")
	}
	golden.Check(t, "backup.txt", []byte(plain(all.String())))
	var m struct {
		File  string `json:"file"`
		Form  int    `json:"gaugewright_backup"`
		Files []struct{ Name, Kind string }
	}
	second := filepath.Join(folder, "second.zip")
	if err := json.Unmarshal([]byte(run(0, "backup", second, "--data", data, "--json")), &m); err != nil || m.File != second || m.Form != 1 || len(m.Files) != 1 {
		t.Errorf("%+v, %v", m, err)
	}
	exported := filepath.Join(folder, "jobs")
	run(0, "job", "export", "--data", filepath.Join(folder, "new", "workshop.db"), "--out", exported)
	if list, err := os.ReadDir(exported); err != nil || len(list) != 1 {
		t.Errorf("%d jobs in the copy, %v", len(list), err)
	}
}
