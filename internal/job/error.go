package job

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"gaugewright/internal/wording"
)

// FileError is one thing wrong with a job file, or with a job that was to be
// written.
type FileError struct {
	Name string // the file, "standard input", or the job's number
	// Line and Column count from 1; a column is a character, not a byte. Both
	// are 0 where the file as a whole is meant, or a job that is no file yet.
	Line, Column int
	Path         string // JSON Pointer (RFC 6901) of the place in the job; "" for the job itself
	Msg          string // what was found, what was expected, what to do

	cause error
}

// Error gives "file:line:column: path: message", without the parts that are
// missing.
func (e *FileError) Error() string {
	text := e.Name
	if e.Line > 0 {
		text += ":" + strconv.Itoa(e.Line) + ":" + strconv.Itoa(e.Column)
	}
	if e.Path != "" {
		text += ": " + e.Path
	}
	return text + ": " + e.Msg
}

// Unwrap gives the operating system's error, where one is behind it.
func (e *FileError) Unwrap() error { return e.cause }

// FileErrors is two to five things wrong with one job, in the order of the
// file.
type FileErrors []*FileError

// Error gives each on a line of its own.
func (list FileErrors) Error() string {
	lines := make([]string, len(list))
	for i, e := range list {
		lines[i] = e.Error()
	}
	return strings.Join(lines, "\n")
}

// Unwrap gives them one by one, for errors.Is and errors.As.
func (list FileErrors) Unwrap() []error {
	out := make([]error, len(list))
	for i, e := range list {
		out[i] = e
	}
	return out
}

// maxProblems is how many problems are told at once: enough to mend a slip of
// the hand everywhere it was made, few enough to be read.
const maxProblems = 5

// problem is something wrong at a place in the job.
type problem struct {
	path    []string // of the value
	key     string   // a field of the object at path that is meant itself, or ""
	msg     string
	missing []string // the fields whose absence this is, if it is that
}

// report turns problems into the error of Read: in the order of the text, each
// once, five at most. Without a text the places stay out.
func report(name string, text []byte, problems []problem) error {
	if len(problems) == 0 {
		return nil
	}
	type placed struct {
		offset int
		err    *FileError
	}
	places := locate(text, problems)
	list := make([]placed, 0, len(problems))
	for _, p := range problems {
		e := &FileError{Name: name, Path: pointer(p.path), Msg: p.msg}
		offset := 0
		if text != nil {
			offset = places[p.address()]
			e.Line, e.Column = position(text, offset)
		}
		list = append(list, placed{offset, e})
	}
	slices.SortStableFunc(list, func(a, b placed) int {
		if a.offset != b.offset {
			return a.offset - b.offset
		}
		return strings.Compare(a.err.Path+a.err.Msg, b.err.Path+b.err.Msg)
	})
	list = slices.CompactFunc(list, func(a, b placed) bool { return *a.err == *b.err })
	if len(list) == 1 {
		return list[0].err
	}
	var out FileErrors
	for _, p := range list[:min(len(list), maxProblems)] {
		out = append(out, p.err)
	}
	return out
}

// address names a place for locate.
func (p problem) address() string {
	if p.key == "" {
		return pointer(p.path)
	}
	// No pointer of a value ends so: the key's own quote follows a bare "\n".
	return pointer(p.path) + "\n" + p.key
}

// pointer writes a path as a JSON Pointer. Signs that can't be printed are
// escaped, so that a message stays one line.
func pointer(path []string) string {
	var b strings.Builder
	for _, name := range path {
		name = strings.NewReplacer("~", "~0", "/", "~1").Replace(name)
		if quoted := strconv.Quote(name); quoted != `"`+name+`"` {
			name = quoted[1 : len(quoted)-1]
		}
		b.WriteString("/" + clip(name))
	}
	return b.String()
}

// position turns an offset into a line and a column in characters, from 1.
func position(text []byte, offset int) (line, column int) {
	before := string(text[:offset])
	start := strings.LastIndexByte(before, '\n') + 1
	return strings.Count(before, "\n") + 1, utf8.RuneCountInString(before[start:]) + 1
}

// clip shortens text that stands in a message.
func clip(text string) string { return wording.Clip(text, 60) }

// quoted gives text in quotes for a message, shortened and on one line.
func quoted(text string) string { return strconv.Quote(clip(text)) }

// several joins names for a sentence: `"a", "b" or "c"`.
func several(names []string) string {
	parts := make([]string, len(names))
	for i, n := range names {
		parts[i] = fmt.Sprintf("%q", n)
	}
	return wording.Several(parts, "or")
}
