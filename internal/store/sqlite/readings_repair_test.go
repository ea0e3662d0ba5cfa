package sqlite

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/watch"
)

// someReadings gives n readings of two tanks, one a second.
func someReadings(n int) []watch.Reading {
	list := make([]watch.Reading, n)
	for i := range list {
		at := time.Date(2026, 11, 3, 12, 0, i, 0, time.UTC)
		list[i] = watch.Reading{Tank: []string{"fresh", "grey"}[i%2], Source: "mqtt", Time: at, Arrived: at, Value: 100 + float64(i%70)/10}
	}
	return list
}

// writeAt writes over a part of a file.
func writeAt(t *testing.T, path string, at int64, b []byte) {
	t.Helper()
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if _, err := f.WriteAt(b, at); err != nil {
		t.Fatal(err)
	}
}

// spoil writes over a file's pages but for the first few.
func spoil(t *testing.T, path string, from int64) {
	t.Helper()
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := f.WriteAt([]byte(strings.Repeat("\xa5", int(info.Size()-from))), from); err != nil {
		t.Fatal(err)
	}
}

func damagedFiles(t *testing.T, path string) []string {
	t.Helper()
	list, err := filepath.Glob(path + ".damaged-*")
	if err != nil {
		t.Fatal(err)
	}
	return list
}

// TestReadingsPutAside opens files that are damaged in several ways.
func TestReadingsPutAside(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	whole := filepath.Join(t.TempDir(), "whole.db")
	s, err := OpenReadings(ctx, whole, Options{})
	if err != nil {
		t.Fatal(err)
	}
	list := someReadings(9000)
	if err := s.Keep(list); err != nil {
		t.Fatal(err)
	}
	if err := s.Seal(ctx); err != nil {
		t.Fatal(err)
	}
	var eventRoot int64
	if err := s.writer.QueryRow("SELECT rootpage FROM sqlite_schema WHERE name = 'event'").Scan(&eventRoot); err != nil {
		t.Fatal(err)
	}
	backups := t.TempDir()
	if err := s.Backup(ctx, filepath.Join(backups, "good.db")); err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(whole)
	if err != nil {
		t.Fatal(err)
	}
	// A newer backup, and one that is none.
	later := time.Now().Add(time.Hour)
	for name, text := range map[string][]byte{"newer.db": append(data[:len(data)/2:len(data)/2], make([]byte, len(data)/2)...), "letter.txt": []byte("none")} {
		if err := os.WriteFile(filepath.Join(backups, name), text, 0o600); err != nil {
			t.Fatal(err)
		}
		if err := os.Chtimes(filepath.Join(backups, name), later, later); err != nil {
			t.Fatal(err)
		}
	}
	hows := map[string]string{
		"pages": "damaged: a page doesn't make sense.", "short": "damaged: a page doesn't make sense.",
		"a page": "damaged: its pages don't fit together.",
		"zeros":  "damaged: its beginning doesn't make sense.", "beginning": "damaged: its beginning doesn't make sense.",
	}
	for name, hurt := range map[string]func(path string){
		"pages":     func(path string) { spoil(t, path, 2048) },
		"short":     func(path string) { _ = os.Truncate(path, int64(len(data)/2)) },
		"a page":    func(path string) { writeAt(t, path, (eventRoot-1)*1024, []byte{0}) },
		"zeros":     func(path string) { _ = os.WriteFile(path, make([]byte, len(data)), 0o600) },
		"beginning": func(path string) { _ = os.WriteFile(path, append([]byte("SQLite format 4"), data[15:]...), 0o600) },
	} {
		path := filepath.Join(t.TempDir(), "watch.db")
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
		hurt(path)
		s, err := OpenReadings(ctx, path, Options{Backups: backups})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		said := strings.Join(s.Repairs(), "\n")
		if !strings.Contains(said, "was put aside as watch.db.damaged-") || !strings.Contains(said, "The newest good backup is "+filepath.Join(backups, "good.db")) {
			t.Errorf("%s: %q", name, said)
		}
		if strings.ContainsAny(said, "\n*") || !strings.Contains(said, hows[name]) {
			t.Errorf("%s: it says %q; want it plain, and %q", name, said, hows[name])
		}
		if aside := damagedFiles(t, path); len(aside) != 1 {
			t.Errorf("%s: put aside %v", name, aside)
		}
		if err := s.Keep(list[:100]); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if n, err := s.Count(ctx); err != nil || n != 100 {
			t.Errorf("%s: %d readings, %v", name, n, err)
		}
		if err := s.Close(); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
	// The backup is whole; what isn't ours stays where it is.
	b, err := OpenReadings(ctx, filepath.Join(backups, "good.db"), Options{})
	if err != nil || len(b.Repairs()) > 0 {
		t.Fatalf("%v, %q", err, b.Repairs())
	}
	if n, err := b.Count(ctx); err != nil || n != int64(len(list)) {
		t.Errorf("the backup has %d readings, %v", n, err)
	}
	if err := b.Close(); err != nil {
		t.Error(err)
	}
	letter := filepath.Join(backups, "letter.txt")
	if s, err := OpenReadings(ctx, letter, Options{}); err == nil || len(damagedFiles(t, letter)) > 0 {
		t.Errorf("a letter was opened: %v, %v", err, s)
	}
}

// TestReadingsDamagedRow damages one row of what isn't sealed: the others are there.
func TestReadingsDamagedRow(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	path := filepath.Join(t.TempDir(), "watch.db")
	s, err := OpenReadings(ctx, path, Options{})
	if err != nil {
		t.Fatal(err)
	}
	list := someReadings(30)
	for i := range 3 {
		if err := s.Keep(list[i*10 : i*10+10]); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := s.writer.Exec("UPDATE hot SET body = CAST(substr(body, 1, 20) || x'00' || substr(body, 22) AS BLOB) WHERE number = 2"); err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if s, err = OpenReadings(ctx, path, Options{}); err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	if said := s.Repairs(); len(said) != 1 || !strings.Contains(said[0], "damaged and were put aside. Commits left out: 1.") {
		t.Errorf("%q", said)
	}
	if n, err := s.Count(ctx); err != nil || n != 20 {
		t.Errorf("%d readings, %v; want 20", n, err)
	}
	if err := s.Sound(ctx); err != nil {
		t.Error(err)
	}
	if err := s.Keep(list); err != nil { // their sender has them still
		t.Fatal(err)
	}
	if n, err := s.Count(ctx); err != nil || n != 30 {
		t.Errorf("%d readings, %v; want 30", n, err)
	}
}

// TestReadingsRenewed has the disk spoil the file while it is open: the watch goes on
// into a new one, with what wasn't sealed.
func TestReadingsRenewed(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	path := filepath.Join(t.TempDir(), "watch.db")
	s, err := OpenReadings(ctx, path, Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	list := someReadings(200)
	if err := s.Keep(list[:100]); err != nil {
		t.Fatal(err)
	}
	if _, err := s.writer.Exec("PRAGMA wal_checkpoint(TRUNCATE)"); err != nil {
		t.Fatal(err)
	}
	// It remembers pages that it read; a new connection has to read them.
	s.writer.SetMaxIdleConns(0)
	s.writer.SetMaxIdleConns(1)
	spoil(t, path, 1024)
	if err := s.Keep(list[100:]); err != nil {
		t.Fatal(err)
	}
	got, err := s.Recent(ctx, time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	var m shelf
	m.keep(list)
	if d := differs(got, m.each(time.Time{}, time.Time{}, "")); d != "" {
		t.Error(d)
	}
	if said := s.Repairs(); len(said) != 1 || !strings.Contains(said[0], "No folder of backups is known") || len(damagedFiles(t, path)) != 1 {
		t.Errorf("%q", said)
	}
	if err := s.Sound(ctx); err != nil {
		t.Error(err)
	}
}

// TestReadingsRollsAgain damages roll-ups: with the next that come to them they are made
// again from the readings, to the last digit.
func TestReadingsRollsAgain(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	s, now := openedAt(t, noonTime)
	var m shelf
	list := someReadings(3000)
	for i := 0; i < len(list); i += 1000 {
		if err := s.Keep(list[i : i+1000]); err != nil {
			t.Fatal(err)
		}
		m.keep(list[i : i+1000])
		if i == 2000 {
			if _, err := s.writer.Exec("UPDATE roll SET body = CAST(substr(body, 1, 9) || x'00' || substr(body, 11) AS BLOB)"); err != nil {
				t.Fatal(err)
			}
			if err := s.Sound(ctx); err == nil || !strings.Contains(err.Error(), "roll-ups") {
				t.Errorf("damaged roll-ups are called sound: %v", err)
			}
		}
		*now = now.Add(13 * time.Hour)
		if err := s.Seal(ctx); err != nil {
			t.Fatal(err)
		}
	}
	m.check(t, s)
	if err := s.Sound(ctx); err != nil {
		t.Error(err)
	}
	var aside int
	if err := s.writer.QueryRow("SELECT count(*) FROM aside WHERE what = 'roll'").Scan(&aside); err != nil || aside == 0 {
		t.Errorf("%d were put aside, %v", aside, err)
	}
}
