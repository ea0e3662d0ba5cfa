package strict

import (
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"gaugewright/internal/wording"
)

// FileError is one thing wrong with a file, or with what was to be written as
// one.
type FileError struct {
	Name string // the file, "standard input", or what was to be written
	// Line and Column count from 1; a column is a character, not a byte. Both
	// are 0 where the file as a whole is meant, or what is no file yet.
	Line, Column int
	Path         string // JSON Pointer (RFC 6901) of the place; "" for the whole
	Msg          string // what was found, what was expected, what to do
	Cause        error  // the operating system's error, where one is behind it
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

// Unwrap gives the cause.
func (e *FileError) Unwrap() error { return e.Cause }

// FileErrors is two to [MaxProblems] things wrong with one file, in the order
// of the file.
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

// MaxProblems is how many problems are told at once: enough to mend a slip of
// the hand everywhere it was made, few enough to be read.
const MaxProblems = 5

// Problem is something wrong at a place in a file.
type Problem struct {
	Path    []string // of the value
	Key     string   // a field of the object at Path that is meant itself, or ""
	Msg     string
	Missing []string // the fields whose absence this is, if it is that
	Meant   []string // the fields that an unknown one was probably meant to be: they aren't called missing as well
}

// Report turns problems into the error of reading a file: in the order of the
// text, each once, [MaxProblems] at most; a [*FileError], or [FileErrors] where
// there are more than one, nil where there is none. The text is valid JSON;
// without one (nil) the lines and columns stay out.
func (f *Form) Report(name string, text []byte, problems []Problem) error {
	if len(problems) == 0 {
		return nil
	}
	type placed struct {
		offset int
		err    *FileError
	}
	places := f.locate(text, problems)
	list := make([]placed, 0, len(problems))
	for _, p := range problems {
		e := &FileError{Name: name, Path: Pointer(p.Path), Msg: p.Msg}
		offset := 0
		if text != nil {
			offset = places[p.address()]
			e.Line, e.Column = Position(text, offset)
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
	for _, p := range list[:min(len(list), MaxProblems)] {
		out = append(out, p.err)
	}
	return out
}

// address names a place for locate.
func (p Problem) address() string {
	if p.Key == "" {
		return Pointer(p.Path)
	}
	// No pointer of a value ends so: the key's own quote follows a bare "\n".
	return Pointer(p.Path) + "\n" + p.Key
}

// Pointer writes a path as a JSON Pointer (RFC 6901). Signs that can't be
// printed are escaped and long names shortened, so that a message stays one
// line.
func Pointer(path []string) string {
	var b strings.Builder
	for _, name := range path {
		name = strings.NewReplacer("~", "~0", "/", "~1").Replace(name)
		if quoted := strconv.Quote(name); quoted != `"`+name+`"` {
			name = quoted[1 : len(quoted)-1]
		}
		b.WriteString("/" + Clip(name))
	}
	return b.String()
}

// Position turns an offset into a line and a column in characters, from 1.
func Position(text []byte, offset int) (line, column int) {
	before := string(text[:offset])
	start := strings.LastIndexByte(before, '\n') + 1
	return strings.Count(before, "\n") + 1, utf8.RuneCountInString(before[start:]) + 1
}

// Clip shortens text that stands in a message.
func Clip(text string) string { return wording.Clip(text, 60) }

// Quoted gives text in quotes for a message, shortened and on one line.
func Quoted(text string) string { return strconv.Quote(Clip(text)) }

// AnyOf joins names for a sentence: `"a", "b" or "c"`.
func AnyOf(names []string) string {
	parts := make([]string, len(names))
	for i, n := range names {
		parts[i] = strconv.Quote(n)
	}
	return wording.Several(parts, "or")
}
