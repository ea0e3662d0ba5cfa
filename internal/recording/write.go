package recording

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"math"
	"strconv"

	"gaugewright/internal/watch"
)

// Columns are those of a history that is written, besides time and value.
type Columns struct {
	Value        string // "ohm" unless given; see [Options.Column]
	Tilt         bool   // pitch_deg and roll_deg
	Source, Tank bool
}

// Writer writes a history: UTF-8, commas, decimal points, LF, times in RFC 3339
// and UTC.
type Writer struct {
	out     *bufio.Writer
	columns Columns
	line    []byte
	begun   bool
}

// NewWriter begins to write a history.
func NewWriter(to io.Writer, c Columns) (*Writer, error) {
	if c.Value == "" {
		c.Value = valueColumns[0]
	}
	for _, name := range valueColumns {
		if name == c.Value {
			return &Writer{out: bufio.NewWriter(to), columns: c}, nil
		}
	}
	return nil, fmt.Errorf("a history has no column %q for its values", c.Value)
}

// Write writes a reading. What the source said of its value instead of a value is
// written as an empty cell, an open circuit (+Inf) as "open". A time that can't be
// written to the nanosecond is an error.
func (w *Writer) Write(r watch.Reading) error {
	if !w.begun {
		w.begun = true
		w.header()
	}
	second := r.Time.Unix()
	if year := r.Time.UTC().Year(); year < 1678 || year > 2261 {
		return fmt.Errorf("a reading of the year %d, which a history can't hold; expected 1678 to 2261", year)
	}
	line := Stamp{}.Append(w.line[:0], second*1e9+int64(r.Time.Nanosecond()))
	line = append(line, ',')
	switch {
	case r.Said != watch.Measured || math.IsNaN(r.Value):
	case math.IsInf(r.Value, 1):
		line = append(line, "open"...)
	case math.IsInf(r.Value, -1):
	default:
		line = strconv.AppendFloat(line, r.Value, 'g', -1, 64)
	}
	if w.columns.Tilt {
		line = appendTilt(line, r.Tilt)
	}
	if w.columns.Source {
		line = appendCell(append(line, ','), r.Source)
	}
	if w.columns.Tank {
		line = appendCell(append(line, ','), r.Tank)
	}
	w.line = append(line, '\n')
	_, err := w.out.Write(w.line)
	return err
}

func (w *Writer) header() {
	line := append(append(w.line[:0], "time,"...), w.columns.Value...)
	if w.columns.Tilt {
		line = append(line, ",pitch_deg,roll_deg"...)
	}
	if w.columns.Source {
		line = append(line, ",source"...)
	}
	if w.columns.Tank {
		line = append(line, ",tank"...)
	}
	_, _ = w.out.Write(append(line, '\n')) // a failure stays, and the next Write tells it
}

func appendTilt(line []byte, t *watch.Tilt) []byte {
	if t == nil {
		return append(line, ",,"...)
	}
	line = strconv.AppendFloat(append(line, ','), float64(t.Pitch)*180/math.Pi, 'g', 10, 64)
	return strconv.AppendFloat(append(line, ','), float64(t.Roll)*180/math.Pi, 'g', 10, 64)
}

// appendCell writes text, in quotes where it needs them. Line ends become blanks.
func appendCell(line []byte, text string) []byte {
	quoted := false
	for i := range len(text) {
		switch text[i] {
		case ',', ';', '\t', '"', '\n', '\r', '#', ' ':
			quoted = true
		}
	}
	if !quoted {
		return append(line, text...)
	}
	b := bytes.ReplaceAll([]byte(text), []byte{'"'}, []byte(`""`))
	for i, c := range b {
		if c == '\n' || c == '\r' {
			b[i] = ' '
		}
	}
	return append(append(append(line, '"'), b...), '"')
}

// Flush writes out what is held back. It writes the header row of a history
// without readings.
func (w *Writer) Flush() error {
	if !w.begun {
		w.begun = true
		w.header()
	}
	return w.out.Flush()
}
