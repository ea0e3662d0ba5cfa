package peer

import (
	"os"
	"path/filepath"
	"testing"
)

// Disk gives a folder that goes with the test and is on the disk that the source
// is on: a folder for temporary files may be in memory, to which nothing is
// written that a system counts.
func Disk(t testing.TB) string {
	t.Helper()
	at, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	for ; ; at = filepath.Dir(at) {
		if _, err := os.Stat(filepath.Join(at, "go.mod")); err == nil {
			break
		}
		if at == filepath.Dir(at) {
			return t.TempDir()
		}
	}
	cache := filepath.Join(at, ".cache")
	if err := os.MkdirAll(cache, 0o755); err != nil {
		t.Fatal(err)
	}
	folder, err := os.MkdirTemp(cache, "disk-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := os.RemoveAll(folder); err != nil {
			t.Error(err)
		}
	})
	return folder
}
