package web

import (
	"unicode"
	"unicode/utf8"

	"gaugewright/internal/record"
	"gaugewright/internal/telling"
)

// gridTable makes a table of a page of a grid, with what has to be said of it below.
func gridTable(heading string, g telling.Grid, notes ...string) record.Table {
	t := record.Table{Heading: heading}
	for i, h := range g.Head {
		t.Columns = append(t.Columns, record.Column{Name: withCapital(h), Numeric: i >= g.Left})
	}
	for _, row := range g.Rows {
		t.Rows = append(t.Rows, record.Row{Cells: row})
	}
	for _, n := range notes {
		if n != "" {
			t.Notes = append(t.Notes, n)
		}
	}
	return t
}

// withCapital begins a text with a capital.
func withCapital(text string) string {
	r, size := utf8.DecodeRuneInString(text)
	if size == 0 {
		return ""
	}
	return string(unicode.ToUpper(r)) + text[size:]
}
