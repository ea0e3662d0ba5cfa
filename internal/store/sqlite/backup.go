package sqlite

import (
	"context"
	"crypto/rand"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"gaugewright/internal/keep"
)

// Backup writes the jobs, the notes and the sessions as they are at this moment
// to a new file, which [Open] can open, while others go on changing them. A file
// that is there already is refused. The new one is there whole or not at all.
func (s *Store) Backup(ctx context.Context, path string) error { return s.backup(ctx, path) }

// backup writes the file as it is at this moment to a new one.
func (s *file) backup(ctx context.Context, path string) error {
	fail := func(err error) error { return fmt.Errorf("no backup was made of %s: %w", s.path, err) }
	if _, err := os.Lstat(path); !errors.Is(err, fs.ErrNotExist) {
		if err == nil {
			err = fmt.Errorf("%s is there already; expected the name of a new file", path)
		}
		return fail(err)
	}
	temporary, err := filepath.Abs(filepath.Join(filepath.Dir(path), "."+rand.Text()+".tmp"))
	if err != nil {
		return fail(err)
	}
	defer os.Remove(temporary)
	// SQLite writes into a file that is empty, whose permissions stay.
	f, err := os.OpenFile(temporary, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return fail(err)
	}
	if err := f.Close(); err != nil {
		return fail(err)
	}
	// A connection of its own: it takes its time, and nobody is to wait for it.
	db, err := sql.Open("sqlite", s.source(busyTimeout, ""))
	if err != nil {
		return fail(err)
	}
	defer db.Close()
	if _, err := db.ExecContext(ctx, "VACUUM INTO ?", temporary); err != nil {
		if why, ok := refusals[code(err)]; ok {
			err = &fullError{fmt.Sprintf("%s can't be written: %v; %s", path, why.kind, why.do), why.kind, err}
		}
		return fail(err)
	}
	if err := synced(temporary); err != nil {
		return fail(err)
	}
	if err := os.Rename(temporary, path); err != nil {
		return fail(err)
	}
	if err := keep.Folder(filepath.Dir(path)); err != nil {
		return fail(err)
	}
	return nil
}

// synced has a file written out to the disk.
func synced(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	err = f.Sync()
	if closing := f.Close(); err == nil {
		err = closing
	}
	return err
}
