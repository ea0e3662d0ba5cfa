package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	driver "modernc.org/sqlite"

	"gaugewright/internal/job"
	"gaugewright/internal/strict"
)

// Result codes of SQLite (sqlite.org/rescode.html); the low byte of an extended
// code is one of them.
const (
	busy     = 5
	locked   = 6
	readOnly = 8
	ioError  = 10
	corrupt  = 11
	full     = 13
	cantOpen = 14
	notADB   = 26
)

// code gives the result code behind an error, 0 where there is none.
func code(err error) int {
	var e *driver.Error
	if !errors.As(err, &e) {
		return 0
	}
	return e.Code() & 0xff
}

// fullError is a [job.ErrFull] with a sentence of its own.
type fullError struct {
	text        string
	kind, cause error
}

func (e *fullError) Error() string   { return e.text }
func (e *fullError) Unwrap() []error { return []error{job.ErrFull, e.kind, e.cause} }

// Why a disk doesn't take something: kinds of [job.ErrFull].
var (
	ErrNoRoom   = errors.New("database or disk is full")
	ErrReadOnly = errors.New("the file may only be read")
	ErrFaulty   = errors.New("the disk reports a fault")
	ErrNotOpen  = errors.New("the file can't be opened")
)

// refusals say why the disk didn't take something, and what to do.
var refusals = map[int]struct {
	kind error
	do   string
}{
	full:     {ErrNoRoom, "make room and try again"},
	readOnly: {ErrReadOnly, "have its permissions and those of its folder set"},
	ioError:  {ErrFaulty, "see that it is there and sound, and try again"},
	cantOpen: {ErrNotOpen, "see that it is there, with permission to write in its folder"},
}

// writeError words an error of writing what is named: "the change".
func (s *file) writeError(what string, err error) error {
	if why, ok := refusals[code(err)]; ok {
		return &fullError{fmt.Sprintf("%s can't be written to the disk of %s: %v; nothing kept before is lost; %s", what, s.path, why.kind, why.do), why.kind, err}
	}
	return s.otherError(what+" wasn't kept", err)
}

// readError words an error of reading what is named: "the job".
func (s *file) readError(what string, err error) error {
	if why, ok := refusals[code(err)]; ok {
		return fmt.Errorf("%s can't be read from the disk of %s: %v; %s: %w", what, s.path, why.kind, why.do, err)
	}
	return s.otherError(what+" wasn't read", err)
}

// openError words an error of opening the file.
func (s *file) openError(err error) error {
	if why, ok := refusals[code(err)]; ok {
		return &fullError{fmt.Sprintf("the %s %s can't be opened for writing: %v; %s", s.kind, s.path, why.kind, why.do), why.kind, err}
	}
	return s.otherError("the "+s.kind+" wasn't opened", err)
}

func (s *file) otherError(what string, err error) error {
	switch c := code(err); {
	case errors.Is(err, context.Canceled), errors.Is(err, context.DeadlineExceeded):
		return fmt.Errorf("%s: %w", what, err)
	case errors.Is(err, sql.ErrConnDone), err.Error() == "sql: database is closed": // it has no name
		return fmt.Errorf("%s: the %s %s has been closed", what, s.kind, s.path)
	case c == busy, c == locked:
		return fmt.Errorf("%s: another program has had the %s %s to itself for more than %v; try again, and see what else has it open: %w", what, s.kind, s.path, busyTimeout, err)
	case c == notADB:
		return fmt.Errorf("%s: %s is not a %s, or its beginning is damaged; nothing was changed in it: choose another path, or put a backup in its place: %w", what, s.path, s.kind, err)
	case c == corrupt:
		return fmt.Errorf("%s: %w: %w", what, s.damaged("a page doesn't make sense"), err)
	}
	return fmt.Errorf("%s: the %s %s: %w", what, s.kind, s.path, err)
}

// muddled is what people are told of what SQLite finds when it looks through a file;
// its own text, of several lines, is for the log.
const muddled = "its pages don't fit together"

// checkFailed refuses a file in which SQLite has found something.
func (s *file) checkFailed(found string) error {
	s.log.Error("the "+s.kind+" is damaged", "file", s.path, "found", found)
	return s.damaged(muddled)
}

// damagedError says that a file is damaged, and how: to whoever put the question in
// full, in a sentence of what was put right in one of a few plain ways.
type damagedError struct{ text, plain string }

func (e *damagedError) Error() string { return e.text }

// damaged refuses a damaged file.
func (s *file) damaged(found string) error {
	return &damagedError{fmt.Sprintf("the %s %s is damaged (%s); keep it as it is, together with its -wal file, and put the last backup in its place", s.kind, s.path, found), found}
}

// damagedAs is damaged where what was found is told more plainly in a sentence.
func (s *file) damagedAs(plain, found string) error {
	return &damagedError{s.damaged(found).Error(), plain}
}

// noJob refuses an ID.
func noJob(id job.ID) error {
	return fmt.Errorf("job %s: %w", strict.Quoted(string(id)), job.ErrNoJob)
}
