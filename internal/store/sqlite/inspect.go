package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"strings"
)

// Kinds of files, as [About] has them.
const (
	KindJobs     = "jobs"
	KindReadings = "readings"
)

// About is what a file says of itself.
type About struct {
	Kind   string // KindJobs or KindReadings
	Layout int    // its version
	Count  int64  // how many jobs or readings there are
}

// Inspect looks through a file that nobody has open, such as a backup, without
// changing anything: whose it is, and whether it is whole (integrity_check). The
// error says what is wrong with it; a newer layout is one.
func Inspect(ctx context.Context, path string) (About, error) {
	if err := plainFile(path); err != nil {
		return About{}, err
	}
	return inspect(ctx, path, "?mode=ro&immutable=1")
}

func inspect(ctx context.Context, path, how string) (a About, err error) {
	db, err := sql.Open("sqlite", uri(path)+how)
	if err != nil {
		return a, err
	}
	defer db.Close()
	var id, version int64
	if err := db.QueryRowContext(ctx, "SELECT a.application_id, v.user_version FROM pragma_application_id a, pragma_user_version v").Scan(&id, &version); err != nil {
		return a, fmt.Errorf("%s can't be read as an SQLite file: %w", path, err)
	}
	a.Layout = int(version)
	newest := 0
	switch id {
	case jobs.id:
		a.Kind, newest = KindJobs, len(jobs.steps)
	case watched.id:
		a.Kind, newest = KindReadings, len(watched.steps)
	default:
		return a, fmt.Errorf("%s is an SQLite file of another program (application id %#x)", path, id)
	}
	if a.Layout > newest {
		return a, fmt.Errorf("%s has layout %d, and this program knows layouts up to %d: it was written by a newer version; use that", path, a.Layout, newest)
	}
	var found string
	if err := db.QueryRowContext(ctx, "PRAGMA integrity_check(1)").Scan(&found); err != nil {
		return a, fmt.Errorf("%s can't be looked through: %w", path, err)
	}
	if found != "ok" {
		return a, fmt.Errorf("%s is damaged: %s", path, strings.Join(strings.Fields(found), " "))
	}
	a.Count, err = counted(ctx, db, a)
	return a, err
}

// counted counts the jobs or readings of a file.
func counted(ctx context.Context, db *sql.DB, a About) (n int64, err error) {
	query := "SELECT coalesce(sum(readings), 0) FROM chunk"
	switch {
	case a.Kind == KindJobs:
		query = "SELECT count(*) FROM job"
	case a.Layout == 1:
		query = "SELECT coalesce(sum(readings), 0) FROM batch"
	}
	if err := db.QueryRowContext(ctx, query).Scan(&n); err != nil || a.Kind == KindJobs || a.Layout == 1 {
		return n, err
	}
	// Those that aren't sealed yet; a line's may be both for a moment, and are counted
	// as sealed.
	rows, err := db.QueryContext(ctx, "SELECT number, body FROM hot")
	if err != nil {
		return n, err
	}
	defer rows.Close()
	sealed, err := sealedRows(ctx, db)
	if err != nil {
		return n, err
	}
	for rows.Next() {
		var number int64
		var body []byte
		if err := rows.Scan(&number, &body); err != nil {
			return n, err
		}
		if err := eachRun(body, func(r run) {
			if number > sealed[r.line] {
				n += int64(len(r.records))
			}
		}); err != nil {
			return n, fmt.Errorf("readings %d: %w", number, err)
		}
	}
	return n, rows.Err()
}

// sealedRows gives up to which hot row the readings of each line are sealed.
func sealedRows(ctx context.Context, db *sql.DB) (map[int64]int64, error) {
	rows, err := db.QueryContext(ctx, "SELECT number, sealed FROM line")
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	list := map[int64]int64{}
	for rows.Next() {
		var line, sealed int64
		if err := rows.Scan(&line, &sealed); err != nil {
			return nil, err
		}
		list[line] = sealed
	}
	return list, rows.Err()
}

func plainFile(path string) error {
	info, err := os.Stat(path)
	if err == nil && !info.Mode().IsRegular() {
		err = fmt.Errorf("%s is a folder or a device; expected a plain file", path)
	}
	return err
}

func uri(path string) string {
	if absolute, err := filepath.Abs(path); err == nil {
		path = absolute
	}
	path = filepath.ToSlash(path)
	if !strings.HasPrefix(path, "/") {
		path = "/" + path // C:/… on Windows
	}
	u := url.URL{Scheme: "file", Path: path}
	return u.String()
}

// Copy writes a file of this program's as it is at this moment to a new one, while
// others have it open and change it. Nothing else of it is touched: it isn't brought
// to a newer layout, and a damaged one isn't put aside.
func Copy(ctx context.Context, from, to string) error {
	if err := plainFile(from); err != nil {
		return err
	}
	f, err := os.OpenFile(to, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	if err := f.Close(); err != nil {
		return err
	}
	db, err := sql.Open("sqlite", uri(from)+fmt.Sprintf("?mode=rw&_busy_timeout=%d", busyTimeout.Milliseconds()))
	if err != nil {
		return err
	}
	defer db.Close()
	if _, err := db.ExecContext(ctx, "VACUUM INTO ?", to); err != nil {
		if why, ok := refusals[code(err)]; ok {
			return fmt.Errorf("no copy of %s: %v; %s: %w", from, why.kind, why.do, err)
		}
		return fmt.Errorf("no copy of %s: %w", from, err)
	}
	return synced(to)
}

// Hold is a file that is held against everyone else.
type Hold struct{ db *sql.DB }

// ErrInUse says that a program has a file open.
var ErrInUse = errors.New("a program has the file open; end it first")

// Seize holds a file for this process alone, with all that was changed in the one
// file, so that another can be put in its place. It is [ErrInUse] where a program has
// it open. A file that isn't there is nothing to hold: nil, and no error. One that
// isn't SQLite's, or is damaged, can't be held, and what is wrong is told.
func Seize(ctx context.Context, path string) (*Hold, error) {
	if err := plainFile(path); errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	} else if err != nil {
		return nil, err
	}
	if err := headed(path); err != nil {
		return nil, err // opening it may take away what belongs to it
	}
	db, err := sql.Open("sqlite", uri(path)+"?mode=rw&_busy_timeout=200")
	if err != nil {
		return nil, err
	}
	db.SetMaxOpenConns(1)
	for _, q := range []string{"PRAGMA locking_mode = EXCLUSIVE", "PRAGMA journal_mode = DELETE", "BEGIN EXCLUSIVE"} {
		var mode string
		row := db.QueryRowContext(ctx, q)
		err := row.Scan(&mode)
		if errors.Is(err, sql.ErrNoRows) {
			err = nil
		}
		if c := code(err); c == busy || c == locked || err == nil && strings.Contains(q, "journal_mode") && mode != "delete" {
			err = fmt.Errorf("%s: %w", path, ErrInUse)
		}
		if err != nil {
			return nil, errors.Join(err, db.Close())
		}
	}
	return &Hold{db}, nil
}

// headed looks whether a file begins as SQLite's do; an empty one may become one.
func headed(path string) error {
	const begins = "SQLite format 3\x00" // "Database File Format", 1.3
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer f.Close() // only read from
	head := make([]byte, len(begins))
	if n, err := io.ReadFull(f, head); n > 0 && (err != nil || string(head) != begins) {
		return fmt.Errorf("%s is no SQLite file, or is damaged", path)
	}
	return nil
}

// Release lets go of the file.
func (h *Hold) Release() error {
	if h == nil {
		return nil
	}
	return h.db.Close()
}
