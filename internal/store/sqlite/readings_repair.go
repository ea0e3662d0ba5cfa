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
	"slices"
	"strings"

	"gaugewright/internal/keep"
)

// Repairs says in sentences what was put right when the file was opened, and since.
func (s *Readings) Repairs() []string {
	s.view.RLock()
	defer s.view.RUnlock()
	return slices.Clone(s.repairs)
}

// reading gives the connections to read by, which a repair may change.
func (s *Readings) reading() *sql.DB {
	s.view.RLock()
	defer s.view.RUnlock()
	return s.readers
}

// row is file.row by those connections.
func (s *Readings) row(ctx context.Context, what, query string, args []any, into ...any) error {
	err := s.reading().QueryRowContext(ctx, query, args...).Scan(into...)
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		err = s.readError(what, err)
	}
	return err
}

// damage says what of the file is damaged, if that is what an error of opening it or
// of writing to it says; "" otherwise. That a body's checksum is wrong isn't enough:
// the rest of the file can be used.
func (s *Readings) damage(err error) string {
	var d *damagedError
	switch c := code(err); {
	case err == nil:
		return ""
	case c == corrupt, c == notADB:
		// Another program's file isn't ours to put aside.
		switch {
		case !s.oursOnce():
			return ""
		case c == corrupt:
			return "a page doesn't make sense"
		}
		return "its beginning doesn't make sense"
	case errors.As(err, &d):
		return d.plain
	}
	return ""
}

// putAside renames the file and those that belong to it.
func (s *Readings) putAside(found string) error {
	name := s.path + ".damaged-" + s.now().UTC().Format("20060102-150405")
	for n := 2; ; n++ {
		if _, err := os.Lstat(name); errors.Is(err, fs.ErrNotExist) {
			break
		}
		name = fmt.Sprintf("%s.damaged-%s-%d", s.path, s.now().UTC().Format("20060102-150405"), n)
	}
	for _, end := range []string{"-wal", "-shm", ""} {
		if err := os.Rename(s.path+end, name+end); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return fmt.Errorf("%w; and it can't be put aside: %w", s.damaged(found), err)
		}
	}
	if err := keep.Folder(filepath.Dir(s.path)); err != nil {
		return fmt.Errorf("%w; and it can't be put aside: %w", s.damaged(found), err)
	}
	said := fmt.Sprintf("The file of readings was damaged: %s. It was put aside as %s and a new one was begun. ", found, filepath.Base(name)) + s.newestBackup()
	s.log.Error("the file of readings is damaged", "file", s.path, "found", found, "aside", name)
	s.view.Lock()
	defer s.view.Unlock()
	s.repairs = append(s.repairs, said)
	return nil
}

// backupsTried is how many files are looked at for a good backup, the newest first.
const backupsTried = 16

// newestBackup names the newest good backup there is, in a sentence.
func (s *Readings) newestBackup() string {
	folder := s.options.Backups
	if folder == "" {
		return "No folder of backups is known."
	}
	entries, err := os.ReadDir(folder)
	if err != nil {
		s.log.Error("the folder of backups can't be read", "folder", folder, "error", err)
		return "The folder of backups can't be read."
	}
	var files []fs.FileInfo
	for _, e := range entries {
		if info, err := e.Info(); err == nil && info.Mode().IsRegular() && !strings.HasPrefix(e.Name(), ".") && !strings.HasSuffix(e.Name(), "-wal") && !strings.HasSuffix(e.Name(), "-shm") {
			files = append(files, info)
		}
	}
	slices.SortFunc(files, func(a, b fs.FileInfo) int { return b.ModTime().Compare(a.ModTime()) })
	for _, info := range files[:min(len(files), backupsTried)] {
		path := filepath.Join(folder, info.Name())
		if goodBackup(path, s.layout) {
			return fmt.Sprintf("The newest good backup is %s of %s.", path, info.ModTime().UTC().Format("2 January 2006"))
		}
	}
	return fmt.Sprintf("There is no good backup in %s.", folder)
}

// goodBackup says whether a file is of a layout, and sound. It isn't changed.
func goodBackup(path string, l layout) bool {
	path, err := filepath.Abs(path)
	if err != nil {
		return false
	}
	path = filepath.ToSlash(path)
	if !strings.HasPrefix(path, "/") {
		path = "/" + path
	}
	u := url.URL{Scheme: "file", Path: path, RawQuery: "mode=ro&immutable=1"}
	db, err := sql.Open("sqlite", u.String())
	if err != nil {
		return false
	}
	defer db.Close()
	var id, version int64
	var found string
	return db.QueryRow("SELECT a.application_id, v.user_version FROM pragma_application_id a, pragma_user_version v").Scan(&id, &version) == nil &&
		id == l.id && version >= 1 && version <= int64(len(l.steps)) &&
		db.QueryRow("PRAGMA quick_check(1)").Scan(&found) == nil && found == "ok"
}

// renewed puts a file aside that turns out to be damaged while it is open, and goes on
// with a new one: with what isn't sealed, which is in memory. False where err isn't of
// that kind, or it can't be done for now.
func (s *Readings) renewed(ctx context.Context, err error) bool {
	if c := code(err); c != corrupt && c != notADB {
		return false
	}
	found := s.damage(err)
	if found == "" || !s.letGo() {
		return false
	}
	s.view.RLock()
	for _, lines := range s.tanks {
		for _, l := range lines {
			for i := range l.shown {
				s.saved = append(s.saved, l.shown[i].reading(&l.key))
			}
		}
	}
	s.view.RUnlock()
	if err := s.putAside(found); err != nil {
		s.log.Error("the damaged file of readings", "error", err)
	}
	if err := s.reopened(ctx); err != nil {
		s.log.Error("no new file of readings was begun", "file", s.path, "error", err)
		return false
	}
	return true
}

// letGo closes the connections; false where the file has been closed.
func (s *Readings) letGo() bool {
	s.writing.Lock()
	defer s.writing.Unlock()
	if s.closed {
		return false
	}
	_ = s.readers.Close()
	_ = s.writer.Close()
	s.lost = true
	return true
}

// reopened opens the file again, or a new one, and keeps in it what was saved of a
// damaged one.
func (s *Readings) reopened(ctx context.Context) error {
	var f file
	if err := f.open(ctx, s.path, watched, s.options); err != nil {
		return err
	}
	s.writing.Lock()
	if s.closed {
		s.writing.Unlock()
		return f.Close()
	}
	s.view.Lock()
	s.writer, s.readers, s.tanks = f.writer, f.readers, map[string][]*line{}
	s.view.Unlock()
	s.writing.Unlock()
	s.lost, s.sure = false, false
	if err := s.keep(ctx, s.saved); err != nil {
		s.log.Error("readings that weren't sealed aren't in the new file", "file", s.path, "readings", len(s.saved), "error", err)
	}
	s.saved = nil
	return nil
}
