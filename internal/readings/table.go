package readings

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strings"

	"gaugewright/internal/curve"
)

// table is what was found out about a file besides its rows.
type table struct {
	header
	encoding  encoding
	separator byte
	count     int // of rows below the header
	// The lines of the last row, from 1; both 0 where there is none.
	firstLine, lastLine int
}

// row is one row of a table, with a way to say what is wrong with it.
type row struct {
	*mistakes
	header // without names in the header row itself
	fields []string
	text   []byte // the whole of the file, as it was decoded
	csv    *csv.Reader
}

// at gives the line and column of field i.
func (r *row) at(i int) (line, column int) {
	line, column = r.csv.FieldPos(i)
	return place(r.text, offsetOf(r.text, line, column))
}

// fail notes a mistake at field i.
func (r *row) fail(i int, format string, args ...any) {
	line, column := r.at(i)
	r.add(line, column, format, args...)
}

// empty says whether a row holds nothing: only separators, as a spreadsheet
// writes a blank row, or only a comment, as it writes one with a separator in
// it. A note that starts with # has a mark beside it.
func (r *row) empty() bool {
	for i, f := range r.fields {
		f = strings.TrimSpace(f)
		if f != "" && (i > 0 || f[0] != '#') {
			return false
		}
	}
	return true
}

// parse takes the bytes of a file apart and calls each for every row below the
// header. Unless bare is allowed, a file without rows is refused.
func (l layout) parse(name string, raw []byte, bare bool, each func(*row)) (table, error) {
	var t table
	if len(raw) > MaxBytes {
		return t, tooLarge(name, fmt.Sprintf("more than %d MiB", MaxBytes>>20))
	}
	text, from, err := decode(name, raw)
	if err != nil {
		return t, err
	}
	expected := fmt.Sprintf("expected a header row such as %s, and %s below it", l.example(), l.rows)
	if len(text) == 0 {
		return t, &Error{Name: name, Msg: "the file is empty; " + expected}
	}
	s := strip(text)
	t.encoding, t.separator = from, s.separator
	if s.wide >= 0 {
		line, _ := place(s.text, s.wide)
		return t, &Error{name, line, 1, fmt.Sprintf("a row of more than %d fields; %s", maxFields, expected)}
	}
	m := &mistakes{name: name}
	if s.separator != 0 {
		l.readRows(&t, s, m, each)
	}
	switch {
	case len(m.list) > 0:
	case t.names == nil:
		m.add(0, 0, "nothing but comments and blank lines; %s", expected)
	case t.count == 0 && !bare:
		m.add(t.firstLine, 1, "no row below the header row; expected %s, such as %s", l.rows, l.sample)
	}
	if t.count == 0 {
		t.firstLine = 0
	}
	return t, m.err()
}

// readRows reads the header row and the rows below it.
func (l layout) readRows(t *table, s stripped, m *mistakes, each func(*row)) {
	reader := csv.NewReader(bytes.NewReader(s.text))
	reader.Comma = rune(s.separator)
	reader.FieldsPerRecord = -1 // counted here, with a better message
	reader.TrimLeadingSpace = trims(s.separator)
	reader.ReuseRecord = true
	r := &row{mistakes: m, text: s.text, csv: reader}
	end := 0
	for !m.full() {
		var err error
		r.fields, err = reader.Read()
		if err == io.EOF {
			break
		}
		if err != nil {
			badQuote(m, s, err)
			return
		}
		if r.empty() {
			continue
		}
		t.firstLine, _ = reader.FieldPos(0)
		if r.names == nil {
			t.header = l.readHeader(r)
			if len(m.list) > 0 {
				return
			}
			r.header = t.header
			continue
		}
		if t.count++; t.count > curve.MaxReadings {
			m.add(t.firstLine, 1, "more than %d rows; a bench file has thousands at most, so this is another file, or one to be split", curve.MaxReadings)
			return
		}
		end = int(reader.InputOffset())
		if l.complete(r, s.separator) {
			each(r)
		}
	}
	if end > 0 {
		t.lastLine, _ = place(s.text, end-1)
	}
}

// complete says whether a row has as many fields as the header row, and nothing
// under a column without a name.
func (l layout) complete(r *row, separator byte) bool {
	found, expected := len(r.fields), len(r.names)
	by := map[byte]string{',': "commas", ';': "semicolons", '\t': "tabs"}[separator]
	switch {
	case found < expected:
		r.fail(0, "%s where the header row has %d, separated by %s; add what is missing, or leave it empty between separators", fields(found), expected, by)
		return false
	case found > expected:
		hint := ""
		if separator == ',' {
			hint = `; a number with a decimal comma, or a note with a comma, goes in quotes, such as "12,5"`
		}
		r.fail(expected, "%s where the header row has %d, separated by %s; delete what is too much%s", fields(found), expected, by, hint)
		return false
	}
	for i, name := range r.names {
		if name == "" && strings.TrimSpace(r.fields[i]) != "" {
			r.fail(i, "%q stands in column %d, which has no name in the header row; name the column or empty the cell", clip(r.fields[i]), i+1)
			return false
		}
	}
	return true
}

func fields(n int) string {
	if n == 1 {
		return "1 field"
	}
	return fmt.Sprintf("%d fields", n)
}

// badQuote says what encoding/csv found wrong. Quotes are all it objects to.
func badQuote(m *mistakes, s stripped, err error) {
	var p *csv.ParseError
	if !errors.As(err, &p) {
		m.add(0, 0, "%v", err)
		return
	}
	at := offsetOf(s.text, p.Line, p.Column)
	line, column := place(s.text, at)
	switch {
	case errors.Is(err, csv.ErrBareQuote):
		m.add(line, column, `a " inside a field that isn't in quotes; put the whole field in quotes and double the inner one, such as "5"" hose"`)
	case at < len(s.text) && s.text[at] == '"':
		m.add(line, column, `a " that neither ends the field nor is doubled; write "" for a " inside a field in quotes`)
	default:
		// encoding/csv says where the file ends; the quote to mend is the
		// opening one.
		if s.openQuote >= 0 {
			line, column = place(s.text, s.openQuote)
		}
		m.add(line, column, `a field opens with a " that is never closed; add the closing "`)
	}
}
