package sqlite

import (
	"context"
	"path/filepath"
	"testing"
	"time"

	"gaugewright/internal/alarm"
)

// Alarms come back as they stood, with what they did; what is handed over twice counts
// once, and what can't be read is left out.
func TestAlarmsAreKept(t *testing.T) {
	ctx := context.Background()
	path := filepath.Join(t.TempDir(), "watch.db")
	s, err := OpenReadings(ctx, path, Options{})
	if err != nil {
		t.Fatal(err)
	}
	at := time.Date(2026, 11, 26, 2, 10, 0, 5e6, time.UTC)
	p := alarm.NewPoint("gas/leak")
	m, _ := p.Do(alarm.Event{Act: alarm.Raise, Time: at, Began: at.Add(-time.Hour), What: "Gas leaks."})
	other := alarm.NewPoint("fresh/low")
	m2, _ := other.Do(alarm.Event{Act: alarm.Shelve, Time: at, Until: at.Add(time.Hour), By: "Robin"})
	for range 2 {
		if err := s.KeepAlarms(ctx, []alarm.Point{p, other}, []alarm.Move{m, m2}, nil); err != nil {
			t.Fatal(err)
		}
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if s, err = OpenReadings(ctx, path, Options{}); err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	list, err := s.Alarms(ctx)
	if err != nil || len(list) != 2 || list[1] != p || list[0] != other {
		t.Fatalf("%+v, %v; wrote %+v", list, err, p)
	}
	moves, err := s.Moves(ctx, "", 10)
	if err != nil || len(moves) != 2 || moves[0] != m2 || moves[1] != m {
		t.Fatalf("%+v, %v", moves, err)
	}
	if moves, err = s.Moves(ctx, "gas/leak", 10); err != nil || len(moves) != 1 || moves[0] != m {
		t.Fatalf("%+v, %v", moves, err)
	}
	if _, err := s.writer.Exec("UPDATE alarm SET body = '{\"id\":\"gas/leak\",\"state\":\"shelved\"}' WHERE id = 'gas/leak'"); err != nil {
		t.Fatal(err)
	}
	if list, err = s.Alarms(ctx); err != nil || len(list) != 1 {
		t.Fatalf("a row that can't be: %+v, %v", list, err)
	}
	if err := s.KeepAlarms(ctx, nil, nil, []string{"fresh/low", "gas/leak"}); err != nil {
		t.Fatal(err)
	}
	if list, err = s.Alarms(ctx); err != nil || len(list) != 0 {
		t.Fatalf("%+v, %v", list, err)
	}
}

// All of it or nothing: what can't be written leaves neither a state nor a move.
func TestAlarmsAreKeptWhollyOrNot(t *testing.T) {
	ctx := context.Background()
	s, err := OpenReadings(ctx, filepath.Join(t.TempDir(), "watch.db"), Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	p := alarm.NewPoint("gas/leak")
	m, _ := p.Do(alarm.Event{Act: alarm.Raise, Time: time.Now(), What: "Gas leaks."})
	if _, err := s.writer.Exec("CREATE TRIGGER no BEFORE INSERT ON alarm_move BEGIN SELECT RAISE(ABORT, 'no'); END"); err != nil {
		t.Fatal(err)
	}
	if err := s.KeepAlarms(ctx, []alarm.Point{p}, []alarm.Move{m}, nil); err == nil {
		t.Fatal("kept")
	}
	if list, err := s.Alarms(ctx); err != nil || len(list) != 0 {
		t.Fatalf("%+v, %v", list, err)
	}
}
