package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

func TestCheck(t *testing.T) {
	dir := t.TempDir()
	source := filepath.Join(dir, "main.go")
	if err := os.WriteFile(source, []byte("package main\nfunc main() {}\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name string
		args []string
		say  string // "" for a static program
	}{
		{"static", nil, ""},
		// The go command gives a position-independent program a loader.
		{"with a loader", []string{"-buildmode=pie"}, "loader"},
	} {
		t.Run(c.name, func(t *testing.T) {
			program := filepath.Join(dir, "program")
			cmd := exec.Command("go", append(append([]string{"build", "-o", program}, c.args...), source)...)
			cmd.Env = append(os.Environ(), "GOOS=linux", "CGO_ENABLED=0")
			if out, err := cmd.CombinedOutput(); err != nil {
				t.Fatalf("%v\n%s", err, out)
			}
			err := check(program)
			if c.say == "" && err != nil || c.say != "" && (err == nil || !strings.Contains(err.Error(), c.say)) {
				t.Errorf("got %v; expected %q", err, c.say)
			}
		})
	}
	if err := check(source); err == nil || !strings.Contains(err.Error(), "expected a Linux program") {
		t.Errorf("a text file: got %v", err)
	}
}
