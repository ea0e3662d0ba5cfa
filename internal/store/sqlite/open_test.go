package sqlite_test

import (
	"bytes"
	"context"
	"database/sql"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"

	"gaugewright/internal/job"
	"gaugewright/internal/store/sqlite"
	"gaugewright/internal/store/storetest"
)

// refused fails unless the file is refused in words that hold all the texts.
func refused(t *testing.T, path string, texts ...string) {
	t.Helper()
	s, err := sqlite.Open(t.Context(), path, sqlite.Options{})
	if err == nil {
		s.Close()
		t.Errorf("%s was opened", path)
		return
	}
	for _, text := range texts {
		if !strings.Contains(err.Error(), text) {
			t.Errorf("%s: %v; want %q in it", path, err, text)
		}
	}
}

// filled makes a closed file of some jobs.
func filled(t *testing.T, path string, jobs int) {
	t.Helper()
	s := opened(t, path, sqlite.Options{})
	for i := range jobs {
		j := storetest.Sample(t)
		j.Number = fmt.Sprint("job ", i)
		if _, err := s.Start(t.Context(), "", j, time.Now()); err != nil {
			t.Fatal(err)
		}
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
}

// altered runs SQL on a closed file.
func altered(t *testing.T, path string, queries ...string) {
	t.Helper()
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	for _, q := range queries {
		if _, err := db.Exec(q); err != nil {
			t.Fatalf("%s: %v", q, err)
		}
	}
}

func TestOpenRefuses(t *testing.T) {
	dir := t.TempDir()
	at := func(name string) string { return filepath.Join(dir, name) }
	write := func(name string, data []byte) string {
		t.Helper()
		if err := os.WriteFile(at(name), data, 0o600); err != nil {
			t.Fatal(err)
		}
		return at(name)
	}
	refused(t, "", "no name")
	refused(t, dir, dir+" is a folder", "jobs.db")
	refused(t, filepath.Join(write("plain", []byte("x")), "jobs.db"), "not a directory")
	if runtime.GOOS != "windows" {
		refused(t, os.DevNull, "is a device", "plain file")
	}
	for _, text := range []string{"not a database", strings.Repeat("garbage\n", 5000), "SQLite format 3\x00" + strings.Repeat("\xff", 8000)} {
		path := write("garbage", []byte(text))
		refused(t, path, path, "is not a file of jobs", "backup")
		if now, err := os.ReadFile(path); err != nil || string(now) != text {
			t.Errorf("a file that was refused was changed: %v", err)
		}
	}

	filled(t, at("good.db"), 30)
	good, err := os.ReadFile(at("good.db"))
	if err != nil {
		t.Fatal(err)
	}
	for _, size := range []int{50, 100, 3000, 4096, 20_000, len(good) / 2, len(good) - 4096, len(good) - 1} {
		path := write(fmt.Sprint("cut", size, ".db"), good[:size])
		refused(t, path, path, "damaged", "backup in its place")
		if now, err := os.ReadFile(path); err != nil || !bytes.Equal(now, good[:size]) {
			t.Errorf("a file that was refused was changed: %v", err)
		}
	}
	spoilt := bytes.Clone(good)
	copy(spoilt[5*4096:], strings.Repeat("\x00\xff", 2048))
	refused(t, write("spoilt.db", spoilt), "damaged", "backup in its place")

	newer := write("newer.db", good)
	altered(t, newer, "PRAGMA user_version = 99")
	refused(t, newer, newer, "newer version", "its layout is 99", "nothing was changed")

	other := at("other.db")
	altered(t, other, "CREATE TABLE x (y)", "INSERT INTO x VALUES (1)")
	refused(t, other, other, "another program", "nothing was changed")
	if _, err := os.Stat(other + "-wal"); err == nil {
		t.Error("another program's file was put in write-ahead mode")
	}
	opened(t, at("good.db"), sqlite.Options{}) // after all that
}

func TestOpenMakesFile(t *testing.T) {
	dir, err := filepath.EvalSymlinks(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"jobs.db", "a b%20c?d#e&ü.db", "file:x", ":memory:", filepath.Join("one", "two", "jobs.db")} {
		if runtime.GOOS == "windows" && strings.ContainsAny(name, "?:") {
			continue
		}
		path := filepath.Join(dir, name)
		s := opened(t, path, sqlite.Options{})
		if s.Path() != path {
			t.Errorf("path %q; want %q", s.Path(), path)
		}
		if err := s.SetNote(t.Context(), "n", name); err != nil {
			t.Fatal(err)
		}
		for _, f := range []string{path, path + "-wal", path + "-shm"} {
			info, err := os.Stat(f)
			if err != nil {
				t.Error(err)
			} else if runtime.GOOS != "windows" && info.Mode().Perm() != 0o600 {
				t.Errorf("%s has permissions %v; want those of its owner only", f, info.Mode())
			}
		}
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
		if _, err := os.Stat(path + "-wal"); err == nil {
			t.Errorf("closing left %s-wal", path)
		}
		again := opened(t, path, sqlite.Options{})
		if got, err := again.Note(t.Context(), "n"); err != nil || got != name {
			t.Errorf("opened again: %q, %v", got, err)
		}
	}
	for _, folder := range []string{"one", filepath.Join("one", "two")} {
		info, err := os.Stat(filepath.Join(dir, folder))
		if err != nil || runtime.GOOS != "windows" && info.Mode().Perm() != 0o700 {
			t.Errorf("folder %s: %v, %v", folder, info.Mode(), err)
		}
	}
	// A path that is relative stays the same file when the program goes elsewhere.
	t.Chdir(dir)
	s := opened(t, "relative.db", sqlite.Options{})
	t.Chdir(filepath.Join(dir, "one"))
	if err := s.SetNote(t.Context(), "n", "v"); err != nil {
		t.Error(err)
	}
	if _, err := os.Stat(filepath.Join(dir, "relative.db")); err != nil || s.Path() != filepath.Join(dir, "relative.db") {
		t.Errorf("%s: %v", s.Path(), err)
	}
}

// TestOpenByLink has a file be the same by whatever name, while it is in use.
func TestOpenByLink(t *testing.T) {
	dir, err := filepath.EvalSymlinks(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	path, link := filepath.Join(dir, "jobs.db"), filepath.Join(dir, "link.db")
	s := opened(t, path, sqlite.Options{})
	for i := range 50 { // what was kept is in the -wal file, which is much longer than the main one
		if _, err := s.Start(t.Context(), "", storetest.Sample(t), time.Now()); err != nil {
			t.Fatal(i, err)
		}
	}
	if err := os.Symlink(path, link); err != nil {
		t.Skip("no symbolic links here: ", err)
	}
	by := opened(t, link, sqlite.Options{})
	if _, all, err := by.Jobs(t.Context(), "", 0); err != nil || all != 50 || by.Path() != path {
		t.Errorf("by the link %s: %d jobs, %v", by.Path(), all, err)
	}
}

// TestOpenOlder opens a file as the first layout had it.
func TestOpenOlder(t *testing.T) {
	path := filepath.Join(t.TempDir(), "jobs.db")
	filled(t, path, 3)
	altered(t, path, "DROP TABLE session", "DELETE FROM migration WHERE name = '0002_sessions'", "PRAGMA user_version = 1")
	var log bytes.Buffer
	s := opened(t, path, sqlite.Options{Log: slog.New(slog.NewTextHandler(&log, nil))})
	if err := s.Sessions().Commit("t", nil, time.Now().Add(time.Hour)); err != nil {
		t.Error(err)
	}
	if _, all, err := s.Jobs(t.Context(), "", 0); err != nil || all != 3 {
		t.Errorf("%d jobs, %v", all, err)
	}
	if n := strings.Count(log.String(), "new layout"); n != 1 || !strings.Contains(log.String(), "step=0002_sessions") {
		t.Errorf("the log says %s", log.String())
	}
	// A step that fails leaves nothing of itself, and the file as it was.
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	altered(t, path, "DROP TABLE session", "DELETE FROM migration WHERE name = '0002_sessions'", "PRAGMA user_version = 1",
		"CREATE TABLE session_expires (in_the_way)")
	refused(t, path, "step 0002_sessions", "session_expires")
	altered(t, path, "DROP TABLE session_expires", "CREATE TABLE session (nothing_is_left_of_it)", "DROP TABLE session")
	opened(t, path, sqlite.Options{})
}

// TestOpenAtOnce has many open a file that isn't there yet, as processes that
// start together do.
func TestOpenAtOnce(t *testing.T) {
	path := filepath.Join(t.TempDir(), "new", "jobs.db")
	var wg sync.WaitGroup
	for i := range 8 {
		wg.Go(func() {
			s, err := sqlite.Open(t.Context(), path, sqlite.Options{})
			if err != nil {
				t.Error(err)
				return
			}
			defer s.Close()
			if err := s.SetNote(t.Context(), fmt.Sprint(i), "here"); err != nil {
				t.Error(err)
			}
		})
	}
	wg.Wait()
	s := opened(t, path, sqlite.Options{})
	for i := range 8 {
		if got, err := s.Note(t.Context(), fmt.Sprint(i)); err != nil || got != "here" {
			t.Errorf("note %d: %q, %v", i, got, err)
		}
	}
}

// TestCloseWaits has a change that is under way be kept.
func TestCloseWaits(t *testing.T) {
	path := filepath.Join(t.TempDir(), "jobs.db")
	s := opened(t, path, sqlite.Options{})
	id, err := s.Start(t.Context(), "", storetest.Sample(t), time.Now())
	if err != nil {
		t.Fatal(err)
	}
	closed := make(chan error, 1)
	if _, err := s.Change(t.Context(), id, job.Change{Do: func(j *job.Job) error {
		go func() { closed <- s.Close() }()
		select {
		case err := <-closed:
			t.Errorf("closed in the midst of a change: %v", err)
		case <-time.After(50 * time.Millisecond):
		}
		return nil
	}}); err != nil {
		t.Error(err)
	}
	if err := <-closed; err != nil {
		t.Error(err)
	}
	if n, err := opened(t, path, sqlite.Options{}).Revision(t.Context(), id); err != nil || n != 2 {
		t.Errorf("revision %d, %v; want 2", n, err)
	}
}

func TestClose(t *testing.T) {
	s := opened(t, filepath.Join(t.TempDir(), "jobs.db"), sqlite.Options{})
	for range 3 {
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
	}
	ctx := context.Background()
	_, of := s.Job(ctx, "x")
	_, _, jobs := s.Jobs(ctx, "", 1)
	_, change := s.Change(ctx, "x", job.Change{})
	for method, err := range map[string]error{"Job": of, "Jobs": jobs, "Change": change, "SetNote": s.SetNote(ctx, "n", "v")} {
		if err == nil || !strings.HasSuffix(err.Error(), s.Path()+" has been closed") {
			t.Errorf("%s afterwards: %v", method, err)
		}
	}
	ended, cancel := context.WithCancel(ctx)
	cancel()
	if _, err := sqlite.Open(ended, filepath.Join(t.TempDir(), "jobs.db"), sqlite.Options{}); err == nil {
		t.Error("opened with a context that has ended")
	}
}
