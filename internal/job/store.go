package job

import (
	"context"
	"errors"
	"time"
)

// ID names a job in a store; it is made by the store, of a-z and 0-9.
type ID string

// Kept is a job as a store has it.
type Kept struct {
	ID       ID
	Revision int64  // 1 when started; rises by one with each change
	Place    string // where it was left, as the pages name it; may be empty
	Job      *Job   // the caller's own copy
	Made     time.Time
	Changed  time.Time
}

// Card is a job as one line of the list of jobs.
type Card struct {
	ID                              ID
	Revision                        int64
	Place                           string
	Number, Customer, Vehicle, Date string
	Tanks                           []CardTank
	Changed                         time.Time
}

// CardTank is one tank of a card; Next is what [Tank.Next] says.
type CardTank struct {
	Name     string   `json:"name"`
	Contents Contents `json:"contents"`
	Next     string   `json:"next"`
	Done     bool     `json:"done"` // nothing is left to do
}

// Change is one change of a job.
type Change struct {
	// Key names this change, so that one asked for again (because the answer
	// was lost) is made once. It is any text the asker made up, unlike every
	// other; "" for a change that may be made twice.
	Key string
	// Revision is the one that the change was thought of for; where the job has
	// another by now, the change is refused with ErrMoved. 0: whichever it is.
	Revision int64
	At       time.Time
	By       string // the device or person, for the job's history
	Words    string // what it is: "taken: 40 %, 36.2 Ω"
	// Do makes the change on the job it is given. Its error leaves all as it was.
	Do func(*Job) error
}

// What a store refuses.
var (
	// ErrNoJob: there is no job of that ID.
	ErrNoJob = errors.New("there is no such job")
	// ErrMoved: the job has been changed since the revision a change was for.
	ErrMoved = errors.New("the job has been changed in the meantime")
	// ErrFull: there is no room on the disk, or it can't be written. Nothing was
	// kept of what was asked for, and nothing kept before was lost.
	ErrFull = errors.New("it can't be written to the disk")
)

// Store keeps the jobs of a workshop. What a method has returned without an
// error is on the disk, and stays there whatever happens next. Methods may be
// called from several goroutines, and several processes may use the same store.
//
// Errors are those named above, wrapped; what [Job.Encode] says of a job that
// can't be a file; and that of the context.
type Store interface {
	// Jobs lists the jobs whose number, customer, vehicle, date or tanks hold
	// every word of find, in any order and whatever the capitals, the last
	// changed first. It gives at most limit of them, and how many there are.
	Jobs(ctx context.Context, find string, limit int) (cards []Card, all int, err error)
	// Job gives one job.
	Job(ctx context.Context, id ID) (*Kept, error)
	// Start keeps a new job. The same key again gives the job it was started as.
	Start(ctx context.Context, key string, j *Job, at time.Time) (ID, error)
	// Change changes a job and gives it as it is afterwards. A key that was used
	// before on this job changes nothing and is no error. A signature that Do left
	// alone is taken off where the job says something else than before.
	Change(ctx context.Context, id ID, c Change) (*Kept, error)
	// History gives the last changes of a job, the newest first, without Do.
	History(ctx context.Context, id ID, limit int) ([]Change, error)
	// At gives a job as it was at one of its revisions, from 1 to the present one;
	// ErrNoJob where there is no such revision.
	At(ctx context.Context, id ID, revision int64) (*Job, error)
	// Leave notes where a job was left; that is no change of it.
	Leave(ctx context.Context, id ID, place string) error
	// Revision gives the present revision of a job, cheaply.
	Revision(ctx context.Context, id ID) (int64, error)
	// Note gives what was noted under a name for the workshop, such as its
	// meters; "" where nothing was.
	Note(ctx context.Context, name string) (string, error)
	// SetNote notes it.
	SetNote(ctx context.Context, name, value string) error
}
