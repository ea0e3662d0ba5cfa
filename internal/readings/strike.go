package readings

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"gaugewright/internal/curve"
	"gaugewright/internal/keep"
)

// Strike takes back the last reading and gives it. Its line stays in the file
// as the comment "# struck: <line> (reason)"; without a reason the brackets are
// left out. A crash leaves the file as it was before or as it is after.
func (a *Appender) Strike(reason string) (curve.Reading, error) {
	a.mu.Lock()
	defer a.mu.Unlock()
	if err := a.unchanged(); err != nil {
		return curve.Reading{}, err
	}
	raw, err := a.contents()
	if err != nil {
		return curve.Reading{}, err
	}
	sheet, t, err := readSheet(a.name, raw, true)
	if err != nil {
		return curve.Reading{}, err
	}
	if t.count == 0 {
		return curve.Reading{}, fmt.Errorf("%s has no reading to strike out", a.name)
	}
	if reason = printable([]byte(strings.TrimSpace(reason))); reason != "" {
		reason = " (" + reason + ")"
	}
	start, end := linesAt(raw, t.firstLine, t.lastLine)
	struck := commented(string(raw[start:end]), reason)
	if a.size+int64(len(struck)-(end-start)) > MaxBytes {
		return curve.Reading{}, fmt.Errorf("%s is full; give a shorter reason", a.name)
	}
	if err := a.replace([]byte(string(raw[:start]) + struck + string(raw[end:]))); err != nil {
		return curve.Reading{}, err
	}
	a.count--
	return sheet.Readings[len(sheet.Readings)-1], nil
}

// commented turns the lines of a row into comments, with the reason on the
// last.
func commented(row, reason string) string {
	const mark = "# struck: "
	var b strings.Builder
	b.WriteString(mark)
	for i, c := range row {
		b.WriteRune(c)
		if c == '\n' || c == '\r' && !strings.HasPrefix(row[i+1:], "\n") {
			b.WriteString(mark)
		}
	}
	return b.String() + reason
}

// linesAt gives the offsets of the start of one line and of the end of another,
// before its line end. Lines count from 1 and end in LF, CR or both.
func linesAt(raw []byte, first, last int) (start, end int) {
	line := 1
	for i := 0; i <= len(raw); i++ {
		if i < len(raw) && raw[i] != '\n' && raw[i] != '\r' {
			continue
		}
		if line == last {
			return start, i
		}
		if i+1 < len(raw) && raw[i] == '\r' && raw[i+1] == '\n' {
			i++
		}
		if line++; line == first {
			start = i + 1
		}
	}
	return start, len(raw)
}

// replace swaps the file for one with this content. Until the rename the old
// file is what the path leads to; from it on, the new one, which is on the disk
// by then.
func (a *Appender) replace(content []byte) error {
	info, err := a.file.Stat()
	if err != nil {
		return err
	}
	// The lock is held, so nobody else is using this name for this file; what
	// is there was left by a crash, and the file itself is whole.
	aside := filepath.Join(filepath.Dir(a.path), "."+filepath.Base(a.path)+".new")
	if err := os.Remove(aside); err != nil && !os.IsNotExist(err) {
		return err
	}
	f, err := os.OpenFile(aside, os.O_RDWR|os.O_CREATE|os.O_EXCL|os.O_APPEND, info.Mode().Perm())
	if err != nil {
		return fmt.Errorf("%s is left as it was: %w", a.name, err)
	}
	if err := fill(f, content, info.Mode().Perm()); err != nil {
		f.Close()
		os.Remove(aside)
		return fmt.Errorf("%s is left as it was: %w", a.name, err)
	}
	if err := a.swap(f, aside); err != nil {
		os.Remove(aside)
		return err
	}
	a.size = int64(len(content))
	return keep.Folder(filepath.Dir(a.path))
}

// fill locks a new file and puts content into it and on the disk.
func fill(f *os.File, content []byte, mode os.FileMode) error {
	if err := lock(f); err != nil {
		return err
	}
	if err := f.Chmod(mode); err != nil { // whatever the umask has taken off
		return err
	}
	if _, err := f.Write(content); err != nil {
		return err
	}
	return f.Sync()
}
