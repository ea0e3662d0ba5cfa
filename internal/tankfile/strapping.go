package tankfile

import (
	"fmt"
	"io"
	"strconv"

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
	_, pairs, lines, err := ReadPairs(r, [][2]Column{{heightColumn, volumeColumn}}, maxRows)
	if err != nil {
		return nil, nil, err
	}
	for _, p := range pairs {
		rows = append(rows, Row{p[0], p[1]})
	}
	if len(rows) < 2 {
		return nil, nil, fmt.Errorf(": a table of %d rows; expected two or more", len(rows))
	}
	return rows, lines, nil
}
