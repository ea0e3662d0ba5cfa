//go:build unix

package sqlite_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"gaugewright/internal/job"
	"gaugewright/internal/store/sqlite"
)

// nobody is a user without any rights, by custom.
const nobody = 65534

// opener opens a file as someone who isn't the superuser and gives the error.
func opener(path string) string {
	if os.Getuid() == 0 {
		if err := errors.Join(syscall.Setgid(nobody), syscall.Setuid(nobody)); err != nil {
			return "can't become nobody: " + err.Error()
		}
	}
	s, err := sqlite.Open(context.Background(), path, sqlite.Options{})
	if err != nil {
		return fmt.Sprint(errors.Is(err, job.ErrFull), ": ", err)
	}
	return fmt.Sprint("opened: ", s.Close())
}

func TestOpenWithoutPermission(t *testing.T) {
	dir := t.TempDir()
	filled(t, filepath.Join(dir, "folder", "jobs.db"), 1)
	filled(t, filepath.Join(dir, "closed", "jobs.db"), 1)
	filled(t, filepath.Join(dir, "file", "jobs.db"), 1)
	for path, mode := range map[string]os.FileMode{
		filepath.Dir(dir): 0o755, dir: 0o755,
		filepath.Join(dir, "folder"): 0o555, filepath.Join(dir, "folder", "jobs.db"): 0o444,
		filepath.Join(dir, "closed"): 0,
		filepath.Join(dir, "file"):   0o777, filepath.Join(dir, "file", "jobs.db"): 0o444,
	} {
		if err := os.Chmod(path, mode); err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { _ = os.Chmod(path, 0o700) })
	}
	for name, want := range map[string]string{
		"folder/jobs.db":     "true: ",
		"file/jobs.db":       "true: ",
		"folder/none.db":     "false: the file of jobs can't be made: ",
		"folder/sub/none.db": "false: the file of jobs can't be made: ",
		"closed/jobs.db":     "false: the file of jobs can't be looked at: ",
		"file/new.db":        "opened: <nil>",
	} {
		path := filepath.Join(dir, filepath.FromSlash(name))
		out, _ := child(t, "opener", path).Output()
		got := strings.TrimSpace(string(out))
		if !strings.HasPrefix(got, want) {
			t.Errorf("%s: %s\nwant %s", name, got, want)
		}
		if strings.HasPrefix(want, "true") && !(strings.Contains(got, path) && strings.Contains(got, "may only be read")) {
			t.Errorf("%s: %s\nwant the file and that it may only be read", name, got)
		}
	}
}
