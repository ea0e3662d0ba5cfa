package sqlite

import (
	"context"
	"database/sql"
	"log/slog"
	"sync"
	"time"

	"gaugewright/internal/job"
)

// Options are what a store may be told. The zero value is the usual way.
type Options struct {
	// Now is the clock, for sessions and for changes without a time of their
	// own; nil is time.Now.
	Now func() time.Time
	// Log is told of steps of the file's layout and of what is odd but harmless;
	// nil tells nobody.
	Log *slog.Logger
	// Summarise gives the tanks' lines in the list for a job, which is its own to
	// read but not to change; nil goes by [job.Tank.Summary].
	Summarise func(*job.Job) []job.CardTank
}

// Store is an open file of jobs. It is a [job.Store]; its methods may be called
// from several goroutines.
type Store struct {
	path      string // absolute
	writer    *sql.DB
	readers   *sql.DB
	now       func() time.Time
	log       *slog.Logger
	summarise func(*job.Job) []job.CardTank
	decoded   memory
	sessions  Sessions

	writing  sync.RWMutex // held for reading while something is written
	closing  sync.Once
	closeErr error
}

var _ job.Store = (*Store)(nil)

// Open opens the file of jobs at path and makes it, with the folders above it,
// where there is none: for nobody but its owner to read. A file of an earlier
// layout is brought up to date. Refused, and left as they are, are a folder, a
// file that isn't SQLite's or is another program's, one that is damaged, and
// one whose layout is newer than this program.
func Open(ctx context.Context, path string, o Options) (*Store, error) {
	s := &Store{now: o.Now, log: o.Log, summarise: o.Summarise}
	if s.now == nil {
		s.now = time.Now
	}
	if s.log == nil {
		s.log = slog.New(slog.DiscardHandler)
	}
	if s.summarise == nil {
		s.summarise = summary
	}
	s.sessions.store = s
	var err error
	if s.path, err = prepare(path); err != nil {
		return nil, err
	}
	if err := s.connect(ctx); err != nil {
		s.Close()
		return nil, err
	}
	return s, nil
}

// Path gives the file's absolute path, without symbolic links.
func (s *Store) Path() string { return s.path }

// Close closes the file; changes that are under way are waited for. Closing it again does
// nothing and gives the same error.
func (s *Store) Close() error {
	s.closing.Do(func() {
		s.writing.Lock()
		defer s.writing.Unlock()
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
