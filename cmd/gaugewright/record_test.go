package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
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
