package docket

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"gaugewright/internal/quantity"
	"gaugewright/internal/wording"
)

// Columns are those of a file of dockets, in the order of the example. Only time is
// needed; the first row names those that are there.
var Columns = []string{"time", "kind", "amount", "litres", "kg", "level_before_pct", "level_after_pct", "level_u_pct", "stopped", "note"}

// Limits of a file of dockets.
const (
	mostRows  = 10_000
	mostBytes = 4 << 20
	// UsualU is the standard uncertainty of a level where none is stated, in parts of
	// the scale.
	UsualU = 0.007
)

// ReadError is what is wrong with a file of dockets.
type ReadError struct {
	Name string
	Line int // 0: the file as a whole
	Msg  string
}

// Error gives it with its place.
func (e *ReadError) Error() string {
	if e.Line == 0 {
		return e.Name + ": " + e.Msg
	}
	return fmt.Sprintf("%s:%d: %s", e.Name, e.Line, e.Msg)
}

// Read reads dockets from CSV with commas or semicolons (then decimal commas are taken
// too). Times are RFC 3339, or a day and an hour in the zone. A row without a kind is a
// receipt. The levels are those that the sender showed without anything learned. All that
// is wrong is told, up to ten lines. IDs are the lines.
func Read(from io.Reader, name string, zone *time.Location) ([]Seen, error) {
	text, err := io.ReadAll(io.LimitReader(from, mostBytes+1))
	switch {
	case err != nil:
		return nil, err
	case len(text) > mostBytes:
		return nil, &ReadError{name, 0, fmt.Sprintf("more than %d MB; expected a file of dockets", mostBytes>>20)}
	case !utf8.Valid(text) || bytes.IndexByte(text, 0) >= 0:
		return nil, &ReadError{name, 0, "this is not a text file in UTF-8; expected CSV; export a spreadsheet as CSV first"}
	}
	text = bytes.TrimPrefix(text, []byte("\ufeff"))
	r := csv.NewReader(bufio.NewReader(bytes.NewReader(text)))
	head, _, _ := bytes.Cut(text, []byte("\n"))
	semicolons := bytes.IndexByte(head, ';') >= 0 && bytes.IndexByte(head, ',') < 0
	if semicolons {
		r.Comma = ';'
	}
	r.TrimLeadingSpace, r.FieldsPerRecord = true, -1
	p := reader{name: name, zone: zone, comma: semicolons}
	if zone == nil {
		p.zone = time.UTC
	}
	row, err := r.Read()
	if err == io.EOF {
		return nil, &ReadError{name, 0, "the file is empty; expected a first row such as " + strings.Join(Columns[:7], ",") + ", and a docket a row below it"}
	}
	if err != nil {
		return nil, p.bad(err)
	}
	if err := p.header(row); err != nil {
		return nil, err
	}
	var list []Seen
	var faults []error
	for {
		row, err := r.Read()
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, errors.Join(append(faults, p.bad(err))...)
		}
		p.line, _ = r.FieldPos(0)
		if s, err := p.row(row); err != nil {
			if faults = append(faults, err); len(faults) == 10 {
				break
			}
		} else if list = append(list, s); len(list) > mostRows {
			return nil, &ReadError{name, p.line, fmt.Sprintf("more than %d dockets; expected those of one tank", mostRows)}
		}
	}
	if len(faults) > 0 {
		return nil, errors.Join(faults...)
	}
	if len(list) == 0 {
		return nil, &ReadError{name, 0, "no docket below the first row; expected one a row"}
	}
	return list, nil
}

// NotYet names the dockets of a file that are from later than now by more than [Ahead];
// nil where none is.
func NotYet(name string, list []Seen, now time.Time) error {
	var faults []error
	for _, s := range list {
		if s.Docket.ahead(now) {
			faults = append(faults, &ReadError{name, s.Line, s.Docket.notYet().Error()})
		}
	}
	return errors.Join(faults...)
}

type reader struct {
	name    string
	zone    *time.Location
	columns []string
	comma   bool
	line    int
}

func (p *reader) bad(err error) error {
	var e *csv.ParseError
	if errors.As(err, &e) {
		return &ReadError{p.name, e.Line, fmt.Sprintf("this row can't be read (%v); expected fields apart by commas or semicolons, with quotes in pairs", e.Err)}
	}
	return err
}

func (p *reader) fail(format string, args ...any) error {
	return &ReadError{p.name, p.line, fmt.Sprintf(format, args...)}
}

func (p *reader) header(row []string) error {
	p.line = 1
	for _, c := range row {
		c = strings.ToLower(strings.TrimSpace(c))
		if !slices.Contains(Columns, c) {
			return p.fail("there is no column %q; expected some of %s", wording.Clip(c, 40), strings.Join(Columns, ", "))
		}
		if slices.Contains(p.columns, c) {
			return p.fail("the column %s stands twice; expected it once", c)
		}
		p.columns = append(p.columns, c)
	}
	if !slices.Contains(p.columns, "time") {
		return p.fail("there is no column time; expected it, and some of %s", strings.Join(Columns[1:], ", "))
	}
	return nil
}

func (p *reader) row(row []string) (Seen, error) {
	s := Seen{Line: p.line, Before: -1, After: -1, UBefore: UsualU, UAfter: UsualU, Docket: Docket{ID: fmt.Sprintf("line %d", p.line), Kind: Receipt}}
	if len(row) != len(p.columns) {
		return s, p.fail("%d fields; expected %d as in the first row", len(row), len(p.columns))
	}
	amounts := 0
	for i, c := range p.columns {
		text := strings.TrimSpace(row[i])
		if text == "" {
			if c == "time" {
				return s, p.fail("time is empty; expected the day and hour of the filling")
			}
			continue
		}
		var err error
		switch d := &s.Docket; c {
		case "time":
			d.Time, err = p.moment(text)
		case "kind":
			d.Kind = Kind(strings.ToLower(text))
		case "amount":
			amounts++
			d.Typed = wording.Clip(text, 80)
			d.Litres, d.Kilograms, err = p.amount(text)
		case "litres":
			amounts++
			d.Litres, err = p.number(c, text, 0, MostLitres)
		case "kg":
			amounts++
			d.Kilograms, err = p.number(c, text, 0, MostKilograms)
		case "level_before_pct":
			s.Before, err = p.number(c, text, 0, 100)
			s.Before /= 100
		case "level_after_pct":
			s.After, err = p.number(c, text, 0, 100)
			s.After /= 100
		case "level_u_pct":
			s.UBefore, err = p.number(c, text, 0, 50)
			s.UBefore /= 100
			s.UAfter = s.UBefore
		case "stopped":
			switch strings.ToLower(text) {
			case "yes", "y", "true", "1", "x":
				d.Stopped = true
			case "no", "n", "false", "0", "-":
			default:
				err = p.fail("stopped %q is not known; expected yes, no or nothing", wording.Clip(text, 40))
			}
		case "note":
			d.Note = text
		}
		if err != nil {
			return s, err
		}
	}
	if amounts > 1 {
		return s, p.fail("two amounts; expected one of amount, litres and kg")
	}
	if d := s.Docket; d.Kind != Receipt && s.After < 0 {
		s.After, s.Before = s.Before, -1 // a moment has one level, wherever it stands
	}
	s.Refill = s.Docket.Kind == Receipt && s.Before >= 0 && s.After-s.Before >= leastRise
	if err := s.Docket.Check(time.Time{}); err != nil {
		return s, p.fail("%v", err)
	}
	return s, nil
}

// number reads a plain number.
func (p *reader) number(column, text string, least, most float64) (float64, error) {
	if p.comma && strings.Count(text, ",") == 1 && !strings.Contains(text, ".") {
		text = strings.Replace(text, ",", ".", 1)
	}
	v, err := strconv.ParseFloat(text, 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		return 0, p.fail("%s %q is not a number; expected a plain number such as 42.5", column, wording.Clip(text, 40))
	}
	if v < least || v > most {
		return 0, p.fail("%s is %s; expected %g to %g", column, wording.Clip(text, 40), least, most)
	}
	return v, nil
}

// amount reads an amount with its unit.
func (p *reader) amount(text string) (litres, kg float64, err error) {
	volume, err := quantity.ParseCubicMetre(text)
	if err == nil {
		return 1000 * float64(volume), 0, nil
	}
	if mass, massErr := quantity.ParseKilogram(text); massErr == nil {
		return 0, float64(mass), nil
	}
	if strings.Contains(text, "gal") {
		return 0, 0, p.fail("amount: %v", err) // it says which gallons there are
	}
	return 0, 0, p.fail("amount %q can't be read; expected one with its unit, such as 31.4L, 8USgal or 16kg", wording.Clip(text, 40))
}

// moment reads a time.
func (p *reader) moment(text string) (time.Time, error) {
	if t, err := time.Parse(time.RFC3339, text); err == nil {
		return t, nil
	}
	for _, layout := range []string{"2006-01-02 15:04", "2006-01-02T15:04", "2006-01-02 15:04:05", "2006-01-02T15:04:05", time.DateOnly} {
		if t, err := time.ParseInLocation(layout, text, p.zone); err == nil {
			if layout == time.DateOnly {
				t = t.Add(12 * time.Hour)
			}
			return t, nil
		}
	}
	if v, err := strconv.ParseFloat(text, 64); err == nil && v > 9e8 && v < 7.2e9 {
		return time.Unix(int64(v), 0).UTC(), nil
	}
	return time.Time{}, p.fail("time %q can't be read; expected one such as 2026-11-03T09:30:00+01:00 or 2026-11-03 09:30", wording.Clip(text, 40))
}
