package sqlite_test

import (
	"bytes"
	"compress/gzip"
	"database/sql"
	"os"
	"path/filepath"
	"testing"
	"time"

	"gaugewright/internal/job"
	"gaugewright/internal/store/sqlite"
)

// A file of jobs that were kept as version 1 opens, and they are gone on with.
func TestJobsOfVersion1(t *testing.T) {
	t.Parallel()
	text, err := os.ReadFile("../../job/testdata/tidewater.job.json")
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Contains(text, []byte(`"version": 1`)) {
		t.Fatal("the sample isn't of version 1")
	}
	path := filepath.Join(t.TempDir(), "jobs.db")
	s := opened(t, path, sqlite.Options{})
	j, err := job.Read(bytes.NewReader(text), "sample")
	if err != nil {
		t.Fatal(err)
	}
	id, err := s.Start(t.Context(), "", j, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	// As the program of that time wrote it.
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	var packed bytes.Buffer
	w := gzip.NewWriter(&packed)
	if _, err := w.Write(text); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		query string
		args  []any
	}{
		{"DROP TRIGGER revision_not_updated", nil},
		{"UPDATE document SET text = ?", []any{string(text)}},
		{"UPDATE revision SET document = ?", []any{packed.Bytes()}},
	} {
		if _, err := db.Exec(c.query, c.args...); err != nil {
			t.Fatal(err)
		}
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	s = opened(t, path, sqlite.Options{})
	k, err := s.Job(t.Context(), id)
	if err != nil || k.Job.Version != job.Version || !k.Job.SameContent(j) {
		t.Fatalf("read: %+v, %v", k, err)
	}
	if was, err := s.At(t.Context(), id, 1); err != nil || !was.SameContent(j) {
		t.Errorf("as it was: %v", err)
	}
	if err := s.SetNote(t.Context(), "import/"+job.Checksum(text), string(id)); err != nil {
		t.Fatal(err)
	}
	k, err = s.Change(t.Context(), id, job.Change{Words: "doubts stated", Do: func(j *job.Job) error {
		j.Tanks[0].Bench.Doubts = &job.Doubts{MeterPct: 0.8}
		return nil
	}})
	if err != nil {
		t.Fatal(err)
	}
	out, err := job.Export(t.Context(), s, k)
	if err != nil {
		t.Fatal(err)
	}
	if first, err := out.At(1); err != nil || !first.SameContent(j) {
		t.Errorf("undone: %v", err)
	}
	// The file that it was, taken in again, isn't doubled.
	if in, err := job.TakeIn(t.Context(), s, j, time.Now()); err != nil || in.ID != id || !in.Already || !in.Changed {
		t.Errorf("taken in again: %+v, %v", in, err)
	}
}

// What was kept and can't be unpacked is told as damage.
func TestAtOfDamage(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "jobs.db")
	s := opened(t, path, sqlite.Options{})
	id, err := s.Start(t.Context(), "", sitting(t), time.Now())
	if err != nil {
		t.Fatal(err)
	}
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	for _, query := range []string{"DROP TRIGGER revision_not_updated", "UPDATE revision SET document = X'1f8b00'"} {
		if _, err := db.Exec(query); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := s.At(t.Context(), id, 1); err == nil {
		t.Error("a document that is cut was read")
	}
}
