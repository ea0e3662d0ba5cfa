package main

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strings"
	"unicode/utf8"

	"gaugewright/internal/curve"
	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
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

// grid is a table of text, its columns set flush right, the first few perhaps
// flush left.
type grid struct {
	head []string
	rows [][]string
	left int
}

func (g *grid) add(cells ...string) { g.rows = append(g.rows, cells) }

func (g *grid) write(w io.Writer) {
	all := g.rows
	if strings.Join(g.head, "") != "" {
		all = append([][]string{g.head}, g.rows...)
	}
	width := make([]int, len(g.head))
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
			if i < g.left {
				b.WriteString(cell + pad)
			} else {
				b.WriteString(pad + cell)
			}
		}
		fmt.Fprintf(w, "  %s\n", strings.TrimRight(b.String(), " "))
	}
}

// signed prints a difference in points with its sign.
func signed(s quantity.Share) string {
	text := quantity.Digits(float64(s)*100, 1)
	if text == "0.0" || strings.HasPrefix(text, "-") {
		return quantity.Minus(text)
	}
	return "+" + text
}

// shown prints a share as a display figure.
func shown(s quantity.Share) string { return quantity.Digits(float64(s)*100, 1) }

// doubtText prints a ± figure, rounded up so that it doesn't claim more than is
// known (JCGM 100:2008, 7.2.6); nothing is known to less than the last digit.
func doubtText(v float64) string { return quantity.Digits(max(0.1, math.Ceil(v*10-1e-6)/10), 1) }

// doubtOf is doubtText for a value of a signal, to its own last digit.
func doubtOf(signal curve.Signal, v float64) string {
	last := math.Pow(10, float64(signal.Decimals()))
	return quantity.Digits(max(1, math.Ceil(v*last-1e-6))/last, signal.Decimals())
}

// marksText lists marks in words: "40 %, 60 % and 80 %".
func marksText(unit curve.MarkUnit, marks []float64) string {
	texts := make([]string, len(marks))
	for i, m := range marks {
		texts[i] = unit.Text(m)
	}
	if n := len(texts); n > 1 {
		return strings.Join(texts[:n-1], ", ") + " and " + texts[n-1]
	}
	return strings.Join(texts, "")
}

// writeFindings prints findings as a list, wrapped to the width of a terminal;
// the weight is said in words where it matters.
func writeFindings(w io.Writer, list []finding.Finding) {
	for _, f := range list {
		text := f.Text
		switch f.Weight {
		case finding.Doubt:
			text = "Look: " + text
		case finding.Bad:
			text = "BAD: " + text
		}
		writeWrapped(w, "- ", text)
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
