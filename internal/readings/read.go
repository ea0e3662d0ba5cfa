package readings

import (
	"fmt"
	"io"
	"os"
	"strings"

	"gaugewright/internal/curve"
)

// stdin is the path that means standard input, and its name in messages.
const (
	stdin     = "-"
	stdinName = "standard input"
)

// Read reads a file of bench readings. name stands in front of what is said
// about mistakes. Marks come in SI, as [curve.MarkUnit] has them; Line is the
// line on which the row starts; a time keeps its offset from UTC.
//
// What is wrong with the content is an [*Error], or several joined.
func Read(r io.Reader, name string) (curve.Sheet, error) {
	raw, err := readAll(r, name)
	if err != nil {
		return curve.Sheet{}, err
	}
	sheet, _, err := readSheet(name, raw, false)
	return sheet, err
}

// ReadFile reads the file at path; "-" is standard input. A directory is
// refused, and a file above [MaxBytes] is refused without being read.
func ReadFile(path string) (curve.Sheet, error) {
	var sheet curve.Sheet
	err := withFile(path, func(r io.Reader, name string) (err error) {
		sheet, err = Read(r, name)
		return err
	})
	return sheet, err
}

// readSheet takes bench readings apart.
func readSheet(name string, raw []byte, bare bool) (curve.Sheet, table, error) {
	var sheet curve.Sheet
	t, err := benchLayout.parse(name, raw, bare, func(r *row) {
		if reading, ok := r.reading(); ok {
			sheet.Readings = append(sheet.Readings, reading)
		}
	})
	if err != nil {
		return curve.Sheet{}, t, err
	}
	sheet.Unit, sheet.Signal = t.unit, t.signal
	return sheet, t, nil
}

// reading understands one row; every cell is looked at, so that all that is
// wrong with it is said.
func (r *row) reading() (curve.Reading, bool) {
	var reading curve.Reading
	fine := true
	for i, name := range r.names {
		ok := true
		switch name {
		case "":
		case r.signal.Column():
			reading.Ohm, ok = r.value(i)
		case sweepColumn:
			reading.Sweep, ok = r.sweep(i)
		case timeColumn:
			reading.Time, ok = r.moment(i)
		case noteColumn:
			reading.Note = strings.Clone(r.fields[i])
		default:
			reading.Mark, ok = r.mark(i)
		}
		fine = fine && ok
	}
	reading.Line, _ = r.csv.FieldPos(0)
	return reading, fine
}

// mark reads the mark in field i, into SI.
func (r *row) mark(i int) (float64, bool) {
	shown, ok := r.within(i, r.unit.Limit())
	return r.unit.FromShown(shown), ok
}

// readAll reads no more than one byte above MaxBytes.
func readAll(r io.Reader, name string) ([]byte, error) {
	raw, err := io.ReadAll(io.LimitReader(r, MaxBytes+1))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	return raw, nil
}

// withFile opens the file at path, or standard input, for the time of read.
func withFile(path string, read func(io.Reader, string) error) error {
	if path == stdin {
		return read(os.Stdin, stdinName)
	}
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return err
	}
	if info.IsDir() {
		return &Error{Name: path, Msg: "this is a directory; expected a CSV file"}
	}
	if info.Mode().IsRegular() && info.Size() > MaxBytes {
		return tooLarge(path, fmt.Sprintf("%.1f MiB", float64(info.Size())/(1<<20)))
	}
	return read(f, path)
}

func tooLarge(name, size string) *Error {
	return &Error{Name: name, Msg: size + fmt.Sprintf(" is too large; a bench file has thousands of lines at most, and %d MiB is the limit, so this is another file, or one to be split", MaxBytes>>20)}
}
