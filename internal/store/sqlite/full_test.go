package sqlite

import (
	"context"
	"database/sql"
	sqldriver "database/sql/driver"
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"testing"
	"time"

	driver "modernc.org/sqlite"

	"gaugewright/internal/job"
	"gaugewright/internal/store/storetest"
)

// limited lets the file have no more pages than it has (and some). SQLite then
// says what it says of a full disk, with the same code.
func limited(t *testing.T, s *Store, more int) {
	t.Helper()
	var pages, limit int
	if err := s.writer.QueryRow("PRAGMA page_count").Scan(&pages); err != nil {
		t.Fatal(err)
	}
	if err := s.writer.QueryRow(fmt.Sprintf("PRAGMA max_page_count = %d", pages+more)).Scan(&limit); err != nil || limit != pages+more {
		t.Fatalf("%d pages at most, %v; want %d", limit, err, pages+more)
	}
}

func TestFull(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	path := filepath.Join(t.TempDir(), "jobs.db")
	s, err := Open(ctx, path, Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	id, err := s.Start(ctx, "first", storetest.Sample(t), time.Now())
	if err != nil {
		t.Fatal(err)
	}
	was, err := s.Job(ctx, id)
	if err != nil {
		t.Fatal(err)
	}
	// A note this long needs pages of its own.
	long := strings.Repeat("note ", 900)
	c := job.Change{Key: "k", Words: "a long note", By: strings.Repeat("by", 20_000), Do: func(j *job.Job) error { j.Note = long; return nil }}
	another := storetest.Sample(t)
	another.Note = long
	full := func(what string, err error) {
		t.Helper()
		var of *driver.Error
		if !errors.Is(err, job.ErrFull) || !errors.As(err, &of) || of.Code()&0xff != 13 {
			t.Fatalf("%s: %v; want ErrFull by SQLITE_FULL", what, err)
		}
		if want := what + " can't be written to the disk of " + path + ": database or disk is full; nothing kept before is lost"; !strings.HasPrefix(err.Error(), want) {
			t.Errorf("%v\nwant %s", err, want)
		}
	}
	for range 3 {
		limited(t, s, 0)
		_, err = s.Change(ctx, id, c)
		full("the change", err)
		limited(t, s, 0)
		_, err = s.Start(ctx, "second", another, time.Now())
		full("the new job", err)
		limited(t, s, 0)
		full("the note", s.SetNote(ctx, "n", strings.Repeat(long, 10)))
		k, err := s.Job(ctx, id)
		if err != nil || k.Revision != was.Revision || k.Job.Note != was.Job.Note {
			t.Errorf("after a full disk: %+v, %v", k, err)
		}
	}
	limited(t, s, 1000)
	for range 2 { // asked for again, and again
		k, err := s.Change(ctx, id, c)
		if err != nil || k.Revision != 2 || k.Job.Note != long {
			t.Fatalf("with room: %+v, %v", k, err)
		}
	}
	second, err := s.Start(ctx, "second", another, time.Now())
	if err != nil || second == id {
		t.Errorf("with room: %q, %v", second, err)
	}
	if list, err := s.History(ctx, id, 10); err != nil || len(list) != 1 {
		t.Errorf("history %+v, %v", list, err)
	}
	if _, all, err := s.Jobs(ctx, "", 10); err != nil || all != 2 {
		t.Errorf("%d jobs, %v", all, err)
	}
	var found string
	if err := s.writer.QueryRow("PRAGMA integrity_check").Scan(&found); err != nil || found != "ok" {
		t.Errorf("integrity: %s, %v", found, err)
	}
}

// TestWriterIsLeftClean has the one connection that writes be out of its
// transaction whatever went before.
func TestWriterIsLeftClean(t *testing.T) {
	ctx := t.Context()
	s, err := Open(ctx, filepath.Join(t.TempDir(), "jobs.db"), Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	mine := errors.New("mine")
	midway, cancel := context.WithCancel(ctx)
	for name, f := range map[string]func(*txn) error{
		"an error":      func(*txn) error { return mine },
		"an SQL error":  func(t *txn) error { _, err := t.exec(ctx, "no such statement"); return err },
		"a refused row": func(t *txn) error { _, err := t.exec(ctx, "INSERT INTO note VALUES (NULL, '')"); return err },
		"rolled back":   func(t *txn) error { _, err := t.exec(ctx, "ROLLBACK"); return errors.Join(err, mine) },
		"a bad commit": func(t *txn) error {
			_, err := t.exec(ctx, "INSERT INTO revision VALUES (1, 'none', 1, '', '', '', '', x'')")
			return err
		},
		"given up":         func(t *txn) error { cancel(); return nil },
		"given up halfway": func(t *txn) error { cancel(); _, err := t.exec(midway, "DELETE FROM note"); return err },
	} {
		use := ctx
		if strings.HasPrefix(name, "given up") {
			use = midway
		}
		if err := s.write(use, "it", f); err == nil {
			t.Errorf("%s: no error", name)
		}
		if err := s.SetNote(ctx, "n", name); err != nil {
			t.Errorf("after %s: %v", name, err)
		}
	}
	var n int
	if err := s.writer.QueryRow("SELECT count(*) FROM revision").Scan(&n); err != nil || n != 0 {
		t.Errorf("%d revisions, %v", n, err)
	}
}

// TestConnections asks each kind of connection how it keeps what it is given:
// what outlasts a power cut rests on it (sqlite.org/pragma.html, synchronous: 2
// is FULL).
func TestConnections(t *testing.T) {
	s, err := Open(t.Context(), filepath.Join(t.TempDir(), "jobs.db"), Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	const ask = `SELECT j.journal_mode || ' ' || s.synchronous || ' ' || f.foreign_keys || ' ' || q.query_only
		FROM pragma_journal_mode j, pragma_synchronous s, pragma_foreign_keys f, pragma_query_only q`
	for want, db := range map[string]*sql.DB{"wal 2 1 0": s.writer, "wal 2 1 1": s.readers} {
		for range 3 {
			conn, err := db.Conn(t.Context())
			if err != nil {
				t.Fatal(err)
			}
			var got string
			if err := conn.QueryRowContext(t.Context(), ask).Scan(&got); err != nil || got != want {
				t.Errorf("%q, %v; want %q", got, err, want)
			}
			// The next is a new one.
			_ = conn.Raw(func(any) error { return sqldriver.ErrBadConn })
			_ = conn.Close()
		}
	}
}
