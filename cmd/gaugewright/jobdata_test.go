package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// Job files go into the data file of the pages and come out of it as they were.
func TestJobImportAndExport(t *testing.T) {
	folder := t.TempDir()
	data, out := filepath.Join(folder, "w.db"), filepath.Join(folder, "out", "jobs")
	done, err := sampleDone()
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(folder, "one.job.json")
	if err := done.WriteFile(file); err != nil {
		t.Fatal(err)
	}
	bad := filepath.Join(folder, "bad.json")
	if err := os.WriteFile(bad, []byte(`{"version": 1, "number": "2"`), 0o600); err != nil {
		t.Fatal(err)
	}
	// What is good is taken in, though something else isn't.
	status, said, messages := command("", "job", "import", "--data", data, bad, file)
	if status != exitInput || !strings.Contains(messages, "bad.json") || !strings.Contains(said, "job TK-2026-014 taken in") {
		t.Errorf("status %d\n%s%s", status, said, messages)
	}
	status, said, messages = command("", "job", "import", "--data", data, file)
	if status != exitDone || messages != "" || !strings.Contains(said, "here already; not doubled") {
		t.Errorf("once more: status %d\n%s%s", status, said, messages)
	}
	for range 2 {
		status, said, messages = command("", "job", "export", "--data", data, "--out", out, "--find", "tidewater")
		if status != exitDone || messages != "" {
			t.Fatalf("status %d\n%s%s", status, said, messages)
		}
	}
	names, err := filepath.Glob(filepath.Join(out, "*"))
	if err != nil || len(names) != 1 || strings.TrimSpace(said) != names[0] || !strings.HasPrefix(filepath.Base(names[0]), "TK-2026-014-") {
		t.Fatalf("written: %v, %v; said %q", names, err, said)
	}
	before, _ := os.ReadFile(file)
	after, _ := os.ReadFile(names[0])
	if len(before) == 0 || string(before) != string(after) {
		t.Error("the file came out other than it went in")
	}
	if status, _, messages := command("", "job", "export", "--data", data, "--out", out, "--find", "nobody"); status != exitDone || !strings.Contains(messages, "no job was found") {
		t.Errorf("finding nothing: status %d, %s", status, messages)
	}
	none := filepath.Join(folder, "none.db")
	if status, _, messages := command("", "job", "export", "--data", none, "--out", out); status != exitInput || !strings.Contains(messages, "none.db") {
		t.Errorf("no data file: status %d, %s", status, messages)
	}
	if _, err := os.Stat(none); err == nil {
		t.Error("asking for jobs makes a data file")
	}
}
