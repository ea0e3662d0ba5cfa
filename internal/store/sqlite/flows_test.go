package sqlite_test

import (
	"database/sql"
	"math"
	"path/filepath"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"gaugewright/internal/flow"
	"gaugewright/internal/store/sqlite"
	"gaugewright/internal/watch"
)

// What came in and went out is there again after the file was closed, in a backup too;
// what is told again takes the place of what was told before, and what turned out not
// to be is gone.
func TestFlows(t *testing.T) {
	ctx, folder := t.Context(), t.TempDir()
	path := filepath.Join(folder, "watch.db")
	s, err := sqlite.OpenReadings(ctx, path, sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	at := time.Date(2026, 11, 3, 10, 0, 0, 0, time.UTC)
	if f, err := s.Followed(ctx, "fresh"); err != nil || f.State != nil || !f.Until.IsZero() {
		t.Errorf("before anything was kept: %+v, %v", f, err)
	}
	refill := flow.Event{Kind: flow.Refill, Start: at, End: at.Add(9 * time.Minute), Found: at.Add(time.Minute), Amount: 0.5, Low: 0.48, High: 0.52, Before: 0.3, After: 0.8, P: 0.999}
	leak := flow.Event{Kind: flow.Leak, Start: at.Add(time.Hour), Found: at.Add(3 * time.Hour), Amount: 0.02, Low: 0.01, High: 0.03, PerHour: 0.01, Before: 0.8, After: -1, P: 0.7, Why: "It falls 'steadily'."}
	stuck := flow.Event{Kind: flow.Stuck, Start: at.Add(2 * time.Hour), End: at.Add(3 * time.Hour), Found: at.Add(3 * time.Hour), Before: -1, After: -1, P: 0.6}
	fault := flow.Event{Kind: flow.Fault, Start: at.Add(5 * time.Hour), End: at.Add(6 * time.Hour), Found: at.Add(5 * time.Hour), Before: 0.8, After: 0.8, P: 1, Fault: watch.BrokenWire}
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	must(s.KeepFlows(ctx, "fresh", sqlite.Followed{State: []byte{1, 2, 3}, Until: at.Add(3 * time.Hour)}, []flow.Event{refill, leak, stuck}, nil))
	must(s.KeepFlows(ctx, "grey'); --", sqlite.Followed{State: []byte{}, Until: at}, []flow.Event{fault}, nil))
	leak.End, leak.Amount, leak.P = at.Add(4*time.Hour), 0.03, 0.95
	must(s.KeepFlows(ctx, "fresh", sqlite.Followed{State: []byte{4}, Until: at.Add(4 * time.Hour)}, []flow.Event{leak}, []flow.Event{stuck}))
	same := func(what string, s *sqlite.Readings) {
		t.Helper()
		list, err := s.Flows(ctx, "fresh", time.Time{}, time.Time{}, 10)
		if diff := cmp.Diff([]flow.Event{leak, refill}, list); diff != "" || err != nil {
			t.Errorf("%s: %v, other than was kept:\n%s", what, err, diff)
		}
		if f, err := s.Followed(ctx, "fresh"); err != nil || len(f.State) != 1 || f.State[0] != 4 || !f.Until.Equal(at.Add(4*time.Hour)) {
			t.Errorf("%s: followed %+v, %v", what, f, err)
		}
		list, err = s.Flows(ctx, "grey'); --", time.Time{}, time.Time{}, 10)
		if diff := cmp.Diff([]flow.Event{fault}, list); diff != "" || err != nil {
			t.Errorf("%s: %v, other than was kept:\n%s", what, err, diff)
		}
	}
	same("open", s)
	must(s.Backup(ctx, filepath.Join(folder, "backup.db")))
	must(s.Close())
	for _, name := range []string{"watch.db", "backup.db"} {
		again, err := sqlite.OpenReadings(ctx, filepath.Join(folder, name), sqlite.Options{})
		must(err)
		same(name, again)
		must(again.Close())
	}
}

func TestFlowsOfAStretch(t *testing.T) {
	ctx := t.Context()
	s, err := sqlite.OpenReadings(ctx, filepath.Join(t.TempDir(), "watch.db"), sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	at := time.Date(2026, 11, 3, 10, 0, 0, 0, time.UTC)
	var all []flow.Event
	for i := range 10 {
		start := at.Add(time.Duration(i) * time.Hour)
		all = append(all, flow.Event{Kind: flow.Use, Start: start, End: start.Add(30 * time.Minute), Found: start, P: math.NaN(), Amount: math.Inf(1)})
	}
	all[9].End = time.Time{} // it goes on
	if err := s.KeepFlows(ctx, "a", sqlite.Followed{Until: at}, all, nil); err != nil {
		t.Fatal(err)
	}
	for _, test := range []struct {
		from, to time.Duration
		most, n  int
		latest   int
	}{
		{0, 10 * time.Hour, 100, 10, 9},
		{0, 10 * time.Hour, 3, 3, 9},
		{2*time.Hour + 15*time.Minute, 4 * time.Hour, 100, 2, 3}, // the one that is under way, and the next
		{2*time.Hour + 45*time.Minute, 4 * time.Hour, 100, 1, 3},
		{20 * time.Hour, 30 * time.Hour, 100, 1, 9}, // it goes on
		{-2 * time.Hour, 0, 100, 0, 0},
	} {
		list, err := s.Flows(ctx, "a", at.Add(test.from), at.Add(test.to), test.most)
		if err != nil || len(list) != test.n || test.n > 0 && !list[0].Start.Equal(all[test.latest].Start) {
			t.Errorf("%v to %v: %d of them, %v", test.from, test.to, len(list), err)
		}
	}
	// Those that are over go with the readings of their time.
	if _, err := s.Prune(ctx, sqlite.Retention{Before: at.Add(5 * time.Hour)}); err != nil {
		t.Fatal(err)
	}
	list, err := s.Flows(ctx, "a", time.Time{}, time.Time{}, 100)
	if err != nil || len(list) != 5 {
		t.Errorf("%d are left, %v; expected 5", len(list), err)
	}
}

// Of spells of use the latest thousand stay, whatever else there is; and events are given
// by their kinds.
func TestFlowsKeepUsesInBounds(t *testing.T) {
	ctx := t.Context()
	s, err := sqlite.OpenReadings(ctx, filepath.Join(t.TempDir(), "watch.db"), sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	at := time.Date(2026, 11, 3, 10, 0, 0, 0, time.UTC)
	all := []flow.Event{{Kind: flow.Refill, Start: at.Add(-time.Hour), End: at, P: 0.9}}
	for i := range 1200 {
		start := at.Add(time.Duration(i) * time.Hour)
		all = append(all, flow.Event{Kind: flow.Use, Start: start, End: start.Add(time.Minute), P: 0.9})
	}
	for _, tank := range []string{"a", "b"} {
		if err := s.KeepFlows(ctx, tank, sqlite.Followed{Until: at}, all, nil); err != nil {
			t.Fatal(err)
		}
	}
	for kinds, n := range map[*[]flow.Kind]int{{}: 1001, {flow.Use}: 1000, {flow.Refill, flow.Leak}: 1, {flow.Leak}: 0} {
		list, err := s.Flows(ctx, "a", time.Time{}, time.Time{}, 5000, *kinds...)
		if err != nil || len(list) != n || n == 1000 && !list[999].Start.Equal(all[201].Start) {
			t.Errorf("of %v there are %d, %v; expected %d", *kinds, len(list), err, n)
		}
	}
}

// What is known of a tank's use may be worked out again: damage to it is no reason not
// to start.
func TestFollowedDamaged(t *testing.T) {
	ctx, path := t.Context(), filepath.Join(t.TempDir(), "watch.db")
	s, err := sqlite.OpenReadings(ctx, path, sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if err := s.KeepFlows(ctx, "a", sqlite.Followed{State: []byte("all that is known"), Until: time.Unix(1772352000, 0)}, nil, nil); err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec("UPDATE followed SET body = zeroblob(9)"); err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	if s, err = sqlite.OpenReadings(ctx, path, sqlite.Options{}); err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	if f, err := s.Followed(ctx, "a"); err != nil || f.State != nil || !f.Until.IsZero() {
		t.Errorf("%+v, %v", f, err)
	}
}
