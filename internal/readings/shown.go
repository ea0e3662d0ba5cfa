package readings

import (
	"io"
	"strings"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
)

// Shown is what a readout showed while the sender stood at a mark.
type Shown struct {
	Mark  float64        // share, m, m³ or kg, as the ShownSheet says
	Shown quantity.Share // 0 to 1.1; 1 is 100 %
	Line  int            // where in the file it stood, from 1
	Note  string
}

// ShownSheet is one check of a readout, in the order in which it was done.
type ShownSheet struct {
	Unit curve.MarkUnit
	Rows []Shown
}

// maxShown is the most a readout is taken to show, in percent. Some run a
// little over 100.
const maxShown = 110

// ReadShown reads a check after setting: a mark column and shown_pct, perhaps
// with note. For mistakes it is as [Read] is.
func ReadShown(r io.Reader, name string) (ShownSheet, error) {
	raw, err := readAll(r, name)
	if err != nil {
		return ShownSheet{}, err
	}
	var sheet ShownSheet
	t, err := checkLayout.parse(name, raw, false, func(r *row) {
		if shown, ok := r.shown(); ok {
			sheet.Rows = append(sheet.Rows, shown)
		}
	})
	if err != nil {
		return ShownSheet{}, err
	}
	sheet.Unit = t.unit
	return sheet, nil
}

// ReadShownFile reads the check at path as [ReadFile] reads readings.
func ReadShownFile(path string) (ShownSheet, error) {
	var sheet ShownSheet
	err := withFile(path, func(r io.Reader, name string) (err error) {
		sheet, err = ReadShown(r, name)
		return err
	})
	return sheet, err
}

// shown understands one row of a check.
func (r *row) shown() (Shown, bool) {
	var s Shown
	fine := true
	for i, name := range r.names {
		ok := true
		switch name {
		case "":
		case shownColumn:
			var percent float64
			percent, ok = r.within(i, maxShown)
			s.Shown = quantity.Share(curve.Dial.FromShown(percent))
		case noteColumn:
			s.Note = strings.Clone(r.fields[i])
		default:
			s.Mark, ok = r.mark(i)
		}
		fine = fine && ok
	}
	s.Line, _ = r.csv.FieldPos(0)
	return s, fine
}
