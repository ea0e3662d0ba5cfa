package sqlite

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"gaugewright/internal/history"
	"gaugewright/internal/watch"
)

// TestReadingsCrash looks between any two statements at what a crash would leave just
// then: the file and its -wal file as they are. Opened, that has each reading that was
// kept, once, whole roll-ups of them, and nothing of what wasn't.
func TestReadingsCrash(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	dir := t.TempDir()
	path := filepath.Join(dir, "watch.db")
	now := time.Date(2026, 11, 3, 12, 0, 0, 0, time.UTC)
	options := Options{Now: func() time.Time { return now }}
	s, err := OpenReadings(ctx, path, options)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	s.most = 60
	var m shelf
	var keeping []watch.Reading // may be there already, and is from then on
	crashes := 0
	looking := false
	s.between = func() {
		if looking {
			return // a copy's own
		}
		looking = true
		defer func() { looking = false }()
		crashes++
		copied := filepath.Join(dir, fmt.Sprint("crash-", crashes, ".db"))
		for _, end := range []string{"", "-wal"} {
			data, err := os.ReadFile(path + end)
			if err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(copied+end, data, 0o600); err != nil {
				t.Fatal(err)
			}
		}
		after, err := OpenReadings(ctx, copied, options)
		if err != nil {
			t.Fatal(err)
		}
		defer os.Remove(copied)
		defer after.Close()
		if n, err := after.Count(ctx); err != nil {
			t.Fatal(err)
		} else if n > int64(len(m.kept)) {
			m.keep(keeping)
		}
		m.check(t, after)
		if len(after.Repairs()) > 0 {
			t.Fatalf("after crash %d: %q", crashes, after.Repairs())
		}
	}
	keep := func(list []watch.Reading) {
		t.Helper()
		keeping = list
		if err := s.Keep(list); err != nil {
			t.Fatal(err)
		}
		m.keep(list)
		m.check(t, s)
	}
	list := someReadings(140)
	keep(list[:1])
	for i := 1; i < 100; i += 33 { // some of it is sealed by Keep
		keep(list[i : i+33])
	}
	keep(append(list[90:120:120], list[2:5]...))
	now = now.Add(13 * time.Hour)
	if err := s.Seal(ctx); err != nil {
		t.Fatal(err)
	}
	m.check(t, s)
	keep(list[50:140])
	if err := s.Seal(ctx); err != nil {
		t.Fatal(err)
	}
	m.check(t, s)
	if crashes < 30 {
		t.Errorf("only %d crashes", crashes)
	}
}

// check fails where a file does not have what a shelf has, in readings and in roll-ups.
func (m *shelf) check(t *testing.T, s *Readings) {
	t.Helper()
	got, err := s.Recent(context.Background(), time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	if d := differs(got, m.each(time.Time{}, time.Time{}, "")); d != "" {
		t.Fatal(d)
	}
	for _, key := range m.lines {
		of := history.Line{Tank: key.tank, Source: key.source, Signal: key.signal}
		for _, buckets := range []int{2, 9000} {
			if d := m.differsIn(s, of, key, history.Stretch{From: noonTime, To: noonTime.Add(2 * time.Hour), Buckets: buckets}); d != "" {
				t.Fatal(d)
			}
		}
	}
}

var noonTime = time.Date(2026, 11, 3, 12, 0, 0, 0, time.UTC)
