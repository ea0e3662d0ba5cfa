package sqlite

import (
	"archive/tar"
	"bytes"
	"database/sql"
	"image"
	"image/png"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestReadingsBeginningDamaged damages the beginning of files: those that plainly were
// of readings are put aside, and all others refused and left as they are.
func TestReadingsBeginningDamaged(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	dir := t.TempDir()
	watch := filepath.Join(dir, "whole.db")
	s, err := OpenReadings(ctx, watch, Options{})
	if err != nil {
		t.Fatal(err)
	}
	list := someReadings(9100)
	if err := s.Keep(list[:9000]); err != nil {
		t.Fatal(err)
	}
	if err := s.Seal(ctx); err != nil {
		t.Fatal(err)
	}
	if err := s.Keep(list[9000:]); err != nil {
		t.Fatal(err)
	}
	wal, err := os.ReadFile(watch + "-wal")
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	whole := read(t, watch)
	damaged := func(whole []byte, from, to int, with func() byte) []byte {
		b := bytes.Clone(whole)
		for i := from; i < to; i++ {
			b[i] = with()
		}
		return b
	}
	random := rand.New(rand.NewPCG(3, 4))
	zero, any := func() byte { return 0 }, func() byte { return byte(random.Uint32()) }

	for name, b := range map[string][]byte{
		"16 zeros":          damaged(whole, 0, 16, zero),
		"512 zeros":         damaged(whole, 0, 512, zero),
		"4096 zeros":        damaged(whole, 0, 4096, zero),
		"all zeros":         damaged(whole, 0, len(whole), zero),
		"random page":       damaged(whole, 0, 1024, any),
		"four random pages": damaged(whole, 0, 4096, any),
		"no layout left":    damaged(whole, 0, 28<<10, any),
	} {
		path := filepath.Join(t.TempDir(), "watch.db")
		put(t, path, b)
		s, err := OpenReadings(ctx, path, Options{})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if err := s.Keep(list[:10]); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if err := s.Close(); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if aside := damagedFiles(t, path); len(s.Repairs()) != 1 || len(aside) == 0 || !bytes.Equal(read(t, aside[0]), b) {
			t.Errorf("%s: %q, put aside %q", name, s.Repairs(), aside)
		}
	}

	// A -wal file that has all pages mends it.
	path := filepath.Join(t.TempDir(), "watch.db")
	put(t, path, damaged(whole, 0, len(whole), any))
	put(t, path+"-wal", wal)
	if s, err = OpenReadings(ctx, path, Options{}); err != nil {
		t.Fatal(err)
	}
	if n, err := s.Count(ctx); err != nil || n != int64(len(list)) || len(s.Repairs()) > 0 {
		t.Errorf("mended it has %d readings, %v, %q", n, err, s.Repairs())
	}
	if err := s.Close(); err != nil {
		t.Error(err)
	}

	// Whatever else is there: another program's, or ours for something else.
	picture := image.NewGray(image.Rect(0, 0, 64, 64))
	for i := range picture.Pix {
		picture.Pix[i] = any()
	}
	var drawn, packed bytes.Buffer
	if err := png.Encode(&drawn, picture); err != nil {
		t.Fatal(err)
	}
	w := tar.NewWriter(&packed)
	for _, n := range []string{"one", "two"} {
		if err := w.WriteHeader(&tar.Header{Name: n, Size: int64(len(whole)), Mode: 0o600}); err != nil {
			t.Fatal(err)
		}
		if _, err := w.Write(whole); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	foreign, jobsFile := anothers(t, dir), filepath.Join(dir, "jobs.db")
	j, err := Open(ctx, jobsFile, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if err := j.Close(); err != nil {
		t.Fatal(err)
	}
	layouts, err := migrationFiles.ReadFile("migrations/readings/0002_history.sql")
	if err != nil {
		t.Fatal(err)
	}
	for name, b := range map[string][]byte{
		"picture":                      drawn.Bytes(),
		"the layout as a text":         layouts,
		"noise":                        damaged(whole, 0, len(whole), any),
		"another program's":            foreign,
		"another program's, damaged":   damaged(foreign, 100, 1024, any),
		"another program's, 512 zeros": damaged(foreign, 0, 512, zero),
		"another program's, random":    damaged(foreign, 0, 1024, any),
		"jobs":                         read(t, jobsFile),
		"jobs, random page":            damaged(read(t, jobsFile), 0, 4096, any),
		"archive":                      packed.Bytes(),
	} {
		path := filepath.Join(t.TempDir(), "watch.db")
		put(t, path, b)
		s, err := OpenReadings(ctx, path, Options{})
		if err == nil {
			s.Close()
		}
		if err == nil || strings.Contains(err.Error(), "\n") || len(damagedFiles(t, path)) > 0 || !bytes.Equal(read(t, path), b) {
			t.Errorf("%s: %v; put aside %v", name, err, damagedFiles(t, path))
		}
	}
}

// anothers is an SQLite file of another program, with so many tables that they aren't
// described in its first page alone.
func anothers(t *testing.T, dir string) []byte {
	path := filepath.Join(dir, "other.db")
	db, err := sql.Open("sqlite", "file:"+filepath.ToSlash(path)+"?_pragma=page_size(1024)")
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if _, err := db.Exec("PRAGMA application_id = 77"); err != nil {
		t.Fatal(err)
	}
	for _, n := range strings.Fields("ale beer cider gin rum tea water wine milk juice coffee cocoa") {
		if _, err := db.Exec("CREATE TABLE " + n + " (number INTEGER PRIMARY KEY, price REAL NOT NULL, name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 100), note BLOB NOT NULL)"); err != nil {
			t.Fatal(err)
		}
	}
	return read(t, path)
}

func read(t *testing.T, path string) []byte {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func put(t *testing.T, path string, b []byte) {
	t.Helper()
	if err := os.WriteFile(path, b, 0o600); err != nil {
		t.Fatal(err)
	}
}

// FuzzOursOnce looks at files that may be anything.
func FuzzOursOnce(f *testing.F) {
	f.Add([]byte(magic))
	f.Add(bytes.Repeat([]byte{tableLeaf, 0, 0, 0, 9, 0, 40, 0}, 512))
	f.Fuzz(func(t *testing.T, main []byte) {
		path := filepath.Join(t.TempDir(), "watch.db")
		put(t, path, main)
		s := &Readings{file: file{layout: watched, path: path}}
		s.oursOnce()
	})
}
