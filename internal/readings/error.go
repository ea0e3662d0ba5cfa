package readings

import (
	"errors"
	"fmt"
	"strconv"

	"gaugewright/internal/wording"
)

// MaxBytes is the largest file that is read, 16 MiB. A bench file has
// thousands of lines at most.
const MaxBytes = 16 << 20

// Error is something wrong with the content of a file.
type Error struct {
	Name string // the file, or "standard input"
	// Line and Column count from 1; a column is a character, not a byte. Both
	// are 0 where the file as a whole is meant.
	Line, Column int
	Msg          string // what was found, what was expected, what to do
}

// Error gives "file:line:column: message", without the parts that are 0.
func (e *Error) Error() string {
	switch {
	case e.Line == 0:
		return e.Name + ": " + e.Msg
	case e.Column == 0:
		return e.Name + ":" + strconv.Itoa(e.Line) + ": " + e.Msg
	}
	return fmt.Sprintf("%s:%d:%d: %s", e.Name, e.Line, e.Column, e.Msg)
}

// maxMistakes is how many mistakes are told at once: enough to mend a slip of
// the hand everywhere it was made, few enough to be read.
const maxMistakes = 5

// mistakes collects what is wrong with one file.
type mistakes struct {
	name string
	list []error
}

func (m *mistakes) add(line, column int, format string, args ...any) {
	if m.full() {
		return
	}
	m.list = append(m.list, &Error{m.name, line, column, fmt.Sprintf(format, args...)})
}

func (m *mistakes) full() bool { return len(m.list) >= maxMistakes }

// err gives nil, the one mistake, or all of them joined.
func (m *mistakes) err() error {
	if len(m.list) == 1 {
		return m.list[0]
	}
	return errors.Join(m.list...)
}

// clip shortens text that is quoted in a message.
func clip(text string) string { return wording.Clip(text, 40) }
