package web

import (
	"html"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"gaugewright/internal/job"
	"gaugewright/internal/peer"
	"gaugewright/internal/span"
)

var (
	tags   = regexp.MustCompile(`<[^>]*>`)
	spaces = regexp.MustCompile(`[\s\x{a0}]+`)
	rowTag = regexp.MustCompile(`(?s)<tr[^>]*>(.*?)</tr>`)
	cell   = regexp.MustCompile(`(?s)<t[hd][^>]*>(.*?)</t[hd]>`)
)

// plainText gives what can be read on a page, in one line.
func plainText(page string) string {
	return strings.TrimSpace(oneLine(html.UnescapeString(tags.ReplaceAllString(page, " "))))
}

func oneLine(s string) string { return spaces.ReplaceAllString(s, " ") }

// rowsOf gives the rows of the tables of a page, their cells joined by a blank.
func rowsOf(page string) []string {
	var out []string
	for _, r := range rowTag.FindAllStringSubmatch(page, -1) {
		var cells []string
		for _, c := range cell.FindAllStringSubmatch(r[1], -1) {
			if text := plainText(c[1]); text != "" {
				cells = append(cells, text)
			}
		}
		out = append(out, strings.Join(cells, " "))
	}
	return out
}

// program is the command for tests that hold pages against it, and gives a
// function that runs it for what it prints.
func program(t *testing.T) func(t *testing.T, args ...string) string {
	t.Helper()
	path, err := peer.Program(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	return func(t *testing.T, args ...string) string {
		t.Helper()
		out, err := exec.Command(path, args...).Output()
		if err != nil {
			t.Fatalf("gaugewright %s: %v", strings.Join(args, " "), err)
		}
		return string(out)
	}
}

// jobFileOf writes a job for the command line.
func jobFileOf(t *testing.T, j *job.Job) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "sample.job.json")
	if err := j.WriteFile(path); err != nil {
		t.Fatal(err)
	}
	return path
}

// setOf gives the numbers kept for a tank, exactly.
func setOf(t *testing.T, j *job.Job, n int) string {
	t.Helper()
	s := j.Tanks[n-1].Setting
	if s == nil {
		return ""
	}
	keyed, err := s.Keyed()
	if err != nil {
		t.Fatal(err)
	}
	if e, ok := keyed.(span.Ends); ok {
		return exactSetting(e)
	}
	return exactSetting(keyed)
}
