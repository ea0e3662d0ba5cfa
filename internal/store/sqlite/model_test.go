package sqlite_test

import (
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"gaugewright/internal/job"
	"gaugewright/internal/peer"
	"gaugewright/internal/store/sqlite"
	"gaugewright/internal/store/storetest"
)

// model is what a store is, as plainly as can be.
type model struct {
	ids     []job.ID // in the order of their last change
	jobs    map[job.ID]*modelJob
	started map[string]job.ID
	notes   map[string]string
}

type modelJob struct {
	customer      string
	readings      int
	place         string
	revision      int64
	made, changed time.Time
	changes       []job.Change // the newest last
}

// TestModel does anything in any order and holds the store against the model.
func TestModel(t *testing.T) {
	t.Parallel()
	// Each sequence takes dozens of writes to the disk.
	peer.Draws(t, 7)
	dir, files := t.TempDir(), 0
	sample := func() *job.Job { return storetest.Sample(t) }
	rapid.Check(t, func(t *rapid.T) {
		files++
		path := filepath.Join(dir, fmt.Sprint(files, ".db"))
		store, err := sqlite.Open(t.Context(), path, sqlite.Options{})
		if err != nil {
			t.Fatal(err)
		}
		defer func() { store.Close() }()
		m := &model{jobs: map[job.ID]*modelJob{}, started: map[string]job.ID{}, notes: map[string]string{}}
		at := time.Date(2026, 11, 3, 8, 0, 0, 0, time.UTC)
		keys := rapid.SampledFrom([]string{"", "a", "b", "c"})
		customers := rapid.SampledFrom([]string{"", "Hütte", "HUT", "hut 7", "100%"})
		anID := func(t *rapid.T) job.ID {
			return rapid.SampledFrom(append([]job.ID{"none"}, m.ids...)).Draw(t, "id")
		}
		t.Repeat(map[string]func(*rapid.T){
			"start": func(t *rapid.T) {
				key, j := keys.Draw(t, "key"), sample()
				j.Customer = customers.Draw(t, "customer")
				at = at.Add(time.Second)
				id, err := store.Start(t.Context(), key, j, at)
				if err != nil {
					t.Fatal(err)
				}
				if was, ok := m.started[key]; ok && key != "" {
					if id != was {
						t.Fatalf("key %q started %s, was %s", key, id, was)
					}
					return
				}
				if m.jobs[id] != nil {
					t.Fatalf("ID %s a second time", id)
				}
				m.started[key] = id
				m.ids = append(m.ids, id)
				m.jobs[id] = &modelJob{customer: j.Customer, readings: 2, revision: 1, made: at, changed: at}
			},
			"change": func(t *rapid.T) {
				m.change(t, store, anID(t), keys.Draw(t, "key"), customers.Draw(t, "customer"), &at)
			},
			"leave": func(t *rapid.T) {
				id, place := anID(t), rapid.String().Draw(t, "place")
				err := store.Leave(t.Context(), id, place)
				if k := m.jobs[id]; k == nil {
					if !errors.Is(err, job.ErrNoJob) {
						t.Fatalf("%v; want ErrNoJob", err)
					}
				} else if k.place = place; err != nil {
					t.Fatal(err)
				}
			},
			"note": func(t *rapid.T) {
				name, value := keys.Draw(t, "name"), rapid.String().Draw(t, "value")
				if err := store.SetNote(t.Context(), name, value); err != nil {
					t.Fatal(err)
				}
				m.notes[name] = value
			},
			"open again": func(t *rapid.T) {
				if err := store.Close(); err != nil {
					t.Fatal(err)
				}
				if store, err = sqlite.Open(t.Context(), path, sqlite.Options{}); err != nil {
					t.Fatal(err)
				}
			},
			"": func(t *rapid.T) { m.check(t, store, anID(t), customers.Draw(t, "find")) },
		})
	})
}

// change makes one change, of which some are refused.
func (m *model) change(t *rapid.T, store *sqlite.Store, id job.ID, key, customer string, at *time.Time) {
	k := m.jobs[id]
	*at = at.Add(time.Second)
	mine := errors.New("mine")
	how := rapid.SampledFrom([]string{"", "", "", "error", "no file"}).Draw(t, "how")
	c := job.Change{Key: key, At: *at, By: "someone", Words: customer}
	if k != nil {
		c.Revision = rapid.SampledFrom([]int64{0, k.revision, k.revision, k.revision - 1, k.revision + 1}).Draw(t, "revision")
	}
	c.Do = func(j *job.Job) error {
		j.Customer = customer
		b := &j.Tanks[0].Bench
		b.Readings = append(b.Readings, b.Readings[0])
		switch how {
		case "error":
			return mine
		case "no file":
			j.Number = ""
		}
		return nil
	}
	got, err := store.Change(t.Context(), id, c)
	var wrong *job.FileError
	switch {
	case k == nil:
		if !errors.Is(err, job.ErrNoJob) {
			t.Fatalf("%v; want ErrNoJob", err)
		}
		return
	case key != "" && slices.ContainsFunc(k.changes, func(c job.Change) bool { return c.Key == key }):
	case c.Revision != 0 && c.Revision != k.revision:
		if !errors.Is(err, job.ErrMoved) {
			t.Fatalf("%v; want ErrMoved", err)
		}
		return
	case how == "error":
		if !errors.Is(err, mine) {
			t.Fatalf("%v; want what Do said", err)
		}
		return
	case how == "no file":
		if !errors.As(err, &wrong) {
			t.Fatalf("%v; want what Encode says", err)
		}
		return
	default:
		c.Revision = k.revision
		k.customer, k.readings, k.revision, k.changed = customer, k.readings+1, k.revision+1, *at
		k.changes = append(k.changes, c)
		m.ids = append(slices.DeleteFunc(m.ids, func(other job.ID) bool { return other == id }), id)
	}
	if err != nil {
		t.Fatal(err)
	}
	k.same(t, got)
}

// same holds a job against the model.
func (k *modelJob) same(t *rapid.T, got *job.Kept) {
	if got.Revision != k.revision || got.Place != k.place || !got.Made.Equal(k.made) || !got.Changed.Equal(k.changed) ||
		got.Job.Customer != k.customer || len(got.Job.Tanks[0].Bench.Readings) != k.readings {
		t.Fatalf("%+v of %q with %d readings; want %+v", got, got.Job.Customer, len(got.Job.Tanks[0].Bench.Readings), k)
	}
}

// check asks for everything of one job, and for the list.
func (m *model) check(t *rapid.T, store *sqlite.Store, id job.ID, find string) {
	got, err := store.Job(t.Context(), id)
	n, revisionErr := store.Revision(t.Context(), id)
	limit := rapid.IntRange(0, 5).Draw(t, "limit")
	list, historyErr := store.History(t.Context(), id, limit)
	if k := m.jobs[id]; k == nil {
		for _, err := range []error{err, revisionErr, historyErr} {
			if !errors.Is(err, job.ErrNoJob) {
				t.Fatalf("%v; want ErrNoJob", err)
			}
		}
	} else {
		if err := errors.Join(err, revisionErr, historyErr); err != nil || n != k.revision || len(list) != min(limit, len(k.changes)) {
			t.Fatalf("revision %d, %d changes, %v; want %+v", n, len(list), err, k)
		}
		k.same(t, got)
		for i, c := range list {
			want := k.changes[len(k.changes)-1-i]
			if c.Key != want.Key || c.Revision != want.Revision || !c.At.Equal(want.At) || c.By != want.By || c.Words != want.Words {
				t.Fatalf("change %d from the end is %+v; want %+v", i, c, want)
			}
		}
	}
	for name, value := range m.notes {
		if got, err := store.Note(t.Context(), name); err != nil || got != value {
			t.Fatalf("note %q is %q, %v; want %q", name, got, err, value)
		}
	}
	var want []job.ID
	for _, id := range slices.Backward(m.ids) {
		if strings.Contains(strings.ToLower(m.jobs[id].customer), strings.ToLower(find)) {
			want = append(want, id)
		}
	}
	cards, all, err := store.Jobs(t.Context(), find, limit)
	if err != nil || all != len(want) || len(cards) != min(limit, all) {
		t.Fatalf("%q finds %d, of them %d, %v; want %d", find, all, len(cards), err, len(want))
	}
	for i, c := range cards {
		if k := m.jobs[c.ID]; c.ID != want[i] || c.Revision != k.revision || c.Customer != k.customer || c.Place != k.place || !c.Changed.Equal(k.changed) {
			t.Fatalf("card %d is %+v; want %s, %+v", i, c, want[i], k)
		}
	}
}
