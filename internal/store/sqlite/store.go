package sqlite

import (
	"context"
	"log/slog"
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
	// Backups is the folder in which backups are, for a file of readings that is found
	// damaged: the newest good one is named then. "" is none.
	Backups string
}

// jobs is the layout of a file of jobs. Its mark is "GgWr" in ASCII.
var jobs = layout{kind: "file of jobs", example: "jobs.db", id: 0x47675772, steps: migrations}

// Store is an open file of jobs. It is a [job.Store]; its methods may be called
// from several goroutines.
type Store struct {
	file
	summarise func(*job.Job) []job.CardTank
	decoded   memory
	sessions  Sessions
}

var _ job.Store = (*Store)(nil)

// Open opens the file of jobs at path and makes it, with the folders above it,
// where there is none: for nobody but its owner to read. A file of an earlier
// layout is brought up to date. Refused, and left as they are, are a folder, a
// file that isn't SQLite's or is another program's, one that is damaged, and
// one whose layout is newer than this program.
func Open(ctx context.Context, path string, o Options) (*Store, error) {
	s := &Store{summarise: o.Summarise}
	if s.summarise == nil {
		s.summarise = summary
	}
	s.sessions.store = s
	if err := s.open(ctx, path, jobs, o); err != nil {
		return nil, err
	}
	return s, nil
}
