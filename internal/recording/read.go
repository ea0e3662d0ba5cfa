package recording

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"

	"gaugewright/internal/readings"
	"gaugewright/internal/wording"
)

// Options say how a history is read. The zero value of a field is its usual one.
type Options struct {
	// Column is the one that the value stands in: "ohm", "volt", "milliamp",
	// "of_supply_pct", "count" or "level_pct"; "" takes the first of these that
	// the file has.
	Column string
	// Tank is whose rows are taken where the file has a column tank; "" takes
	// those of the tank that is named first.
	Tank string
	// Unusable is the share of lines, 0..1, that may be no rows before the file
	// is refused; 0: a half.
	Unusable float64
}

// usualUnusable: a file of which more than half can't be used is another file.
const usualUnusable = 0.5

// Error is something wrong with a history.
type Error struct {
	Name string
	Line int64 // from 1; 0 where the whole file is meant
	Msg  string
}

// Error gives "file:line: message".
func (e *Error) Error() string {
	if e.Line == 0 {
		return e.Name + ": " + e.Msg
	}
	return fmt.Sprintf("%s:%d: %s", e.Name, e.Line, e.Msg)
}

// Count is how many lines or rows something was the matter with, and the first
// of them.
type Count struct {
	Why  string
	N    int64
	Line int64  // of the first
	Text string // what stood there, cut short; "" where that tells nothing
}

// counts are kept in the order in which they came up.
type counts []Count

func (c *counts) add(why string, line int64, text []byte) {
	for i := range *c {
		if (*c)[i].Why == why {
			(*c)[i].N++
			return
		}
	}
	*c = append(*c, Count{why, 1, line, wording.Clip(strings.ToValidUTF8(string(text), "?"), 60)})
}

// Reader gives the rows of a history in the order of the file.
type Reader struct {
	name    string
	lines   *lines
	header  header
	options Options
	sources []string
	known   map[string]uint16
	tank    []byte // whose rows are taken, once it is known
	joined  []byte
	rows    int64 // given
	other   int64 // of another tank
	bad     counts
	unread  int64 // lines that are no rows
}

// NewReader begins to read a history; name stands in front of what is said about
// it. The error is that of the header row, an [*Error], or of reading as such.
func NewReader(from io.Reader, name string, o Options) (*Reader, error) {
	if o.Unusable == 0 {
		o.Unusable = usualUnusable
	}
	r := &Reader{name: name, lines: newLines(from), options: o, known: map[string]uint16{"": 0}, sources: []string{""}}
	if o.Tank != "" {
		r.tank = []byte(o.Tank)
	}
	for {
		line, long, err := r.lines.next()
		if errors.Is(err, io.EOF) {
			return nil, &Error{name, 0, "nothing in it but comments and blank lines; expected a header row such as time,ohm, and a row for each reading below it"}
		}
		if err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		if bytes.IndexByte(line, 0) >= 0 || long {
			return nil, &Error{name, r.lines.number, "this is no text file; expected CSV with a header row such as time,ohm"}
		}
		if empty(line) {
			continue
		}
		if r.header, err = readHeader(line, readings.Separator(line), o.Column); err != nil {
			return nil, &Error{name, r.lines.number, err.Error()}
		}
		return r, nil
	}
}

// Column gives the column that the values stand in.
func (r *Reader) Column() string { return r.header.column }

// Ignored gives the columns that aren't looked at.
func (r *Reader) Ignored() []string { return r.header.ignored }

// empty says whether a line holds nothing: blanks, separators alone, or a
// comment.
func empty(line []byte) bool {
	for i, c := range line {
		switch c {
		case ' ', '\t', ',', ';':
		case '#':
			return true
		case '"': // a comment that a spreadsheet has put in quotes
			return bytes.HasPrefix(bytes.TrimLeft(line[i+1:], " "), []byte("#"))
		default:
			return false
		}
	}
	return true
}

// Next reads the next row. It is io.EOF at the end of the file, an [*Error]
// where more of the file can't be used than may be, and else the error of
// reading as such.
func (r *Reader) Next(row *Row) error {
	for {
		line, long, err := r.lines.next()
		if err != nil {
			if errors.Is(err, io.EOF) {
				return r.ended()
			}
			return fmt.Errorf("%s:%d: %w", r.name, r.lines.number+1, err)
		}
		number := r.lines.number
		switch {
		case long:
			r.unusable("a line of more than 64 KiB", number, nil)
			continue
		case len(line) == 0 || line[0] <= '#' && empty(line):
			continue
		case bytes.IndexByte(line, '"') >= 0 && openQuote(line):
			if line, err = r.join(line); err != nil {
				return err
			}
		}
		if r.parse(line, number, row) {
			r.rows++
			return nil
		}
	}
}

// join puts lines together that are one row, since a field in quotes goes on
// over their ends.
func (r *Reader) join(line []byte) ([]byte, error) {
	const most = 64 // lines; a quote that is never closed must not eat the file
	r.joined = append(r.joined[:0], line...)
	for range most {
		next, long, err := r.lines.next()
		if errors.Is(err, io.EOF) || long {
			break
		}
		if err != nil {
			return nil, fmt.Errorf("%s:%d: %w", r.name, r.lines.number+1, err)
		}
		r.joined = append(append(r.joined, '\n'), next...)
		if !openQuote(r.joined) || len(r.joined) > longestLine {
			break
		}
	}
	return r.joined, nil
}

// SourceOf gives the name of a row's source; "" where the file doesn't say it.
func (r *Reader) SourceOf(row Row) string { return r.sources[row.source] }

func (r *Reader) unusable(why string, line int64, text []byte) {
	r.unread++
	r.bad.add(why, line, text)
}

// ended judges the whole of the file.
func (r *Reader) ended() error {
	all := r.rows + r.unread
	if r.unread > 0 && float64(r.unread) > r.options.Unusable*float64(all) {
		first := r.bad[0]
		return &Error{r.name, first.Line, fmt.Sprintf("%d of %d rows can't be used, more than the %g %% that may be; the first is %s: %q; expected %s and %s in each row",
			r.unread, all, 100*r.options.Unusable, first.Why, first.Text, "time (RFC 3339 or seconds since 1970)", r.header.column)}
	}
	if r.rows == 0 {
		return &Error{r.name, 0, "no row below the header row; expected one for each reading"}
	}
	return io.EOF
}

// Unusable gives the lines that are no rows, by what is wrong with them, and how
// many rows were of another tank.
func (r *Reader) Unusable() (bad []Count, otherTank int64) { return r.bad, r.other }
