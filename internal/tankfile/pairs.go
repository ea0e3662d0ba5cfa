package tankfile

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"gaugewright/internal/quantity"
	"gaugewright/internal/strict"
)

// Column is a column of a CSV file by its name, with the largest number that may
// stand in it; the least is 0.
type Column struct {
	Name string
	Most float64
}

// The columns that tank files and their tables have.
var (
	heightColumn = Column{"height_mm", 20000}
	volumeColumn = Column{"volume_l", 1e6}
	markColumn   = Column{"mark_pct", 100}
)

// Poured are the pairs of columns that litres poured into a tank are written
// down in: against the height, or against the mark of a dial.
var Poured = [][2]Column{{heightColumn, volumeColumn}, {markColumn, volumeColumn}}

// ReadPairs reads two columns of a CSV file whose first row names them: the
// first of the choices of which both are there; other columns are passed over.
// It gives which choice that was, the pairs and the line of each, up to a number
// of them. An error begins with ":line: " or ": ", to follow the file's name.
func ReadPairs(r io.Reader, choices [][2]Column, most int) (choice int, pairs [][2]float64, lines []int, err error) {
	in := csv.NewReader(r)
	in.FieldsPerRecord, in.TrimLeadingSpace, in.ReuseRecord = -1, true, true
	fail := func(format string, args ...any) (int, [][2]float64, []int, error) {
		line, _ := in.FieldPos(0)
		return 0, nil, nil, fmt.Errorf(":%d: %s", line, fmt.Sprintf(format, args...))
	}
	names, err := in.Read()
	if errors.Is(err, io.EOF) {
		return 0, nil, nil, fmt.Errorf(": the file is empty; expected the columns %s", wanted(choices))
	} else if err != nil {
		return 0, nil, nil, badCSV(err)
	}
	var at [2]int
	var lacks string
	choice = -1
	for i, c := range choices {
		lack := ""
		for k := 1; k >= 0; k-- {
			at[k] = slices.IndexFunc(names, func(n string) bool { return strings.TrimSpace(strings.TrimPrefix(n, "\ufeff")) == c[k].Name })
			if at[k] < 0 {
				lack = c[k].Name
			}
		}
		if lack == "" {
			choice = i
			break
		}
		if lacks == "" {
			lacks = lack
		}
	}
	if choice < 0 {
		return fail("no column %s; the first row names the columns, among them %s, with commas between", lacks, wanted(choices))
	}
	columns := choices[choice]
	for {
		record, err := in.Read()
		if errors.Is(err, io.EOF) {
			return choice, pairs, lines, nil
		} else if err != nil {
			return 0, nil, nil, badCSV(err)
		}
		var v [2]float64
		for k, c := range columns {
			if at[k] >= len(record) {
				return fail("found %d fields, and none for %s", len(record), c.Name)
			}
			if v[k], err = quantity.ParseNumber(record[at[k]], false); err != nil {
				return fail("%s: %v", c.Name, err)
			}
			if !(v[k] >= 0 && v[k] <= c.Most) {
				return fail("%s: found %s, expected 0 to %s", c.Name, strict.Figure(v[k]), strict.Figure(c.Most))
			}
		}
		if len(pairs) == most {
			return fail("more than %d rows", most)
		}
		line, _ := in.FieldPos(0)
		pairs, lines = append(pairs, v), append(lines, line)
	}
}

// wanted names the columns of all choices.
func wanted(choices [][2]Column) string {
	texts := make([]string, len(choices))
	for i, c := range choices {
		texts[i] = c[0].Name + " and " + c[1].Name
	}
	return strings.Join(texts, ", or ")
}

// badCSV puts an error of the CSV reader into our form.
func badCSV(err error) error {
	var p *csv.ParseError
	if errors.As(err, &p) {
		return fmt.Errorf(":%d: %v", p.Line, p.Err)
	}
	return fmt.Errorf(": not readable: %v", err)
}
