package golden_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gaugewright/internal/golden"
)

// recorder takes what a test would say.
type recorder struct {
	testing.TB
	said string
}

func (r *recorder) Helper()                      {}
func (r *recorder) Errorf(f string, args ...any) { r.said += fmt.Sprintf(f, args...) }
func (r *recorder) Fatalf(f string, args ...any) {
	r.said += fmt.Sprintf(f, args...)
	panic(r)
}

func TestCheckSeesADifference(t *testing.T) {
	t.Chdir(t.TempDir())
	if err := os.Mkdir("testdata", 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join("testdata", "a.txt"), []byte("one\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	said := func(name, got string) string {
		r := &recorder{TB: t}
		func() {
			defer func() { _ = recover() }()
			golden.Check(r, name, []byte(got))
		}()
		return r.said
	}
	if s := said("a.txt", "one\n"); s != "" {
		t.Errorf("the same text: %s", s)
	}
	if s := said("a.txt", "two\n"); !strings.Contains(s, "differs") {
		t.Errorf("other text: %q", s)
	}
	if s := said("none.txt", ""); !strings.Contains(s, "-update") {
		t.Errorf("no file: %q", s)
	}
}
