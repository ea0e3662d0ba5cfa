package main

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// The name of the file chooses the form; both forms are of the paper asked for.
func TestRecordForms(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "stall.job.json")
	for _, args := range [][]string{
		{"job", "init", file, "--number", "TK-1", "--customer", "Tidewater Kitchen", "--date", "2026-11-03"},
		{"job", "tank", file, "Gas", "--contents", "lpg", "--capacity", "54L", "--permitted-fill", "80", "--readings", "sample/gas.csv"},
	} {
		if status, _, messages := command("", args...); status != 0 {
			t.Fatalf("%v: exit status %d, %s", args, status, messages)
		}
	}
	for name, form := range map[string]struct{ begins, paper, says string }{
		"r.pdf":    {"%PDF-", "Letter", "laid out for Letter"},
		"R.PDF":    {"%PDF-", "A4", "laid out for A4"},
		"r.html":   {"<!DOCTYPE html>", "A4", "open it in a browser"},
		"pdf.page": {"<!DOCTYPE html>", "A4", "open it in a browser"},
	} {
		out := filepath.Join(dir, name)
		status, said, messages := command("", "record", file, "--out", out, "--paper", form.paper)
		if status != 0 || messages != "" || !strings.Contains(said, form.says) {
			t.Errorf("%s: exit status %d, output %q, messages %q", name, status, said, messages)
		}
		data, err := os.ReadFile(out)
		if err != nil || !bytes.HasPrefix(data, []byte(form.begins)) {
			t.Errorf("%s begins with %.20q, want %q: %v", name, data, form.begins, err)
		}
		// The sheet in points, as the file has it (ISO 32000-1, 7.7.3.3).
		if size := map[string]string{"Letter": "/MediaBox [0 0 612.00 792.00]", "A4": "/MediaBox [0 0 595.28 841.89]"}[form.paper]; form.begins == "%PDF-" && !bytes.Contains(data, []byte(size)) {
			t.Errorf("%s isn't laid out for %s", name, form.paper)
		}
	}
}

// The same job gives the same bytes: the program as it is shipped, run at
// different times, in different time zones and places. Another time is stated
// with --made.
func TestRecordSameBytes(t *testing.T) {
	built.Store(true)
	path, err := program()
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	file := filepath.Join(dir, "stall.job.json")
	for _, args := range [][]string{
		{"job", "init", file, "--number", "TK-1", "--customer", "Tidewater Kitchen", "--date", "2026-11-03"},
		{"job", "tank", file, "Gas", "--contents", "lpg", "--capacity", "54L", "--permitted-fill", "80", "--readings", "sample/gas.csv"},
	} {
		if status, _, messages := command("", args...); status != 0 {
			t.Fatalf("%v: exit status %d, %s", args, status, messages)
		}
	}
	write := func(name string, zone string, more ...string) []byte {
		out := filepath.Join(dir, name)
		run := exec.Command(path, append([]string{"record", file, "--out", out}, more...)...)
		run.Env = append(os.Environ(), "TZ="+zone)
		if said, err := run.CombinedOutput(); err != nil {
			t.Fatalf("%v: %s", err, said)
		}
		data, err := os.ReadFile(out)
		if err != nil {
			t.Fatal(err)
		}
		return data
	}
	first := map[string][]byte{}
	for turn, zone := range []string{"UTC", "Asia/Kolkata"} {
		for _, form := range []string{"pdf", "html"} {
			for _, paper := range []string{"A4", "Letter"} {
				data := write("r."+form, zone, "--paper", paper)
				if was, ok := first[form+paper]; ok && !bytes.Equal(was, data) {
					t.Errorf("%s on %s differs from one run to the next", form, paper)
				}
				first[form+paper] = data
			}
		}
		if turn == 0 {
			time.Sleep(1100 * time.Millisecond) // PDF has times to the second
		}
	}
	if stated := write("made.html", "UTC", "--made", "2026-12-24"); !bytes.Contains(stated, []byte("Made by Gaugewright on 24 December 2026.")) || bytes.Equal(stated, first["htmlA4"]) {
		t.Error("the time stated isn't in the record")
	}
	if status, _, messages := command("", "record", file, "--out", filepath.Join(dir, "x.pdf"), "--made", "soon"); status != exitInput || !strings.Contains(messages, "--made: \"soon\" is no time; expected") {
		t.Errorf("--made soon: exit status %d, %s", status, messages)
	}
}
