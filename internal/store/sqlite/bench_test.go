package sqlite_test

import (
	"context"
	"database/sql"
	"fmt"
	"math"
	"path/filepath"
	"testing"
	"time"

	"gaugewright/internal/job"
	"gaugewright/internal/store/sqlite"
)

// sitting gives a job of three tanks with forty readings each, as a sitting at
// the bench leaves it. Every figure is invented.
func sitting(tb testing.TB) *job.Job {
	tb.Helper()
	j, err := job.ReadFile("../../job/testdata/tidewater.job.json")
	if err != nil {
		tb.Fatal(err)
	}
	dial := j.Tanks[0]
	j.Tanks = nil
	for _, name := range []string{"Gas left", "Gas right", "Gas spare"} {
		t := dial
		t.Name, t.Bench.Readings = name, nil
		for i := range 40 {
			t.Bench.Readings = append(t.Bench.Readings, taken(i))
		}
		j.Tanks = append(j.Tanks, t)
	}
	return j
}

// taken gives the reading of a number.
func taken(i int) job.Reading {
	mark := float64(i%10) * 10
	ohm := math.Round((0.4+mark*0.9+0.1*float64(i/10%4))*10) / 10
	return job.Reading{
		MarkPct: &mark, Ohm: ohm, Sweep: []string{"up", "down"}[i/10%2],
		Time: time.Date(2026, 11, 3, 10, 0, i, 0, time.UTC).Format(time.RFC3339),
	}
}

func opened(tb testing.TB, path string, o sqlite.Options) *sqlite.Store {
	tb.Helper()
	s, err := sqlite.Open(context.Background(), path, o)
	if err != nil {
		tb.Fatal(err)
	}
	tb.Cleanup(func() {
		if err := s.Close(); err != nil {
			tb.Error(err)
		}
	})
	return s
}

// BenchmarkChange takes one reading and takes it back again by turns, so that
// the job stays as large as it is.
func BenchmarkChange(b *testing.B) {
	ctx := context.Background()
	s := opened(b, filepath.Join(b.TempDir(), "jobs.db"), sqlite.Options{})
	id, err := s.Start(ctx, "", sitting(b), time.Now())
	if err != nil {
		b.Fatal(err)
	}
	for n := 0; b.Loop(); n++ {
		_, err := s.Change(ctx, id, job.Change{Key: fmt.Sprint("take ", n), At: time.Now(), By: "bench", Words: "taken: 40 %, 36.2 Ω", Do: func(j *job.Job) error {
			t := &j.Tanks[n%3]
			if len(t.Bench.Readings) > 40 {
				t.Bench.Readings = t.Bench.Readings[:40]
			}
			t.Bench.Readings = append(t.Bench.Readings, taken(n))
			return nil
		}})
		if err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkJob(b *testing.B) {
	ctx := context.Background()
	s := opened(b, filepath.Join(b.TempDir(), "jobs.db"), sqlite.Options{})
	id, err := s.Start(ctx, "", sitting(b), time.Now())
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := s.Job(ctx, id); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkRevision(b *testing.B) {
	ctx := context.Background()
	s := opened(b, filepath.Join(b.TempDir(), "jobs.db"), sqlite.Options{})
	id, err := s.Start(ctx, "", sitting(b), time.Now())
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := s.Revision(ctx, id); err != nil {
			b.Fatal(err)
		}
	}
}

// many gives a store of n jobs, each a copy of the same but for its name.
func many(b *testing.B, n int) *sqlite.Store {
	b.Helper()
	path := filepath.Join(b.TempDir(), "jobs.db")
	s := opened(b, path, sqlite.Options{})
	if _, err := s.Start(context.Background(), "", sitting(b), time.Now()); err != nil {
		b.Fatal(err)
	}
	db, err := sql.Open("sqlite", path)
	if err != nil {
		b.Fatal(err)
	}
	defer db.Close()
	// Their documents are left out: the list doesn't look at them.
	_, err = db.Exec(`WITH RECURSIVE n (i) AS (SELECT 2 UNION ALL SELECT i + 1 FROM n WHERE i < ?)
		INSERT INTO job SELECT id || i, 1, '', 'job ' || i, customer || ' ' || i, vehicle, date, 'job ' || i || char(10) || search, tanks, made, changed, last + i
		FROM job, n`, n)
	if err != nil {
		b.Fatal(err)
	}
	return s
}

func benchmarkJobs(b *testing.B, n int, find string, limit, want int) {
	s := many(b, n)
	for b.Loop() {
		cards, all, err := s.Jobs(context.Background(), find, limit)
		if err != nil || all != want || len(cards) != min(limit, want) {
			b.Fatalf("%d of %d, %v; want %d", len(cards), all, err, want)
		}
	}
}

func BenchmarkJobs1000(b *testing.B) {
	b.Run("first 50", func(b *testing.B) { benchmarkJobs(b, 1000, "", 50, 1000) })
	b.Run("all", func(b *testing.B) { benchmarkJobs(b, 1000, "", 1000, 1000) })
	b.Run("find one", func(b *testing.B) { benchmarkJobs(b, 1000, "tidewater 777", 50, 1) })
	b.Run("find all", func(b *testing.B) { benchmarkJobs(b, 1000, "KITCHEN gas", 50, 1000) })
}

func BenchmarkJobs20000(b *testing.B) {
	b.Run("first 50", func(b *testing.B) { benchmarkJobs(b, 20_000, "", 50, 20_000) })
	b.Run("find one", func(b *testing.B) { benchmarkJobs(b, 20_000, "tidewater 7777", 50, 2) })
	b.Run("find all", func(b *testing.B) { benchmarkJobs(b, 20_000, "KITCHEN gas", 50, 20_000) })
}
