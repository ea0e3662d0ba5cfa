package sqlite

import (
	"database/sql"
	"errors"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/job"
	"gaugewright/internal/watch"
)

// limitedReadings is limited for a file of readings.
func limitedReadings(t *testing.T, s *Readings, more int) {
	t.Helper()
	limited(t, &Store{file: file{writer: s.writer}}, more)
}

// TestReadingsFull fills the disk: nothing of what doesn't fit is kept, it is
// said so, and with room again the same is kept once.
func TestReadingsFull(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	s, err := OpenReadings(ctx, filepath.Join(t.TempDir(), "watch.db"), Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	list := make([]watch.Reading, 3*batchReadings) // several rows
	for i := range list {
		list[i] = watch.Reading{Tank: "fresh", Source: "mqtt", Time: time.Unix(1.7e9+int64(i), 0), Value: float64(i)}
	}
	if err := s.Keep(list[:1]); err != nil {
		t.Fatal(err)
	}
	for _, room := range []int{0, 3, 10} { // in the first row, and in a later one
		limitedReadings(t, s, room)
		err := s.Keep(list)
		if !errors.Is(err, job.ErrFull) || !errors.Is(err, ErrNoRoom) || errors.Is(err, ErrReadOnly) || !strings.Contains(err.Error(), "make room and try again") {
			t.Fatalf("%v; want ErrFull", err)
		}
		if n, err := s.Count(ctx); err != nil || n != 1 {
			t.Fatalf("%d readings, %v; want 1", n, err)
		}
	}
	limitedReadings(t, s, 1000)
	if err := s.Keep(list); err != nil {
		t.Fatal(err)
	}
	if n, err := s.Count(ctx); err != nil || n != int64(len(list)) {
		t.Fatalf("%d readings, %v; want %d", n, err, len(list))
	}
	if err := s.Sound(ctx); err != nil {
		t.Error(err)
	}
}

// TestReadingsLocked has another program keep the file to itself, and then let
// go of it; and one that only reads, which is in nobody's way.
func TestReadingsLocked(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "watch.db")
	s, err := OpenReadings(t.Context(), path, Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	list := []watch.Reading{{Tank: "fresh", Time: time.Unix(1.7e9, 0)}}
	other, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer other.Close()
	reader, err := other.Conn(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	defer reader.Close()
	if _, err := reader.ExecContext(t.Context(), "BEGIN; SELECT * FROM hot"); err != nil {
		t.Fatal(err)
	}
	if err := s.Keep(list); err != nil {
		t.Fatalf("beside a reader: %v", err)
	}
	writer, err := other.Conn(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	defer writer.Close()
	if _, err := writer.ExecContext(t.Context(), "BEGIN IMMEDIATE"); err != nil {
		t.Fatal(err)
	}
	if err := s.Keep(list); err == nil || !strings.Contains(err.Error(), "another program has had the file of readings") {
		t.Errorf("%v", err)
	}
	if _, err := writer.ExecContext(t.Context(), "ROLLBACK"); err != nil {
		t.Fatal(err)
	}
	if err := s.Keep(list); err != nil {
		t.Error(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if err := s.Keep(list); err == nil || !strings.Contains(err.Error(), "has been closed") {
		t.Errorf("closed: %v", err)
	}
}
