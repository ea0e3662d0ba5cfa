package readings

import (
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"sync"

	"gaugewright/internal/curve"
)

// Appender adds readings to a file one by one, as they are typed, so that none
// is lost when the program or the machine stops.
//
// What holds:
//   - When [Appender.Add] has returned nil, the reading is in the file and the
//     operating system has been told to put it on the disk (fsync, for a new
//     file of its directory too).
//   - A reading that was stored stays in the file, as a row or as a comment.
//     Striking one out and mending a cut line write the file anew beside the
//     old one and swap them; at every moment the path leads to the one or the
//     other, whole.
//   - A row is one write at the end of the file (O_APPEND), so on a local disk
//     rows of several programs don't run into one another.
//   - On Linux, macOS and the BSDs the file is locked (flock) until Close, and
//     a second Appender on it, in any process, is refused. Elsewhere, and on
//     network file systems without locks, there is no such guard; and a program
//     that doesn't ask for the lock, such as a text editor, is never held off.
//     But before each change the file is looked at, and if somebody else has
//     swapped it or changed its length, Add and Strike refuse with the advice
//     to open it again, and nothing is overwritten.
//
// What a disk does that lies about having stored something is beyond this.
//
// An Appender may be used by several goroutines at once.
type Appender struct {
	mu     sync.Mutex
	path   string // with symbolic links followed
	name   string // as it was given
	file   handle
	size   int64
	count  int
	head   header
	eol    string
	mended string
	broken error // why nothing more can be written; nil while all is well
}

// handle is what is needed of an open file.
type handle interface {
	io.Writer
	io.ReaderAt
	io.Closer
	Stat() (os.FileInfo, error)
	Sync() error
	Truncate(size int64) error
}

// columnsFor is the header row of a new file.
func columnsFor(unit curve.MarkUnit, signal curve.Signal) []string {
	return append([]string{unit.Column(), signal.Column()}, benchLayout.optional...)
}

// OpenAppender opens the file at path, or creates it with the columns mark_xxx
// (of the unit), ohm, sweep, time and note. It gives the readings that are in
// it already.
//
// An existing file must be UTF-8 with commas, have the mark column of this
// unit, and be without mistakes; it may have fewer columns or another order. A
// last line without a line end was perhaps cut off by a crash. If it reads as a
// row it is kept and gets its line end; if not it becomes a comment that starts
// with "# cut off:". A number or a note that stood last in the line may be cut
// short and read all the same, so [Appender.Mended] says what was done and is to
// be shown.
func OpenAppender(path string, unit curve.MarkUnit) (*Appender, curve.Sheet, error) {
	return OpenAppenderFor(path, unit, curve.Ohms)
}

// OpenAppenderFor is [OpenAppender] for a sender that gives the signal: the
// column ohm has its name, and an existing file must have that one.
func OpenAppenderFor(path string, unit curve.MarkUnit, signal curve.Signal) (*Appender, curve.Sheet, error) {
	target, err := follow(path)
	if err != nil {
		return nil, curve.Sheet{}, err
	}
	f, err := openLocked(target, path)
	if err != nil {
		return nil, curve.Sheet{}, err
	}
	a := &Appender{path: target, name: path, file: f, eol: "\n"}
	sheet, err := a.load(unit, signal)
	if err != nil {
		return nil, curve.Sheet{}, errors.Join(err, a.file.Close())
	}
	return a, sheet, nil
}

// Columns gives the columns of the file, in its order. Add refuses a reading
// that holds something for which there is no column.
func (a *Appender) Columns() []string { return append([]string(nil), a.head.names...) }

// Mended says what was done to a last line without a line end, or "".
func (a *Appender) Mended() string { return a.mended }

// Add puts a reading at the end of the file and on the disk. After an error the
// reading is not stored, unless the error says that this is not known. Line is
// not heeded.
func (a *Appender) Add(r curve.Reading) error {
	a.mu.Lock()
	defer a.mu.Unlock()
	line, err := a.row(r)
	if err != nil {
		return fmt.Errorf("reading not stored: %w", err)
	}
	if err := a.unchanged(); err != nil {
		return fmt.Errorf("reading not stored: %w", err)
	}
	n, err := a.file.Write([]byte(line))
	if err != nil {
		// Part of a row would spoil the file for the next one.
		if n > 0 {
			if e := a.file.Truncate(a.size); e != nil {
				a.broken = fmt.Errorf("%s ends in part of a row (%w); make room on the disk and open it again", a.name, e)
			}
		}
		return fmt.Errorf("reading not stored: %w", err)
	}
	a.size += int64(len(line))
	a.count++
	if err := a.file.Sync(); err != nil {
		// After a failed fsync nobody can tell what is on the disk.
		a.broken = fmt.Errorf("%s may lack its last reading (%w); open it again and look", a.name, err)
		return a.broken
	}
	if err := a.unchanged(); err != nil {
		return fmt.Errorf("it is not known whether the reading is stored: %w", err)
	}
	return nil
}

// row gives a reading as a line of this file, with its line end.
func (a *Appender) row(r curve.Reading) (string, error) {
	for _, name := range benchLayout.optional {
		if holds(r, name) && !a.head.has(name) {
			return "", fmt.Errorf("%s has no column %s, and the reading has one; leave it out, or add the column to the file", a.name, name)
		}
	}
	if strings.Contains(r.Note, "\n") {
		return "", fmt.Errorf("note %q runs over several lines; write it on one", clip(r.Note))
	}
	line, err := a.head.line(r)
	if err != nil {
		return "", err
	}
	line += a.eol
	if a.count >= curve.MaxReadings || a.size+int64(len(line)) > MaxBytes {
		return "", fmt.Errorf("%s is full: %d readings in %d bytes; begin a new file", a.name, a.count, a.size)
	}
	return line, nil
}

// unchanged says whether the file is still the one that was opened, as it was
// left.
func (a *Appender) unchanged() error {
	if a.broken != nil {
		return a.broken
	}
	info, err := a.file.Stat()
	if err != nil {
		return err
	}
	there, err := os.Stat(a.path)
	if err != nil || !os.SameFile(info, there) {
		a.broken = fmt.Errorf("%s was moved, deleted or replaced by another program; open it again", a.name)
		return a.broken
	}
	if info.Size() != a.size {
		a.broken = fmt.Errorf("%s was changed by another program; open it again", a.name)
		return a.broken
	}
	return nil
}

// Close ends the work on the file and lets go of its lock. A second Close does
// nothing.
func (a *Appender) Close() error {
	a.mu.Lock()
	defer a.mu.Unlock()
	if errors.Is(a.broken, os.ErrClosed) {
		return nil
	}
	a.broken = fmt.Errorf("%s: %w", a.name, os.ErrClosed)
	return a.file.Close()
}
