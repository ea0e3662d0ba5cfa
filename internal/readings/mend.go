package readings

import (
	"bytes"
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"unicode"
	"unicode/utf8"

	"gaugewright/internal/curve"
	"gaugewright/internal/keep"
)

// load reads what is in the file, mends its end, and makes the Appender ready.
func (a *Appender) load(unit curve.MarkUnit, signal curve.Signal) (curve.Sheet, error) {
	none := curve.Sheet{Unit: unit, Signal: signal}
	raw, err := a.contents()
	if err != nil {
		return none, err
	}
	fresh := strings.Join(columnsFor(unit, signal), ",") + "\n"
	if len(raw) < len(fresh) && strings.HasPrefix(fresh, string(raw)) {
		// A new file, or one whose first line was cut off.
		if err := a.extend(fresh[len(raw):]); err != nil {
			return none, err
		}
		a.head = header{unit: unit, signal: signal, names: columnsFor(unit, signal)}
		return none, keep.Folder(filepath.Dir(a.path))
	}
	a.eol = firstLineEnd(raw)
	tail := lastLine(raw)
	sheet, t, err := readSheet(a.name, raw, true)
	cut := false
	// A character cut in half makes the file look like another encoding.
	if len(tail) > 0 && (err != nil || t.encoding != plain) {
		before, bt, e := readSheet(a.name, raw[:len(raw)-len(tail)], true)
		if cut = e == nil && bt.encoding == plain; cut {
			// The lines before are sound, so it is the end that is cut off.
			sheet, t, err = before, bt, nil
		}
	}
	if err == nil {
		err = a.suits(t, unit, signal)
	}
	if err != nil {
		return none, err
	}
	a.head, a.count = t.header, t.count
	switch {
	case cut:
		comment := "# cut off: " + printable(tail)
		a.mended = fmt.Sprintf("%s: the last line was cut off and is now a comment: %s", a.name, comment)
		err = a.replace([]byte(string(raw[:len(raw)-len(tail)]) + comment + a.eol))
	case len(tail) > 0:
		a.mended = fmt.Sprintf("%s: the last line had no line end and got one; see that it is whole: %s", a.name, printable(tail))
		err = a.extend(a.eol)
	}
	if err != nil {
		return none, err
	}
	return sheet, keep.Folder(filepath.Dir(a.path))
}

// suits says why rows can't be added to a file, or nil.
func (a *Appender) suits(t table, unit curve.MarkUnit, signal curve.Signal) error {
	var msg string
	switch {
	case t.encoding != plain:
		msg = "not UTF-8, so nothing can be added to it; save it again as CSV in UTF-8"
	case t.separator != ',':
		name := map[byte]string{';': "semicolons", '\t': "tabs"}[t.separator]
		msg = fmt.Sprintf("the columns are separated by %s, so nothing can be added to it; save it again with commas", name)
	case t.unit != unit:
		msg = fmt.Sprintf("the marks are in %s, expected %s; begin a new file for them", t.unit.Column(), unit.Column())
	case t.signal != signal:
		msg = fmt.Sprintf("the readings are in %s, expected %s; begin a new file for them", t.signal.Column(), signal.Column())
	default:
		return nil
	}
	return &Error{Name: a.name, Msg: msg}
}

// contents reads the whole file and notes its size.
func (a *Appender) contents() ([]byte, error) {
	info, err := a.file.Stat()
	if err != nil {
		return nil, err
	}
	if info.Size() > MaxBytes {
		return nil, tooLarge(a.name, fmt.Sprintf("%.1f MiB", float64(info.Size())/(1<<20)))
	}
	raw, err := io.ReadAll(io.NewSectionReader(a.file, 0, MaxBytes+1))
	a.size = int64(len(raw))
	return raw, err
}

// extend puts text at the end of the file and on the disk.
func (a *Appender) extend(text string) error {
	n, err := a.file.Write([]byte(text))
	a.size += int64(n)
	if err != nil {
		return err
	}
	return a.file.Sync()
}

// firstLineEnd gives the line end the file uses, LF where it has none yet.
func firstLineEnd(raw []byte) string {
	i := bytes.IndexAny(raw, "\r\n")
	switch {
	case i < 0 || raw[i] == '\n':
		return "\n"
	case i+1 < len(raw) && raw[i+1] == '\n':
		return "\r\n"
	}
	return "\r"
}

// lastLine gives what stands after the last line end.
func lastLine(raw []byte) []byte { return raw[bytes.LastIndexAny(raw, "\r\n")+1:] }

// printable makes bytes fit to stand in a comment. Zeros at the end are what
// some file systems leave of a write that a power cut interrupted; they hold
// nothing. Other characters that can't stand in a file are spelt out.
func printable(raw []byte) string {
	var b strings.Builder
	for raw = bytes.TrimRight(raw, "\x00"); len(raw) > 0; {
		r, size := utf8.DecodeRune(raw)
		switch {
		case r == utf8.RuneError && size == 1:
			fmt.Fprintf(&b, `\x%02X`, raw[0])
		case unicode.IsControl(r) && r != '\t':
			fmt.Fprintf(&b, `\u%04X`, r)
		default:
			b.Write(raw[:size])
		}
		raw = raw[size:]
	}
	return b.String()
}
