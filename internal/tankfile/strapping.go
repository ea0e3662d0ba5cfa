package tankfile

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"gaugewright/internal/quantity"
	"gaugewright/internal/strict"
	"gaugewright/internal/tank"
)

// maxRows is the longest strapping table.
const maxRows = 100_000

// strapping makes a tank of a table.
func (b *builder) strapping(y Body, path []string) (tank.Solid, error) {
	rows, at := y.Table, below(path, "table")
	lines := func(i int) string { return "" }
	if y.CSV != "" {
		at = below(path, "csv")
		if b.open == nil {
			return nil, errUnopened
		}
		file, err := b.open(y.CSV)
		if err != nil {
			return nil, unopenable(at, y.CSV, err)
		}
		defer file.Close()
		var numbers []int
		if rows, numbers, err = readRows(file); err != nil {
			return nil, &fault{path: at, msg: strict.Clip(y.CSV) + err.Error()}
		}
		lines = func(i int) string { return fmt.Sprintf("%s:%d: ", strict.Clip(y.CSV), numbers[i]) }
	}
	heights, volumes := make([]float64, len(rows)), make([]float64, len(rows))
	for i, r := range rows {
		heights[i], volumes[i] = metres(r.HeightMM), r.VolumeL/1000
		if i == 0 {
			continue
		}
		place := at
		if y.CSV == "" {
			place = below(at, strconv.Itoa(i))
		}
		if before := rows[i-1]; !(r.HeightMM > before.HeightMM) {
			return nil, &fault{path: place, msg: fmt.Sprintf("%s%s mm after %s mm; heights rise from each row to the next", lines(i), strict.Figure(r.HeightMM), strict.Figure(before.HeightMM))}
		} else if r.VolumeL < before.VolumeL {
			return nil, &fault{path: place, msg: fmt.Sprintf("%s%s L after %s L; volumes don't fall with the height", lines(i), strict.Figure(r.VolumeL), strict.Figure(before.VolumeL))}
		}
	}
	between := tank.Straight
	if y.Between == "smooth" {
		between = tank.Smooth
	}
	return placed(at)(tank.Strapping(heights, volumes, between, metres(y.LengthMM), metres(y.WidthMM)))
}

// readRows reads a strapping table from CSV with a row of names. An error
// begins with ":line: " or ": ". It gives the line of each row as well.
func readRows(r io.Reader) (rows []Row, lines []int, err error) {
	in := csv.NewReader(r)
	in.FieldsPerRecord, in.TrimLeadingSpace, in.ReuseRecord = -1, true, true
	say := func(format string, args ...any) error {
		line, _ := in.FieldPos(0)
		return fmt.Errorf(":%d: %s", line, fmt.Sprintf(format, args...))
	}
	names, err := in.Read()
	if errors.Is(err, io.EOF) {
		return nil, nil, errors.New(": the file is empty; expected the columns height_mm and volume_l")
	} else if err != nil {
		return nil, nil, badCSV(err)
	}
	var column [2]int
	for i, want := range [2]string{"height_mm", "volume_l"} {
		column[i] = slices.IndexFunc(names, func(n string) bool { return strings.TrimSpace(strings.TrimPrefix(n, "\ufeff")) == want })
		if column[i] < 0 {
			return nil, nil, say("no column %s; the first row names the columns, among them height_mm and volume_l, with commas between", want)
		}
	}
	for {
		record, err := in.Read()
		if errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			return nil, nil, badCSV(err)
		}
		var v [2]float64
		for i, c := range column {
			if c >= len(record) {
				return nil, nil, say("found %d fields, and none for %s", len(record), [2]string{"height_mm", "volume_l"}[i])
			}
			if v[i], err = quantity.ParseNumber(record[c], false); err != nil {
				return nil, nil, say("%s: %v", [2]string{"height_mm", "volume_l"}[i], err)
			}
			if most := [2]float64{20000, 1e6}[i]; !(v[i] >= 0 && v[i] <= most) {
				return nil, nil, say("%s: found %s, expected 0 to %s", [2]string{"height_mm", "volume_l"}[i], strict.Figure(v[i]), strict.Figure(most))
			}
		}
		if len(rows) == maxRows {
			return nil, nil, say("more than %d rows", maxRows)
		}
		line, _ := in.FieldPos(0)
		rows, lines = append(rows, Row{v[0], v[1]}), append(lines, line)
	}
	if len(rows) < 2 {
		return nil, nil, fmt.Errorf(": a table of %d rows; expected two or more", len(rows))
	}
	return rows, lines, nil
}

// badCSV puts an error of the CSV reader into our form.
func badCSV(err error) error {
	var p *csv.ParseError
	if errors.As(err, &p) {
		return fmt.Errorf(":%d: %v", p.Line, p.Err)
	}
	return fmt.Errorf(": not readable: %v", err)
}
