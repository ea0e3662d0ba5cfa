package sqlite

import (
	"math"
	"os"
	"path/filepath"
	"testing"
	"time"

	"gaugewright/internal/watch"
)

// layout1Readings are what testdata/watch-layout-1.db has, in eleven batches: it
// was written by the program of the time when a file of readings was of that
// layout.
func layout1Readings() [][]watch.Reading {
	var batches [][]watch.Reading
	at := time.Date(2026, 10, 2, 8, 0, 0, 0, time.UTC)
	for b := range 10 {
		var list []watch.Reading
		for i := range 30 {
			at = at.Add(333_333_333 * time.Nanosecond)
			r := watch.Reading{
				Tank: []string{"fresh", "grey", "gas"}[i%3], Source: []string{"mqtt", "can/bay"}[b%2], Time: at, Arrived: at.Add(1234 * time.Millisecond), Value: 100 + 3*math.Sin(float64(b*30+i)),
			}
			switch i {
			case 3:
				r.Tilt = &watch.Tilt{Pitch: 0.0123456, Roll: -0.5}
			case 4:
				r.Arrived = r.Time
			case 5:
				r.Arrived = time.Time{}
			case 6:
				r.Signal, r.Said, r.Clock = watch.Percent, watch.Broken, watch.ArrivalClock
			case 7:
				r.Value = math.NaN()
			case 8:
				r.Value = math.Inf(1)
			case 9:
				r.Value = 1e300
			case 10:
				r.Time = time.Date(1931, 5, 6, 7, 8, b, 0, time.UTC)
			}
			list = append(list, r)
		}
		batches = append(batches, list)
	}
	return append(batches, batches[2]) // what came twice was kept twice
}

// TestReadingsOfLayout1 opens a file of the layout before: each reading is there,
// rounded, and those that were there twice are there once.
func TestReadingsOfLayout1(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "watch.db")
	file, err := os.ReadFile("testdata/watch-layout-1.db")
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, file, 0o600); err != nil {
		t.Fatal(err)
	}
	var m shelf
	for _, batch := range layout1Readings() {
		m.keep(batch)
	}
	if len(m.kept) != 300 {
		t.Fatalf("%d readings; want 300", len(m.kept))
	}
	for range 2 {
		s, err := OpenReadings(t.Context(), path, Options{})
		if err != nil {
			t.Fatal(err)
		}
		got, err := s.Recent(t.Context(), time.Time{})
		if err != nil {
			t.Fatal(err)
		}
		if d := differs(got, m.each(time.Time{}, time.Time{}, "")); d != "" {
			t.Fatal(d)
		}
		var batches int
		if err := s.writer.QueryRow("SELECT count(*) FROM sqlite_schema WHERE name LIKE 'batch%'").Scan(&batches); err != nil || batches != 0 {
			t.Errorf("%d of the old tables, %v", batches, err)
		}
		if err := s.Sound(t.Context()); err != nil {
			t.Error(err)
		}
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
	}
}
