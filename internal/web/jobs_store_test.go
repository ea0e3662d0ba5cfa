package web

import (
	"context"
	"fmt"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/job"
	"gaugewright/internal/store/sqlite"
)

// onDisk opens the store that a workshop has.
func onDisk(t testing.TB) job.Store {
	t.Helper()
	s, err := sqlite.Open(context.Background(), filepath.Join(t.TempDir(), "jobs.db"), sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s
}

// The pages of jobs work on a disk as they do in memory.
func TestJobsOnDisk(t *testing.T) {
	b := open(t, func(o *Options) { o.Store = onDisk(t) })
	file := fileOf(t, sample(t))
	b.upload("a.json", file)
	_, text := b.upload("b.json", file)
	b.wants(text, "Here already: a job of this number with the same content.")
	_, text = b.get("/?find=tidewater+2026")
	b.wants(text, "1 job found.")
	_, text = b.post("/jobs", "find", "Hut", "key", "once")
	b.wants(text, `value="TK-2025-001"`)
	b.post("/jobs", "find", "Hut", "key", "once")
	_, text = b.get("/?find=" + strings.Repeat("a+b+c+", 60))
	b.wants(text, "No job has all of that")
	var words []string
	for i := range 140 {
		words = append(words, string(rune('a'+i%26))+string(rune('0'+i/26)))
	}
	if status, _ := b.get("/?find=" + strings.Join(words, "+")); status != 200 {
		t.Errorf("more words than a store takes: %d", status)
	}
	if b.count() != 2 {
		t.Errorf("%d jobs; expected 2", b.count())
	}
}

func BenchmarkJobsPageOnDisk(b *testing.B) {
	store := onDisk(b)
	for i := range 1000 {
		j := &job.Job{Number: fmt.Sprintf("2025-%03d", i), Customer: "Tidewater Kitchen", Vehicle: "trailer", Date: "2025-11-02",
			Tanks: []job.Tank{{Name: "Gas", Contents: job.LPG}, {Name: "Water", Contents: job.Water}}}
		if _, err := store.Start(context.Background(), "", j, sunday); err != nil {
			b.Fatal(err)
		}
	}
	s, err := New(Options{Store: store, Now: func() time.Time { return sunday }})
	if err != nil {
		b.Fatal(err)
	}
	b.Run("list", func(b *testing.B) { benchmarkGet(b, s, "/") })
	b.Run("find", func(b *testing.B) { benchmarkGet(b, s, "/?find=tide+trailer") })
	b.Run("number", func(b *testing.B) {
		for b.Loop() {
			if got := s.nextNumber(context.Background(), sunday); got != "2025-1000" {
				b.Fatal(got)
			}
		}
	})
}
