package sqlite

import (
	"context"
	"database/sql"
	"log/slog"
	"sync"
	"time"
)

// layout is what a file of one kind is to be.
type layout struct {
	kind    string // in messages: "file of jobs"
	example string // of a name: "jobs.db"
	id      int64  // SQLite's application id, which marks the file as this program's
	steps   []migration
	pragmas string // for the connection that writes, "" or beginning with "&"
}

// file is an open file of any layout. Its methods may be called from several
// goroutines.
type file struct {
	layout
	path    string // absolute
	writer  *sql.DB
	readers *sql.DB
	now     func() time.Time
	log     *slog.Logger

	writing  sync.RWMutex // held for reading while something is written
	closing  sync.Once
	closed   bool   // under writing
	between  func() // a test's, before each statement of a transaction and its end
	closeErr error
}

// open opens the file and makes it where there is none.
func (s *file) open(ctx context.Context, path string, l layout, o Options) error {
	s.layout, s.now, s.log = l, o.Now, o.Log
	if s.now == nil {
		s.now = time.Now
	}
	if s.log == nil {
		s.log = slog.New(slog.DiscardHandler)
	}
	var err error
	if s.path, err = s.prepare(path); err != nil {
		return err
	}
	if err := s.connect(ctx); err != nil {
		s.Close()
		return err
	}
	return nil
}

// Path gives the file's absolute path, without symbolic links.
func (s *file) Path() string { return s.path }

// Close closes the file; changes that are under way are waited for. Closing it again does
// nothing and gives the same error.
func (s *file) Close() error {
	s.closing.Do(func() {
		s.writing.Lock()
		defer s.writing.Unlock()
		s.closed = true
		// The writer goes last: whoever closes last folds the -wal file into the
		// main one, which readers can't.
		for _, db := range []*sql.DB{s.readers, s.writer} {
			if db == nil {
				continue
			}
			if err := db.Close(); err != nil && s.closeErr == nil {
				s.closeErr = s.writeError("what was kept last", err)
			}
		}
	})
	return s.closeErr
}
