package keep_test

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"gaugewright/internal/keep"
)

func TestFile(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "a.json")
	for _, data := range []string{"first", "second, longer", ""} {
		if err := keep.File(path, []byte(data)); err != nil {
			t.Fatal(err)
		}
		if got, err := os.ReadFile(path); err != nil || string(got) != data {
			t.Fatalf("%q, %v; want %q", got, err, data)
		}
	}
	if runtime.GOOS != "windows" {
		if err := os.Chmod(path, 0o640); err != nil {
			t.Fatal(err)
		}
		link := filepath.Join(dir, "link.json")
		if err := os.Symlink(path, link); err != nil {
			t.Fatal(err)
		}
		if err := keep.File(link, []byte("through the link")); err != nil {
			t.Fatal(err)
		}
		if info, err := os.Lstat(link); err != nil || info.Mode()&os.ModeSymlink == 0 {
			t.Errorf("the link was replaced: %v, %v", info, err)
		}
		if info, err := os.Stat(path); err != nil || info.Mode().Perm() != 0o640 {
			t.Errorf("permissions %v, %v", info.Mode(), err)
		}
	}
	if err := keep.File(dir, nil); !errors.Is(err, keep.ErrNotPlain) {
		t.Errorf("a folder: %v", err)
	}
	nowhere := filepath.Join(dir, "none", "a")
	if err := keep.File(nowhere, nil); !errors.Is(err, os.ErrNotExist) || !strings.HasPrefix(err.Error(), "write "+nowhere+": ") {
		t.Errorf("no such folder: %v", err)
	}
	names, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range names {
		if filepath.Ext(n.Name()) == ".tmp" {
			t.Errorf("%s was left behind", n.Name())
		}
	}
}

// Whoever reads meanwhile sees the old file or the new one, never a part.
func TestFileIsWholeAtEveryMoment(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a")
	versions := [][]byte{bytes.Repeat([]byte("a"), 1<<16), bytes.Repeat([]byte("b"), 1<<15)}
	if err := keep.File(path, versions[0]); err != nil {
		t.Fatal(err)
	}
	done := make(chan error, 1)
	go func() {
		for i := range 100 {
			if err := keep.File(path, versions[i%2]); err != nil {
				done <- err
				return
			}
		}
		done <- nil
	}()
	for {
		select {
		case err := <-done:
			if err != nil {
				t.Fatal(err)
			}
			return
		default:
		}
		got, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(got, versions[0]) && !bytes.Equal(got, versions[1]) {
			t.Fatalf("%d bytes of neither version", len(got))
		}
	}
}
