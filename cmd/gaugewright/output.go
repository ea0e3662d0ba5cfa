package main

import (
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
	"gaugewright/internal/telling"
)

// writeJSON puts one result on standard output.
func writeJSON(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(v)
}

// figure rounds a number for JSON to a billionth, far below anything measured,
// so that 0.07 × 100 comes out as 7.
func figure[T ~float64](v T) float64 { return quantity.Round(float64(v), 9) }

// points gives a share as percentage points for JSON.
func points(s quantity.Share) float64 { return figure(s * 100) }

// fields is a JSON object whose names depend on the unit of the marks; they are
// put out in the order they were set.
type fields struct {
	names  []string
	values []any
}

func (f *fields) set(name string, value any) {
	f.names, f.values = append(f.names, name), append(f.values, value)
}

// MarshalJSON writes the fields in order.
func (f fields) MarshalJSON() ([]byte, error) {
	var b strings.Builder
	b.WriteByte('{')
	for i, name := range f.names {
		if i > 0 {
			b.WriteByte(',')
		}
		key, err := json.Marshal(name)
		if err != nil {
			return nil, err
		}
		value, err := json.Marshal(f.values[i])
		if err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		b.Write(key)
		b.WriteByte(':')
		b.Write(value)
	}
	b.WriteByte('}')
	return []byte(b.String()), nil
}

// writeGrid lays a table out for a terminal: columns set flush right, the first few
// perhaps flush left.
func writeGrid(w io.Writer, g telling.Grid) {
	all := g.Rows
	if g.Headed() {
		all = append([][]string{g.Head}, g.Rows...)
	}
	width := make([]int, len(g.Head))
	for _, row := range all {
		for i, cell := range row {
			width[i] = max(width[i], utf8.RuneCountInString(cell))
		}
	}
	for _, row := range all {
		var b strings.Builder
		for i, cell := range row {
			if i > 0 {
				b.WriteString("   ")
			}
			pad := strings.Repeat(" ", width[i]-utf8.RuneCountInString(cell))
			if i < g.Left {
				b.WriteString(cell + pad)
			} else {
				b.WriteString(pad + cell)
			}
		}
		fmt.Fprintf(w, "  %s\n", strings.TrimRight(b.String(), " "))
	}
}

// writeFindings prints findings as a list, wrapped to the width of a terminal;
// the weight is said in words where it matters.
func writeFindings(w io.Writer, list []finding.Finding) {
	for _, f := range list {
		writeWrapped(w, "- ", telling.Finding(f))
	}
}

// writeListed prints lines under a heading; nothing where there are none.
func writeListed(w io.Writer, head, lead string, lines []string) {
	if len(lines) > 0 {
		fmt.Fprintln(w, head)
	}
	for _, line := range lines {
		writeWrapped(w, lead, line)
	}
}

// writeWrapped prints text in lines of at most 78 characters, the first behind
// a lead, the others in line with it.
func writeWrapped(w io.Writer, lead, text string) {
	const width = 78
	line, room := lead, width
	indent := strings.Repeat(" ", utf8.RuneCountInString(lead))
	empty := true
	for _, word := range strings.Fields(text) {
		if !empty && utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) > room {
			fmt.Fprintln(w, line)
			line, empty = indent, true
		}
		if !empty {
			line += " "
		}
		line, empty = line+word, false
	}
	fmt.Fprintln(w, line)
}
