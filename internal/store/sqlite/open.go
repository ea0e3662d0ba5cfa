package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"time"

	"gaugewright/internal/keep"
)

const (
	// busyTimeout is how long to wait for another process to finish a change; one
	// takes some milliseconds.
	busyTimeout = 5 * time.Second
	// busyPause is how long to wait before looking again whether it has; SQLite
	// itself waits ever longer.
	busyPause = 500 * time.Microsecond
	// checkedBytes is up to which size the whole file is looked through when it
	// is opened: some twenty thousand changes. That takes a fraction of a second,
	// or as long as a slow disk takes to read so much.
	checkedBytes = 32 << 20
)

// prepare sees to it that a file is there and gives its path: absolute, and
// without symbolic links, as SQLite puts its other files beside the real one.
func (s *file) prepare(path string) (string, error) {
	if path == "" {
		return "", errors.New("the " + s.kind + " has no name; expected a path")
	}
	path, err := filepath.Abs(path)
	if err != nil {
		return "", fmt.Errorf("the %s %s: %w", s.kind, path, err)
	}
	// The file itself is never opened here: closing it would drop the locks that
	// SQLite holds on it for this process (fcntl(2), "Record locking").
	switch info, err := os.Stat(path); {
	case err == nil && info.IsDir():
		return "", fmt.Errorf("the %s %s is a folder; expected the name of a file in it, such as %s", s.kind, path, filepath.Join(path, s.example))
	case err == nil && !info.Mode().IsRegular():
		return "", fmt.Errorf("the %s %s is a device or the like; expected a plain file", s.kind, path)
	case err != nil && !errors.Is(err, fs.ErrNotExist):
		return "", fmt.Errorf("the %s can't be looked at: %w; choose another path, or have its permissions set", s.kind, err)
	case err != nil:
		if err := create(path); err != nil {
			return "", fmt.Errorf("the %s can't be made: %w; choose another path, or have the folder's permissions set", s.kind, err)
		}
	}
	if path, err = filepath.EvalSymlinks(path); err != nil {
		return "", fmt.Errorf("the %s can't be found: %w", s.kind, err)
	}
	return path, nil
}

// create makes an empty file, which SQLite takes for a new one, and the folders
// above it.
func create(path string) error {
	folder := filepath.Dir(path)
	var made []string // folders in which a new name stands
	for f := folder; ; f = filepath.Dir(f) {
		made = append(made, f)
		if _, err := os.Stat(f); err == nil || f == filepath.Dir(f) {
			break
		}
	}
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return err
	}
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o600)
	if errors.Is(err, fs.ErrExist) {
		return nil // another process was faster
	}
	if err != nil {
		return err
	}
	if err := f.Close(); err != nil {
		return err
	}
	for _, f := range made {
		if err := keep.Folder(f); err != nil {
			return err
		}
	}
	return nil
}

// source names the file for the driver, with what every connection is to be
// told.
func (s *file) source(timeout time.Duration, more string) string {
	path := filepath.ToSlash(s.path)
	if !strings.HasPrefix(path, "/") {
		path = "/" + path // C:/… on Windows
	}
	u := url.URL{Scheme: "file", Path: path}
	return u.String() + fmt.Sprintf("?mode=rw&_busy_timeout=%d&_foreign_keys=on&_synchronous=full&_dqs=0&_error_rc=1", timeout.Milliseconds()) + more
}

// connect opens the connections, looks at what the file is and brings it up to
// date.
func (s *file) connect(ctx context.Context) error {
	var err error
	if s.writer, err = sql.Open("sqlite", s.source(0, s.pragmas)); err != nil {
		return s.openError(err)
	}
	// One writer at a time is all that SQLite has; waiting here is fair and can
	// be given up, waiting in SQLite is neither.
	s.writer.SetMaxOpenConns(1)
	if err := s.patient(ctx, s.known); err != nil {
		return err
	}
	if err := s.patient(ctx, s.walMode); err != nil {
		return err
	}
	if err := s.migrate(ctx); err != nil {
		return err
	}
	if s.readers, err = sql.Open("sqlite", s.source(busyTimeout, "&_query_only=on")); err != nil {
		return s.openError(err)
	}
	n := max(4, runtime.GOMAXPROCS(0))
	s.readers.SetMaxOpenConns(n)
	s.readers.SetMaxIdleConns(n)
	return nil
}

// known refuses a file that isn't one of this program's, and a damaged one,
// before anything is written to it.
func (s *file) known(ctx context.Context) error {
	var id, version, tables, pages, size int64
	err := s.writer.QueryRowContext(ctx, `SELECT a.application_id, v.user_version, (SELECT count(*) FROM sqlite_schema), c.page_count, s.page_size
		FROM pragma_application_id a, pragma_user_version v, pragma_page_count c, pragma_page_size s`).
		Scan(&id, &version, &tables, &pages, &size)
	switch {
	case err != nil:
		return s.openError(err)
	case id == 0 && version == 0 && tables == 0:
		return nil // new
	case id != s.id:
		return fmt.Errorf("the %s %s is an SQLite file of another program (application id %#x, expected %#x); nothing was changed in it: choose another path", s.kind, s.path, id, s.id)
	case version > int64(len(s.steps)):
		return s.newer(version)
	}
	// What isn't in the -wal file has to be in the main one. Both are asked after
	// the pages: they may only have grown since.
	wal, err := os.Stat(s.path + "-wal")
	if main, mainErr := os.Stat(s.path); mainErr == nil && (err != nil || wal.Size() == 0) && main.Size() < pages*size {
		return s.damagedAs("it was cut short", fmt.Sprintf("it has %d bytes and says that it has %d", main.Size(), pages*size))
	}
	if pages*size > checkedBytes {
		return nil
	}
	var found string
	if err := s.writer.QueryRowContext(ctx, "PRAGMA quick_check(1)").Scan(&found); err != nil {
		return s.openError(err)
	}
	if found != "ok" {
		return s.checkFailed(found)
	}
	return nil
}

// walMode puts the file in write-ahead mode, in which it stays.
func (s *file) walMode(ctx context.Context) error {
	var mode string
	if err := s.writer.QueryRowContext(ctx, "PRAGMA journal_mode = WAL").Scan(&mode); err != nil {
		return s.openError(err)
	}
	if mode != "wal" {
		s.log.Warn("the "+s.kind+" can't be in write-ahead mode on this disk; changes will be slower", "file", s.path, "mode", mode)
	}
	return nil
}

// patient does something again for as long as another process has the file to
// itself. SQLite's own way of waiting looks less and less often; against a
// process that makes one change after the other it may never find a gap, and
// some steps don't wait at all.
func (s *file) patient(ctx context.Context, try func(context.Context) error) error {
	for deadline := time.Now().Add(busyTimeout); ; {
		err := try(ctx)
		if c := code(err); c != busy && c != locked || time.Now().After(deadline) {
			return err
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(busyPause):
		}
	}
}
