package can

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"time"
)

// longestLine is more than any line of a log has: 64 bytes of CAN FD as people
// read them take 250 characters.
const longestLine = 1024

// LogReader reads a log of can-utils from a stream, line by line.
type LogReader struct {
	in   *bufio.Reader
	line int
	text []byte
	e    Entry
}

// LineError is a line that can't be read. Reading may go on after it.
type LineError struct {
	Line int    // from 1
	Text []byte // as far as it was read; good until the next call
	Err  error  // its words are few and fixed
}

// Error says what is wrong with which line.
func (e *LineError) Error() string { return fmt.Sprintf("line %d: %v", e.Line, e.Err) }

// Unwrap gives what is wrong.
func (e *LineError) Unwrap() error { return e.Err }

// NewLogReader reads from in.
func NewLogReader(in io.Reader) *LogReader {
	return &LogReader{in: bufio.NewReaderSize(in, 64<<10)}
}

// Line is the number of the line that was read last, and its text.
func (r *LogReader) Line() (number int, text []byte) { return r.line, r.text }

// Next reads the next line that isn't empty. The entry is good until the next
// call. The error is io.EOF at the end, a [*LineError] for a line that can't be
// read, and otherwise one of the stream.
func (r *LogReader) Next() (*Entry, error) {
	for {
		long, err := r.read()
		if err != nil {
			return nil, err
		}
		if long {
			return nil, &LineError{Line: r.line, Text: r.text, Err: errOverlong}
		}
		if word, _ := field(r.text); len(word) == 0 || word[0] == '\r' {
			continue
		}
		if err := r.e.parse(r.text); err != nil {
			return nil, &LineError{Line: r.line, Text: r.text, Err: err}
		}
		return &r.e, nil
	}
}

// read reads one line, without its end. A line that is too long is read to its
// end, and only its beginning kept.
func (r *LogReader) read() (long bool, err error) {
	r.text = r.text[:0]
	for {
		part, err := r.in.ReadSlice('\n')
		if room := longestLine - len(r.text); len(part) > room+1 {
			part, long = part[:room], true
		}
		r.text = append(r.text, part...)
		switch {
		case err == nil, errors.Is(err, io.EOF) && len(r.text) > 0:
			r.line++
			for n := len(r.text) - 1; n >= 0 && (r.text[n] == '\n' || r.text[n] == '\r'); n-- {
				r.text = r.text[:n]
			}
			return long, nil
		case !errors.Is(err, bufio.ErrBufferFull):
			return long, err
		}
	}
}

// AppendEntry adds the entry as a line of a log file of can-utils.
func AppendEntry(b []byte, e *Entry) []byte {
	b = fmt.Appendf(b, "(%d.%06d) %s ", e.Time.Unix(), e.Time.Nanosecond()/int(time.Microsecond), e.Interface)
	return append(e.Frame.append(b), '\n')
}
